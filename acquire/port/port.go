// Package port finds, opens, loses and regains the serial port of a load cell.
// It is the only package that imports the serial module, and it hides what that
// module leaves to its users: a read that times out with no bytes and no error,
// one error for "we closed it" and "it was unplugged", and modem bits that a
// pseudo-terminal does not have.
package port

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"sync"
	"sync/atomic"
	"time"

	"go.bug.st/serial"
)

// DefaultBaud is the speed of the line protocol.
const DefaultBaud = 115200

// touchBaud makes many boards with USB of their own jump into their boot loader.
const touchBaud = 1200

const (
	slice = 100 * time.Millisecond // longest wait within one read of the driver
	quiet = 250 * time.Millisecond // silence after which a read gives way
)

var (
	// ErrHangUp tells that the other end is gone: unplugged, or the program
	// behind a pseudo-terminal ended. What it sent last may be missing.
	ErrHangUp = errors.New("the device hung up")
	// ErrClosed tells that the port was closed on this side.
	ErrClosed = errors.New("the port is closed")
)

// Parity is the parity bit of a character.
type Parity uint8

// The parities that instruments use.
const (
	NoParity Parity = iota
	OddParity
	EvenParity
)

// Options say how to open a port; the zero value is right for the line
// protocol: 115200 baud, 8 data bits, no parity, 1 stop bit.
type Options struct {
	Baud     int // 0: DefaultBaud
	DataBits int // 7 or 8; 0: 8
	Parity   Parity
	StopBits int // 1 or 2; 0: 1
}

// mode turns the options into those of the serial module. The modem bits stay
// unset: setting them fails on a pseudo-terminal.
func (o Options) mode() (*serial.Mode, error) {
	m := &serial.Mode{BaudRate: o.Baud, DataBits: o.DataBits}
	if o.Baud == 0 {
		m.BaudRate = DefaultBaud
	}
	if m.BaudRate == touchBaud {
		return nil, fmt.Errorf("%d baud sends many boards into their boot loader; set the device to another speed", touchBaud)
	}
	if m.BaudRate < 0 {
		return nil, fmt.Errorf("%d is not a speed in baud", m.BaudRate)
	}
	switch o.DataBits {
	case 0:
		m.DataBits = 8
	case 7, 8:
	default:
		return nil, fmt.Errorf("%d data bits: instruments use 7 or 8", o.DataBits)
	}
	switch o.Parity {
	case NoParity:
	case OddParity:
		m.Parity = serial.OddParity
	case EvenParity:
		m.Parity = serial.EvenParity
	default:
		return nil, fmt.Errorf("parity %d is none that is known", o.Parity)
	}
	switch o.StopBits {
	case 0, 1:
	case 2:
		m.StopBits = serial.TwoStopBits
	default:
		return nil, fmt.Errorf("%d stop bits: instruments use 1 or 2", o.StopBits)
	}
	return m, nil
}

// Port is an open serial port. Reads come from one goroutine; Write and Close
// may come from any.
type Port struct {
	path    string
	device  Device
	options Options
	raw     serial.Port
	closing atomic.Bool
	read    sync.Mutex // held during a read of the driver, and to close it
	write   sync.Mutex // held during a write, and to close
}

// Open opens a port by its path, or a USB device by its identity as
// ParseIdentity reads it. What waited in the driver from before is dropped.
func Open(name string, o Options) (*Port, error) {
	if _, err := o.mode(); err != nil {
		return nil, fmt.Errorf("open port %s: %w", name, err)
	}
	id, ok, err := ParseIdentity(name)
	if err != nil {
		return nil, err
	}
	if !ok {
		return openPath(name, o, lookUp(name))
	}
	device, err := find(id)
	if err != nil {
		return nil, err
	}
	return openPath(device.open(), o, device)
}

// openPath opens a port behind which device is.
func openPath(path string, o Options, device Device) (*Port, error) {
	mode, err := o.mode()
	if err != nil {
		return nil, fmt.Errorf("open port %s: %w", path, err)
	}
	end := keepLine(path)
	raw, err := serial.Open(path, mode)
	end()
	if err != nil {
		return nil, explain(path, err)
	}
	p := &Port{path: path, device: device, options: o, raw: raw}
	if err := raw.SetReadTimeout(slice); err != nil {
		return nil, errors.Join(fmt.Errorf("open port %s: %w", path, err), raw.Close())
	}
	if err := raw.ResetInputBuffer(); err != nil {
		return nil, errors.Join(fmt.Errorf("open port %s: clear what waited in it: %w", path, err), raw.Close())
	}
	return p, nil
}

// Path is the path that was opened.
func (p *Port) Path() string { return p.path }

// Device is what is known about the device behind the port.
func (p *Port) Device() Device { return p.device }

// Reader returns a reader of the port that ends when ctx is done. A Read waits
// without spinning for at least one byte. After a quarter of a second of silence
// it returns os.ErrDeadlineExceeded, so that its user can look at the clock, and
// may be called again. It returns the error of ctx when that is done, ErrClosed
// after Close, and ErrHangUp when the other end is gone.
func (p *Port) Reader(ctx context.Context) io.Reader { return &reader{p, ctx} }

type reader struct {
	port *Port
	ctx  context.Context
}

func (r *reader) Read(b []byte) (int, error) {
	if len(b) == 0 {
		return 0, nil // the driver would call this a closed port
	}
	for waited := time.Duration(0); ; waited += slice {
		if err := r.ctx.Err(); err != nil {
			return 0, err
		}
		if waited >= quiet {
			return 0, os.ErrDeadlineExceeded
		}
		n, err := r.port.readSlice(b)
		if n > 0 || err != nil {
			return n, err
		}
	}
}

// readSlice reads what is there or waits for one slice of time; no bytes and no
// error mean that nothing came.
func (p *Port) readSlice(b []byte) (int, error) {
	p.read.Lock()
	defer p.read.Unlock()
	if p.closing.Load() {
		return 0, ErrClosed
	}
	n, err := p.raw.Read(b)
	if err == nil || n > 0 {
		return n, nil
	}
	// A hang-up shows as a closed port on some systems and as an input/output
	// error on others. The driver's words are kept for the curious.
	return 0, fmt.Errorf("port %s: %w (%v)", p.path, ErrHangUp, err)
}

// Write sends b.
func (p *Port) Write(b []byte) (int, error) {
	p.write.Lock()
	defer p.write.Unlock()
	if p.closing.Load() {
		return 0, ErrClosed
	}
	n, err := p.raw.Write(b)
	if err != nil {
		return n, fmt.Errorf("port %s: %w (%v)", p.path, ErrHangUp, err)
	}
	return n, nil
}

// Close closes the port; a second Close does nothing. A Read that waits ends
// with ErrClosed within a tenth of a second.
//
// It waits for that read: the driver closes its file descriptor first and wakes
// the reader afterwards, and in between the number may belong to another file.
func (p *Port) Close() error {
	if p.closing.Swap(true) {
		return nil
	}
	p.read.Lock()
	defer p.read.Unlock()
	p.write.Lock()
	defer p.write.Unlock()
	if err := p.raw.Close(); err != nil {
		return fmt.Errorf("close port %s: %w", p.path, err)
	}
	return nil
}

// explain says in plain words why a port could not be opened and what to do.
func explain(path string, err error) error {
	hint := ""
	var portError *serial.PortError
	switch {
	case errors.Is(err, os.ErrNotExist):
		return fmt.Errorf("open port %s: %w; is the device plugged in? `griptrial devices` lists the ports", path, os.ErrNotExist)
	case errors.As(err, &portError):
		switch portError.Code() {
		case serial.PortBusy:
			hint = "another program has it open; close that program (a serial monitor, or a modem manager that probes a new device for some seconds)"
		case serial.PortNotFound:
			return fmt.Errorf("open port %s: %w; is the device plugged in? `griptrial devices` lists the ports", path, os.ErrNotExist)
		case serial.InvalidSerialPort:
			hint = "this is not a serial port; `griptrial devices` lists the ports"
		case serial.PermissionDenied:
			return fmt.Errorf("open port %s: %w; on Debian and Ubuntu add yourself to the group that owns serial ports (sudo usermod -aG dialout $USER) and log in again", path, os.ErrPermission)
		case serial.InvalidSpeed:
			hint = "the port cannot run at this speed; choose another --baud"
		}
	}
	if hint == "" {
		return fmt.Errorf("open port %s: %w", path, err)
	}
	return fmt.Errorf("open port %s: %w: %s", path, err, hint)
}
