package acquiretest_test

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/acquiretest"
	"griptrial/acquire/simrig"
	"griptrial/acquire/wire"
)

func TestClockMovesOnlyWhenTold(t *testing.T) {
	start := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	c := acquiretest.NewClock(start)
	soon, later := c.After(time.Second), c.After(time.Minute)
	c.AwaitWaiters(2)
	c.Advance(time.Second)
	assert.Equal(t, start.Add(time.Second), <-soon)
	select {
	case <-later:
		t.Fatal("rang early")
	default:
	}
	assert.Equal(t, 59*time.Second, c.Next())
	assert.Equal(t, start.Add(time.Minute), <-later)
	<-c.After(0)
}

func TestPlayerGivesThePiecesAndMindsTheRest(t *testing.T) {
	p := acquiretest.Play([]byte("one\ntwo\nthree\n"), 3, 1)
	got := make([]byte, 5)
	n, err := p.Read(got)
	require.NoError(t, err)
	assert.LessOrEqual(t, n, 3)
	_, err = p.Write([]byte("?"))
	require.NoError(t, err)
	assert.Equal(t, "?", p.Written())
	assert.ErrorContains(t, p.Close(), "were not read")

	p = acquiretest.Play([]byte("one\ntwo\n"), 0, 1)
	all, err := io.ReadAll(p)
	require.NoError(t, err)
	assert.Equal(t, "one\ntwo\n", string(all))
	assert.NoError(t, p.Close())
}

// whole reports whether the text after the last start mark is a sample line
// whose check is right.
func whole(line []byte) bool {
	start, star := bytes.LastIndexByte(line, ':'), bytes.LastIndexByte(line, '*')
	if start < 0 || star < start {
		return false
	}
	return fmt.Sprintf("%04X", wire.CRC16(line[start+1:star])) == string(line[star+1:])
}

func TestManglerKeepsAnExactAccount(t *testing.T) {
	m := acquiretest.NewMangler(acquiretest.Faults{
		Cut: 0.01, Merge: 0.01, LoseByte: 0.01, Double: 0.01, Flip: 0.01, Noise: 0.01, Duplicate: 0.01, Lose: 0.005, Burst: 30, Seed: 7,
	})
	var stream, line []byte
	const sent = 100_000
	for i := range sent {
		line = wire.AppendSample(line[:0], uint16(i), uint32(12500*i), int32(i*37%1000000))
		stream = m.Append(stream, line)
	}
	got := 0
	for l := range bytes.Lines(stream) {
		if whole(bytes.TrimSuffix(l, []byte("\n"))) {
			got++
		}
	}
	a := m.Account
	assert.Equal(t, sent, a.Sent)
	for name, n := range map[string]int{"lost": a.Lost, "damaged": a.Damaged, "duplicated": a.Duplicated, "merged": a.Merged, "noisy": a.Noisy} {
		assert.Greater(t, n, 500, name)
	}
	// A damaged line passes a 16-bit check once in 65536, if that.
	assert.InDelta(t, a.Whole()+a.Duplicated, got, 2)
}

func TestManglerLetsFactsPass(t *testing.T) {
	m := acquiretest.NewMangler(acquiretest.Faults{Cut: 1, Seed: 1})
	fact := wire.AppendFact(nil, "sps", "80")
	sample := wire.AppendSample(nil, 1, 2, 3)
	out := string(m.Append(nil, append(append([]byte{}, sample...), fact...)))
	assert.True(t, strings.HasSuffix(out, "\n"+string(fact)), out)
	assert.Equal(t, 1, m.Damaged)
}

func TestDeviceOnAPseudoTerminal(t *testing.T) {
	clock := acquiretest.NewClock(time.Unix(0, 0))
	d := acquiretest.Plug(t, simrig.NewDevice(simrig.DefaultShop(), 1), clock, acquiretest.Faults{})
	port, err := os.OpenFile(d.Path(), os.O_RDWR, 0)
	require.NoError(t, err)
	defer port.Close()
	lines := bufio.NewScanner(port)
	next := func() string {
		if d.Drain(0) {
			clock.Next()
		}
		require.True(t, lines.Scan(), lines.Err())
		return lines.Text()
	}
	assert.Equal(t, "#proto=1", strings.SplitN(next(), "*", 2)[0])
	for !strings.HasPrefix(next(), "#ready") {
	}
	assert.True(t, strings.HasPrefix(next(), ":0,"))
	_, err = port.WriteString("?")
	require.NoError(t, err)
	seen := false
	for range 500 { // the terminal may take its time to pass the request on
		seen = seen || strings.HasPrefix(next(), "#proto")
	}
	assert.True(t, seen, "facts on request")

	was, err := os.Readlink(d.Path())
	require.NoError(t, err)
	d.Unplug()
	for lines.Scan() { // what was on its way, then the hang-up
	}
	_, err = os.Stat(d.Path())
	assert.ErrorIs(t, err, os.ErrNotExist)
	d.Replug()
	_, err = os.Stat(d.Path())
	require.NoError(t, err, "before: %s", was)
	again, err := os.Open(d.Path())
	require.NoError(t, err)
	defer again.Close()
	clock.Next()
	lines = bufio.NewScanner(again)
	for lines.Scan() && !strings.HasPrefix(lines.Text(), "#boot") {
	}
	assert.True(t, strings.HasPrefix(lines.Text(), "#boot=2"), lines.Text())
}

func TestDeviceWithFaultsKeepsAccount(t *testing.T) {
	clock := acquiretest.NewClock(time.Unix(0, 0))
	d := acquiretest.Plug(t, simrig.NewDevice(simrig.DefaultShop(), 1), clock, acquiretest.Faults{LoseByte: 0.3, Lose: 0.2, Seed: 3})
	port, err := os.OpenFile(d.Path(), os.O_RDWR, 0)
	require.NoError(t, err)
	defer port.Close()
	d.Send([]byte("\x00\xffboot noise\n"))
	for range 200 {
		clock.Next()
	}
	clock.AwaitWaiters(1)
	a, dropped := d.Account()
	assert.Equal(t, 200, a.Sent)
	assert.Zero(t, dropped)
	assert.Greater(t, a.Lost, 20)
	assert.Greater(t, a.Damaged, 30)
	// Each line that is not lost ends with LF, and the fact ready ends the boot.
	lines := bufio.NewScanner(port)
	require.True(t, lines.Scan())
	assert.Contains(t, lines.Text(), "boot noise")
	got := 0
	for range a.Sent - a.Lost {
		for lines.Scan() && strings.HasPrefix(lines.Text(), "#") {
		}
		if whole(lines.Bytes()) {
			got++
		}
	}
	assert.Equal(t, a.Whole(), got)
	assert.True(t, d.Drain(time.Second))
}

func TestMain(m *testing.M) { acquiretest.Main(m) }

func TestLeaked(t *testing.T) {
	assert.Empty(t, acquiretest.Leaked(10*time.Second))
	end, ended := make(chan struct{}), make(chan struct{})
	go func() { <-end; close(ended) }()
	left := acquiretest.Leaked(0)
	require.Len(t, left, 1)
	assert.Contains(t, left[0], "TestLeaked")
	close(end)
	<-ended
	assert.Empty(t, acquiretest.Leaked(10*time.Second), "an end that is on its way is waited for")
}
