package simrig

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"time"
)

// Clock is what paces a device.
type Clock interface {
	Now() time.Time
	Sleep(ctx context.Context, d time.Duration) error // ctx's error if it ends first
}

// systemClock takes the time from its caller and waits with real timers.
type systemClock struct{ now func() time.Time }

func (c systemClock) Now() time.Time { return c.now() }

func (c systemClock) Sleep(ctx context.Context, d time.Duration) error {
	if d <= 0 {
		return ctx.Err()
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// SystemClock is the clock of the machine, read through now.
func SystemClock(now func() time.Time) Clock { return systemClock{now} }

// Line is the far end of a serial line.
type Line interface {
	io.Writer            // never waits: what does not fit is lost, as on a real line
	Poll(buf []byte) int // what was received and not yet taken; never waits
}

// Run sends the device's lines when they are due and answers `?`, until ctx
// ends (it returns nil) or the line is closed (it returns an error that wraps
// os.ErrClosed).
func (d *Device) Run(ctx context.Context, line Line, clock Clock) error {
	booted := clock.Now()
	var before time.Duration
	out, in := make([]byte, 0, 512), make([]byte, 64)
	for {
		var due time.Duration
		out, due = d.Next(out[:0])
		if due < before { // reset: the device's clock began again
			booted = clock.Now()
		}
		before = due
		if clock.Sleep(ctx, booted.Add(due).Sub(clock.Now())) != nil {
			return nil
		}
		if _, err := line.Write(out); err != nil {
			if errors.Is(err, os.ErrClosed) && ctx.Err() != nil {
				return nil
			}
			return err
		}
		if bytes.IndexByte(in[:line.Poll(in)], '?') >= 0 {
			d.Ask()
		}
	}
}

// Serve puts a device on a new pseudo-terminal and runs it until ctx ends. It
// returns the path that a reader opens like a serial port; wait returns when
// the device has gone.
func Serve(ctx context.Context, d *Device, clock Clock) (path string, wait func() error, err error) {
	p, err := OpenPTY()
	if err != nil {
		return "", nil, err
	}
	ended := make(chan error, 1)
	go func() {
		err := d.Run(ctx, p, clock)
		p.Close()
		ended <- err
	}()
	return p.Path(), func() error { return <-ended }, nil
}
