//go:build linux

package port

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// terminal is the device's end of a pseudo-terminal. The other end is held open
// and set raw before the first byte: otherwise the line discipline would echo.
type terminal struct {
	master, slave *os.File
	path          string
}

func newTerminal(t *testing.T) *terminal {
	t.Helper()
	master, slave, err := pty.Open()
	require.NoError(t, err)
	_, err = term.MakeRaw(int(slave.Fd()))
	require.NoError(t, err)
	d := &terminal{master, slave, slave.Name()}
	t.Cleanup(d.unplug)
	return d
}

func (d *terminal) unplug() {
	_ = d.slave.Close()
	_ = d.master.Close()
}

func open(t *testing.T, path string) *Port {
	t.Helper()
	p, err := Open(path, Options{})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, p.Close()) })
	return p
}

func TestReadAndWrite(t *testing.T) {
	d := newTerminal(t)
	p := open(t, d.path)
	assert.Equal(t, d.path, p.Path())
	assert.Equal(t, d.path, p.Device().Path)

	var all [256]byte
	for i := range all {
		all[i] = byte(i)
	}
	_, err := d.master.Write(all[:])
	require.NoError(t, err)
	got := make([]byte, 256)
	_, err = io.ReadFull(p.Reader(t.Context()), got)
	require.NoError(t, err)
	assert.Equal(t, all[:], got, "every byte value passes")

	n, err := p.Write([]byte("?"))
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	one := make([]byte, 8)
	n, err = d.master.Read(one)
	require.NoError(t, err)
	assert.Equal(t, "?", string(one[:n]))
}

func TestOpenDropsWhatWaited(t *testing.T) {
	d := newTerminal(t)
	_, err := d.master.WriteString("stale line\n")
	require.NoError(t, err)
	p := open(t, d.path)
	_, err = d.master.WriteString("new")
	require.NoError(t, err)
	got := make([]byte, 3)
	_, err = io.ReadFull(p.Reader(t.Context()), got)
	require.NoError(t, err)
	assert.Equal(t, "new", string(got))
}

func TestSilenceGivesWayWithoutSpinning(t *testing.T) {
	d := newTerminal(t)
	p := open(t, d.path)
	r := p.Reader(t.Context())
	start := time.Now()
	_, err := r.Read(make([]byte, 10))
	assert.ErrorIs(t, err, os.ErrDeadlineExceeded)
	assert.GreaterOrEqual(t, time.Since(start), quiet)

	n, err := r.Read(nil)
	assert.NoError(t, err, "an empty slice is no hang-up")
	assert.Zero(t, n)

	_, err = d.master.WriteString("x")
	require.NoError(t, err)
	n, err = r.Read(make([]byte, 10))
	assert.NoError(t, err, "and it may be called again")
	assert.Equal(t, 1, n)
}

func TestContextEndsRead(t *testing.T) {
	d := newTerminal(t)
	p := open(t, d.path)
	why := errors.New("time is up")
	ctx, cancel := context.WithCancelCause(t.Context())
	cancel(why)
	_, err := p.Reader(ctx).Read(make([]byte, 10))
	assert.ErrorIs(t, err, context.Canceled)
	assert.NotErrorIs(t, err, os.ErrDeadlineExceeded)

	ctx, stop := context.WithTimeout(t.Context(), 10*time.Millisecond)
	defer stop()
	r := p.Reader(ctx)
	for err = os.ErrDeadlineExceeded; errors.Is(err, os.ErrDeadlineExceeded); {
		_, err = r.Read(make([]byte, 10))
	}
	assert.ErrorIs(t, err, context.DeadlineExceeded)
}

func TestHangUp(t *testing.T) {
	d := newTerminal(t)
	p := open(t, d.path)
	r := p.Reader(t.Context())
	d.unplug()
	for range 3 {
		_, err := r.Read(make([]byte, 10))
		assert.ErrorIs(t, err, ErrHangUp)
		assert.NotErrorIs(t, err, ErrClosed)
		assert.Contains(t, err.Error(), d.path)
	}
	_, err := p.Write([]byte("?"))
	assert.ErrorIs(t, err, ErrHangUp)
	assert.NoError(t, p.Close())
}

func TestHangUpWakesAReadThatWaits(t *testing.T) {
	d := newTerminal(t)
	p := open(t, d.path)
	ended := make(chan error)
	go func() {
		r := p.Reader(context.Background())
		for {
			if _, err := r.Read(make([]byte, 10)); !errors.Is(err, os.ErrDeadlineExceeded) {
				ended <- err
				return
			}
		}
	}()
	d.unplug()
	assert.ErrorIs(t, <-ended, ErrHangUp)
}

func TestCloseIsNoHangUp(t *testing.T) {
	d := newTerminal(t)
	p, err := Open(d.path, Options{})
	require.NoError(t, err)
	ended := make(chan error)
	go func() {
		r := p.Reader(context.Background())
		for {
			if _, err := r.Read(make([]byte, 10)); !errors.Is(err, os.ErrDeadlineExceeded) {
				ended <- err
				return
			}
		}
	}()
	require.NoError(t, p.Close())
	assert.ErrorIs(t, <-ended, ErrClosed)
	_, err = p.Write([]byte("x"))
	assert.ErrorIs(t, err, ErrClosed)
	assert.NoError(t, p.Close(), "a second Close does nothing")
}

// A board is not to be reset by the next opening.
func TestOpenKeepsTheModemLines(t *testing.T) {
	d := newTerminal(t)
	settings := func() uint32 {
		s, err := unix.IoctlGetTermios(int(d.slave.Fd()), unix.TCGETS)
		require.NoError(t, err)
		return s.Cflag
	}
	s, err := unix.IoctlGetTermios(int(d.slave.Fd()), unix.TCGETS)
	require.NoError(t, err)
	s.Cflag |= unix.HUPCL
	require.NoError(t, unix.IoctlSetTermios(int(d.slave.Fd()), unix.TCSETS, s))
	require.NotZero(t, settings()&unix.HUPCL)
	p := open(t, d.path)
	assert.Zero(t, settings()&unix.HUPCL)
	require.NoError(t, p.Close())
	assert.Zero(t, settings()&unix.HUPCL)
}

// Somebody who is not in the group of serial ports is told how to get there.
func TestOpenNotPermitted(t *testing.T) {
	d := newTerminal(t)
	require.NoError(t, os.Chmod(d.path, 0))
	refused := make(chan error)
	go func() {
		// Root may open anything. This thread is no longer root as far as files
		// go, and ends with its goroutine because it stays locked to it.
		runtime.LockOSThread()
		if os.Geteuid() == 0 {
			if err := unix.Setfsuid(65534); err != nil {
				refused <- err
				return
			}
		}
		_, err := Open(d.path, Options{})
		refused <- err
	}()
	err := <-refused
	require.ErrorIs(t, err, os.ErrPermission)
	assert.ErrorContains(t, err, "sudo usermod -aG dialout")
}

func TestOpenErrors(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "ttyACM0")
	_, err := Open(missing, Options{})
	assert.ErrorIs(t, err, os.ErrNotExist)
	assert.ErrorContains(t, err, "griptrial devices")

	_, err = Open("/dev/null", Options{})
	assert.ErrorContains(t, err, "not a serial port")

	_, err = Open("usb:ABCD:0001:none", Options{})
	assert.ErrorIs(t, err, os.ErrNotExist)
	_, err = Open("usb:xyz", Options{})
	assert.ErrorContains(t, err, "not a USB identity")

	d := newTerminal(t)
	_, err = Open(d.path, Options{Baud: 1200})
	assert.ErrorContains(t, err, "boot loader")
	_, err = Open(d.path, Options{Baud: -1})
	assert.ErrorContains(t, err, "not a speed")
}

func TestStream(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	in, feed := io.Pipe()
	r := Stream(ctx, in)
	_, err := r.Read(make([]byte, 4))
	assert.ErrorIs(t, err, os.ErrDeadlineExceeded)
	go func() {
		_, _ = feed.Write([]byte("abcdef"))
		_ = feed.Close()
	}()
	var got []byte
	b := make([]byte, 4)
	for {
		n, err := r.Read(b)
		got = append(got, b[:n]...)
		if errors.Is(err, os.ErrDeadlineExceeded) {
			continue
		}
		if err != nil {
			assert.ErrorIs(t, err, io.EOF)
			break
		}
	}
	assert.Equal(t, "abcdef", string(got))
	_, err = r.Read(b)
	assert.ErrorIs(t, err, io.EOF, "and again")

	r = Stream(ctx, strings.NewReader("x"))
	cancel()
	_, err = r.Read(b)
	assert.ErrorIs(t, err, context.Canceled)
	r = Stream(context.Background(), bytes.NewReader(nil))
	_, err = r.Read(b)
	assert.ErrorIs(t, err, io.EOF)
}
