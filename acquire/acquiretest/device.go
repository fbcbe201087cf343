package acquiretest

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"griptrial/acquire/simrig"
)

// Device is a simulated load cell on a pseudo-terminal whose cable can be
// pulled and put back, with a line between that damages what passes.
type Device struct {
	*simrig.Device
	t     testing.TB
	clock simrig.Clock
	link  string

	writing sync.Mutex // held for as long as one line is being written
	mu      sync.Mutex
	pty     *simrig.PTY
	mangler *Mangler
	mangled []byte
	stop    context.CancelFunc
	ended   chan error
}

// Plug starts a device and gives it a port. The test skips where there are no
// pseudo-terminals. The device is stopped when the test ends.
func Plug(t testing.TB, d *simrig.Device, clock simrig.Clock, f Faults) *Device {
	t.Helper()
	dev := &Device{Device: d, t: t, clock: clock, link: filepath.Join(t.TempDir(), "port"), mangler: NewMangler(f)}
	dev.Replug()
	t.Cleanup(dev.Unplug)
	return dev
}

// Path is what a reader opens. It stays the same when the device is plugged in
// again, though the terminal behind it is another.
func (d *Device) Path() string { return d.link }

// Replug puts the cable back: a new terminal under the same path, and the
// device boots again unless this is the first time.
func (d *Device) Replug() {
	d.t.Helper()
	pty, err := simrig.OpenPTY()
	if errors.Is(err, errors.ErrUnsupported) {
		d.t.Skip(err)
	}
	if err != nil {
		d.t.Fatal(err)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.ended != nil {
		d.Reset()
	}
	os.Remove(d.link)
	if err := os.Symlink(pty.Path(), d.link); err != nil {
		d.t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	d.pty, d.stop, d.ended = pty, stop, make(chan error, 1)
	go func(ended chan error) { ended <- d.Device.Run(ctx, d, d.clock) }(d.ended)
}

// Unplug pulls the cable: the reader is hung up on and loses what it has not
// read, and the path is gone. Unplugging twice does nothing more.
func (d *Device) Unplug() {
	d.mu.Lock()
	pty, stop, ended := d.pty, d.stop, d.ended
	d.pty = nil
	d.mu.Unlock()
	if pty == nil {
		return
	}
	stop()
	if err := <-ended; err != nil && !errors.Is(err, os.ErrClosed) { // a line that was on its way when the cable came out
		d.t.Errorf("device: %v", err)
	}
	os.Remove(d.link)
	pty.Close()
}

// Drain waits until the reader has taken everything sent so far, for at most
// the given time, and reports whether it has.
func (d *Device) Drain(atMost time.Duration) bool {
	d.mu.Lock()
	pty := d.pty
	d.mu.Unlock()
	end := time.After(atMost)
	for pty != nil && pty.Unread() > 0 {
		select {
		case <-end:
			return false
		case <-time.After(time.Millisecond):
		}
	}
	return true
}

// Write passes the device's lines through the faults; it is called by Run. It
// waits for a reader that is far behind: on a busy machine a reader gets late,
// and a test must not lose what no fault has taken.
func (d *Device) Write(b []byte) (int, error) {
	d.writing.Lock()
	defer d.writing.Unlock()
	d.mu.Lock()
	d.mangled = d.mangler.Append(d.mangled[:0], b)
	rest := d.mangled
	d.mu.Unlock()
	for {
		d.mu.Lock()
		pty := d.pty
		d.mu.Unlock()
		if pty == nil {
			return 0, os.ErrClosed
		}
		n, err := pty.Offer(rest)
		if err != nil {
			return 0, err
		}
		if rest = rest[n:]; len(rest) == 0 {
			return len(b), nil
		}
		time.Sleep(time.Millisecond)
	}
}

// Poll takes what the reader has sent; it is called by Run.
func (d *Device) Poll(buf []byte) int {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.pty == nil {
		return 0
	}
	return d.pty.Poll(buf)
}

// Send puts raw bytes on the line, past the faults: boot noise, another
// instrument's lines.
func (d *Device) Send(b []byte) {
	d.writing.Lock()
	defer d.writing.Unlock()
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.pty != nil {
		d.pty.Write(b)
	}
}

// Account is what the line has done so far, and the number of bytes for which
// the reader had no room.
func (d *Device) Account() (a Account, dropped int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.pty != nil {
		dropped = d.pty.Dropped()
	}
	return d.mangler.Account, dropped
}
