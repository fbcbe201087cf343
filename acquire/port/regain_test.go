//go:build linux

package port

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/acquiretest"
	"griptrial/acquire/simrig"
	"griptrial/acquire/wire"
)

// atOnce does not wait, but ends with its context.
func atOnce(ctx context.Context, _ time.Duration) error { return ctx.Err() }

func TestMain(m *testing.M) { acquiretest.Main(m) }

func noList() ([]Device, error) { return nil, errors.New("no list is needed for a path") }

// TestReplugRoundsAccounted plugs a load cell out and in 200 times while it is
// read: every sample is accounted for, and no goroutine and no file stays
// behind.
func TestReplugRoundsAccounted(t *testing.T) {
	const rounds, lines = 200, 25
	clock := acquiretest.NewClock(time.Unix(0, 0))
	d := acquiretest.Plug(t, simrig.NewDevice(simrig.DefaultShop(), 1), clock, acquiretest.Faults{Lose: 0.1, Seed: 5})
	p, err := Open(d.Path(), Options{})
	require.NoError(t, err)
	r := wire.NewReader(p.Reader(t.Context()), wire.ReaderOptions{})
	s := seeker{list: noList, wait: atOnce}
	var files, untold int
	for round := range rounds {
		if round == 2 {
			files = openFiles(t)
		}
		sent, _ := d.Account()
		last := 0 // lines lost after the last that came: nothing will tell of them
		for range lines {
			clock.Next()
			clock.AwaitWaiters(1) // the line was sent
			now, dropped := d.Account()
			require.Zero(t, dropped)
			if last++; now.Whole() > sent.Whole() {
				last = 0
			}
			sent = now
		}
		untold += last
		for r.Account().Samples < int64(sent.Whole()) {
			_, err := r.Next()
			require.NoError(t, err)
		}
		d.Unplug()
		for err = nil; err == nil; {
			_, err = r.Next()
		}
		require.ErrorIs(t, err, ErrHangUp, "round %d", round)
		if round == rounds-1 {
			break
		}
		d.Replug()
		p, err = s.regain(t.Context(), p, func(err error) { t.Errorf("round %d: %v", round, err) })
		require.NoError(t, err)
		r.Rejoin(p.Reader(t.Context()), p)
	}
	assert.LessOrEqual(t, openFiles(t), files, "open files")
	require.NoError(t, p.Close())
	assert.Empty(t, acquiretest.Leaked(10*time.Second), "goroutines")

	sent, _ := d.Account()
	a := r.Account()
	assert.Equal(t, rounds*lines, sent.Sent)
	assert.EqualValues(t, sent.Whole(), a.Samples)
	assert.Equal(t, rounds, a.Segments)
	assert.Zero(t, a.Rejected+a.Duplicates+a.Stalls)
	assert.EqualValues(t, sent.Sent, a.Samples+a.Lost+int64(untold))
	t.Logf("%d sent, %d samples, %d lost, %d lost as the last before the cable came out, %d segments", sent.Sent, a.Samples, a.Lost, untold, a.Segments)
}

func openFiles(t *testing.T) int {
	t.Helper()
	entries, err := os.ReadDir("/proc/self/fd")
	require.NoError(t, err)
	return len(entries)
}

// A path comes back as a link to another terminal, after it was not there, was
// no port, and was not allowed.
func TestRegainWaitsAndTells(t *testing.T) {
	link := filepath.Join(t.TempDir(), "port")
	d := newTerminal(t)
	require.NoError(t, os.Symlink(d.path, link))
	p, err := Open(link, Options{Baud: 9600})
	require.NoError(t, err)
	d.unplug()
	require.NoError(t, os.Remove(link))

	next := newTerminal(t)
	looks := 0
	wait := func(ctx context.Context, d time.Duration) error {
		assert.Equal(t, regainEvery, d)
		looks++
		switch looks {
		case 3, 4: // twice the same reason
			os.Remove(link)
			assert.NoError(t, os.Symlink("/dev/null", link))
		case 5:
			os.Remove(link)
			assert.NoError(t, os.Symlink(next.path, link))
		}
		return ctx.Err()
	}
	var told []error
	again, err := seeker{list: noList, wait: wait}.regain(t.Context(), p, func(err error) { told = append(told, err) })
	require.NoError(t, err)
	defer again.Close()
	assert.Equal(t, 5, looks)
	require.Len(t, told, 1, "the same reason is told once")
	assert.ErrorContains(t, told[0], "not a serial port")
	assert.Equal(t, 9600, again.options.Baud)
	_, err = p.Reader(t.Context()).Read(make([]byte, 1))
	assert.ErrorIs(t, err, ErrClosed, "the dead one was closed")
}

func TestRegainEndsWithItsContext(t *testing.T) {
	d := newTerminal(t)
	p := open(t, d.path)
	d.unplug()
	ctx, cancel := context.WithCancel(t.Context())
	looks := 0
	_, err := seeker{list: noList, wait: func(ctx context.Context, d time.Duration) error {
		if looks++; looks == 4 {
			cancel()
		}
		return wait(ctx, time.Nanosecond)
	}}.regain(ctx, p, nil)
	assert.ErrorIs(t, err, context.Canceled)
	assert.Equal(t, 4, looks)
}

// A USB device is found by its identity under another name, and two alike are
// not guessed between.
func TestRegainByIdentity(t *testing.T) {
	cell := Device{Path: "/dev/ttyUSB0", USB: true, Vendor: "1A86", Product: "7523"}
	back := newTerminal(t)
	first := newTerminal(t)
	p, err := openPath(first.path, Options{}, cell)
	require.NoError(t, err)
	first.unplug()
	lists := [][]Device{
		{{Path: back.path, USB: true, Vendor: "2341", Product: "0043"}}, // another one
		{{Path: "/dev/ttyUSB1", USB: true, Vendor: "1A86", Product: "7523"}, {Path: back.path, USB: true, Vendor: "1A86", Product: "7523"}},
		{{Path: back.path, USB: true, Vendor: "1A86", Product: "7523"}},
	}
	looks := 0
	s := seeker{wait: atOnce, folder: filepath.Join(t.TempDir(), "none"), list: func() ([]Device, error) {
		looks++
		return lists[looks-1], nil
	}}
	var told []error
	again, err := s.regain(t.Context(), p, func(err error) { told = append(told, err) })
	require.NoError(t, err)
	defer again.Close()
	assert.Equal(t, 3, looks)
	assert.Equal(t, back.path, again.Path())
	assert.Equal(t, "7523", again.Device().Product, "it is known for the next time")
	require.Len(t, told, 1)
	assert.ErrorContains(t, told[0], "2 devices answer")
}

func TestAnyUSB(t *testing.T) {
	dir := t.TempDir()
	assert.False(t, anyUSB(dir))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "ttyS0"), nil, 0o600))
	assert.False(t, anyUSB(dir), "no list is made that would open built-in ports")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "ttyACM0"), nil, 0o600))
	assert.True(t, anyUSB(dir))
	assert.True(t, anyUSB(filepath.Join(dir, "none")), "another system: ask")
}
