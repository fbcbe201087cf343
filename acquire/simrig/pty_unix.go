//go:build linux || darwin

package simrig

import (
	"errors"
	"fmt"
	"os"
	"sync"
	"syscall"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// PTY is the device's end of a pseudo-terminal. Write and Poll never wait.
//
// The reader's end is kept open and raw from before the first byte: otherwise
// the terminal would still be cooked, echo its own output, turn CR into LF, and
// hang up between two readers.
type PTY struct {
	device, port *os.File
	portFD       int // asked for once: asking again may make the file blocking

	mu      sync.Mutex
	closed  bool
	dropped int
}

// OpenPTY opens a pseudo-terminal. It works on Linux and macOS.
func OpenPTY() (*PTY, error) {
	device, port, err := pty.Open()
	if err != nil {
		return nil, fmt.Errorf("open a pseudo-terminal: %w", err)
	}
	p := &PTY{device: device, port: port, portFD: int(port.Fd())}
	if _, err := term.MakeRaw(p.portFD); err != nil {
		p.Close()
		return nil, fmt.Errorf("set %s raw: %w", port.Name(), err)
	}
	if err := p.control(func(fd int) error { return unix.SetNonblock(fd, true) }); err != nil {
		p.Close()
		return nil, fmt.Errorf("set up the device's end of %s: %w", port.Name(), err)
	}
	return p, nil
}

// Path is what a reader opens like a serial port.
func (p *PTY) Path() string { return p.port.Name() }

// Write sends b. What the reader has no room for is dropped and counted, as a
// serial line does; a closed PTY gives os.ErrClosed.
func (p *PTY) Write(b []byte) (int, error) {
	sent, err := p.Offer(b)
	if err != nil {
		return sent, err
	}
	if sent < len(b) {
		p.mu.Lock()
		p.dropped += len(b) - sent
		p.mu.Unlock()
	}
	return len(b), nil
}

// Offer sends as much of b as the reader has room for and returns how much.
func (p *PTY) Offer(b []byte) (sent int, err error) {
	err = p.control(func(fd int) error {
		n, err := unix.Write(fd, b)
		sent = max(0, n)
		return err
	})
	if errors.Is(err, unix.EAGAIN) {
		err = nil
	}
	return sent, err
}

// Poll takes what the reader has sent, if anything.
func (p *PTY) Poll(buf []byte) int {
	got := 0
	p.control(func(fd int) error {
		n, err := unix.Read(fd, buf)
		got = max(0, n)
		return err
	})
	return got
}

// Dropped is the number of bytes for which the reader had no room.
func (p *PTY) Dropped() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.dropped
}

// Unread is the number of bytes sent and not yet taken by the reader. They are
// lost when the PTY is closed.
func (p *PTY) Unread() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed {
		return 0
	}
	n, err := unix.IoctlGetInt(p.portFD, unread)
	if err != nil {
		return 0
	}
	return n
}

// Close hangs up, as pulling the cable does: the reader loses what it has not
// yet read. A second Close does nothing.
func (p *PTY) Close() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed {
		return nil
	}
	p.closed = true
	return errors.Join(p.device.Close(), p.port.Close())
}

// control runs one system call on the device's end without waiting.
func (p *PTY) control(call func(fd int) error) error {
	raw, err := p.device.SyscallConn()
	if err != nil {
		return os.ErrClosed
	}
	var failed error
	err = raw.Control(func(fd uintptr) {
		for {
			if failed = call(int(fd)); !errors.Is(failed, syscall.EINTR) {
				return
			}
		}
	})
	if err != nil {
		return os.ErrClosed
	}
	return failed
}
