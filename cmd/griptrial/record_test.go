//go:build linux

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/disk"
	"griptrial/acquire/simrig"
	"griptrial/acquire/wire"
)

// fakeCell is a load cell on a pseudo-terminal that a test plays line by line.
type fakeCell struct {
	t    *testing.T
	pty  *simrig.PTY
	todo []byte // for which the reader had no room yet
	seq  uint16
	at   uint32
}

func newFakeCell(t *testing.T) *fakeCell {
	t.Helper()
	pty, err := simrig.OpenPTY()
	require.NoError(t, err)
	t.Cleanup(func() { _ = pty.Close() })
	return &fakeCell{t: t, pty: pty}
}

// path is what a command opens.
func (c *fakeCell) path() string { return c.pty.Path() }

// unplug hangs up.
func (c *fakeCell) unplug() { require.NoError(c.t, c.pty.Close()) }

// offer sends what there is room for, and reports whether that was all.
func (c *fakeCell) offer() bool {
	n, err := c.pty.Offer(c.todo)
	require.NoError(c.t, err)
	c.todo = c.todo[n:]
	return len(c.todo) == 0
}

// facts states who the cell is.
func (c *fakeCell) facts() {
	for _, f := range [][2]string{{"proto", "1"}, {"name", "bench cell"}, {"id", "LC-17"}, {"boot", "1"}, {"sps", "80"}, {"gain", "128"}, {"ready", "1"}} {
		c.todo = wire.AppendFact(c.todo, f[0], f[1])
	}
	until(c.t, c.offer)
}

// send sends n samples at 80/s by the device's clock, to somebody who reads.
func (c *fakeCell) send(n int, counts int32) {
	c.t.Helper()
	for range n {
		c.sample(counts)
	}
	until(c.t, c.offer)
}

func (c *fakeCell) sample(counts int32) {
	c.todo = wire.AppendSample(c.todo, c.seq, c.at, counts+int32(c.seq%3))
	c.seq++
	c.at += 12500
}

// until sends samples, as far as somebody reads them, until a condition holds.
func (c *fakeCell) until(counts int32, done func() bool) {
	c.t.Helper()
	until(c.t, func() bool {
		if done() {
			return true
		}
		if c.offer() {
			c.sample(counts)
		}
		return false
	})
}

// output collects what a command writes while it runs.
type output struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (w *output) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.b.Write(p)
}

func (w *output) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.b.String()
}

// running is a command under way.
type running struct {
	stdout, stderr output
	code           chan int
	interrupt      context.CancelFunc
}

func start(t *testing.T, stdin io.Reader, args ...string) *running {
	return startOn(t, nil, stdin, args...)
}

// startOn starts a command on a disk of its own kind; nil: the machine's.
func startOn(t *testing.T, d disk.FS, stdin io.Reader, args ...string) *running {
	ctx, cancel := context.WithCancel(t.Context())
	r := &running{code: make(chan int, 1), interrupt: cancel}
	go func() {
		r.code <- run(ctx, args, &app{stdin: stdin, stdout: &r.stdout, stderr: &r.stderr, now: time.Now, disk: d})
	}()
	t.Cleanup(cancel)
	return r
}

// await waits until the command has said text.
func (r *running) await(t *testing.T, text string) {
	t.Helper()
	until(t, func() bool { return strings.Contains(r.stderr.String(), text) || len(r.code) > 0 })
	require.Contains(t, r.stderr.String(), text)
}

// until waits for a condition, long enough for any machine; what every goroutine
// does is shown if that is not enough.
func until(t *testing.T, done func() bool) {
	t.Helper()
	for end := time.Now().Add(5 * time.Minute); !done(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			stacks := make([]byte, 1<<20)
			t.Fatalf("it never came about\n%s", stacks[:runtime.Stack(stacks, true)])
		}
	}
}

// written tells whether a file holds text.
func written(name, text string) func() bool {
	return func() bool {
		b, err := os.ReadFile(name)
		return err == nil && strings.Contains(string(b), text)
	}
}

func summary(t *testing.T, r *running) recordSummary {
	t.Helper()
	var s recordSummary
	require.NoError(t, json.Unmarshal([]byte(r.stdout.String()), &s), r.stdout.String())
	return s
}

func TestRecordPort(t *testing.T) {
	c := newFakeCell(t)
	out := filepath.Join(t.TempDir(), "pull.csv")
	r := start(t, strings.NewReader(""), "record", "--port", c.path(), "--for", "20 s", "--json", out)
	r.await(t, "listening on "+c.path())
	c.facts()
	c.send(1700, 1000)
	require.Equal(t, exitOK, <-r.code, r.stderr.String())
	s := summary(t, r)
	assert.EqualValues(t, 1601, s.Samples, "from 0 to 20 s by the device's clock")
	assert.Zero(t, s.Lost+s.Rejected+s.Duplicates)
	assert.Equal(t, endedTime, s.Ended)
	assert.Equal(t, "LC-17", s.Facts["id"])
	text, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Contains(t, string(text), "\n1600,20000000,1001,0\n")
	assert.NoFileExists(t, out+".part")
}

func TestRecordHangUp(t *testing.T) {
	c := newFakeCell(t)
	out := filepath.Join(t.TempDir(), "pull.csv")
	r := start(t, strings.NewReader(""), "record", "--port", c.path(), "--for", "10s", "--json", out)
	r.await(t, "listening")
	c.facts()
	c.send(30, 1000)
	// One more until the rows so far reach the file: they wait there for at most
	// 0.2 s. What still waits in the line at a hang-up is lost.
	c.until(1000, written(out+".part", "\n29,"))
	c.unplug()
	require.Equal(t, exitOK, <-r.code, r.stderr.String())
	s := summary(t, r)
	assert.Equal(t, endedHangUp, s.Ended)
	assert.GreaterOrEqual(t, s.Samples, int64(30))
	assert.Zero(t, s.Lost)
	assert.FileExists(t, out)
}

func TestRecordInterrupted(t *testing.T) {
	c := newFakeCell(t)
	out := filepath.Join(t.TempDir(), "pull.csv")
	r := start(t, strings.NewReader(""), "record", "--port", c.path(), "--json", out)
	r.await(t, "listening")
	c.facts()
	c.until(1000, written(out+".part", "\n5,"))
	r.interrupt()
	require.Equal(t, exitOK, <-r.code, r.stderr.String())
	s := summary(t, r)
	assert.Equal(t, endedInterrupted, s.Ended)
	assert.GreaterOrEqual(t, s.Samples, int64(6))
	text, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Contains(t, string(text), "\n5,62500,1002,0\n", "what came is kept")
}

func TestRecordFallsSilent(t *testing.T) {
	// The device stops: the host's clock ends the recording.
	c := newFakeCell(t)
	out := filepath.Join(t.TempDir(), "pull.csv")
	r := start(t, strings.NewReader(""), "record", "--port", c.path(), "--for", "800ms", "--json", out)
	r.await(t, "listening")
	c.facts()
	c.send(20, 1000)
	require.Equal(t, exitOK, <-r.code, r.stderr.String())
	s := summary(t, r)
	assert.Equal(t, endedTime, s.Ended)
	assert.EqualValues(t, 20, s.Samples)
	assert.EqualValues(t, 1, s.Stalls)
}

func TestRecordInterruptedPipe(t *testing.T) {
	in, feed := io.Pipe()
	defer feed.Close()
	out := filepath.Join(t.TempDir(), "pull.csv")
	r := start(t, in, "record", "--port", "-", "--json", out)
	_, err := feed.Write(wire.AppendSample(nil, 0, 0, 5))
	require.NoError(t, err)
	until(t, written(out+".part", "\n0,0,5,0\n"))
	r.interrupt()
	require.Equal(t, exitOK, <-r.code, r.stderr.String())
	s := summary(t, r)
	assert.Equal(t, endedInterrupted, s.Ended)
	assert.EqualValues(t, 1, s.Samples)
	assert.FileExists(t, out)
}

func TestCalibrateGuided(t *testing.T) {
	c := newFakeCell(t)
	out := filepath.Join(t.TempDir(), "cell.csv")
	typed, keys := io.Pipe()
	r := start(t, typed, "calibrate", "--port", c.path(), "--average", "100ms", "--gravity", "9.8119", out)
	r.await(t, "run 1, reading 1")
	c.facts()
	readings := 0
	// read types a line and plays the load until a reading is printed.
	read := func(line string, counts int32) float64 {
		t.Helper()
		_, err := io.WriteString(keys, line+"\n")
		require.NoError(t, err)
		readings++
		c.until(counts, func() bool { return strings.Count(r.stderr.String(), "samples\n") == readings })
		said := r.stderr.String()
		said = said[:strings.LastIndex(said, " counts,")]
		mean, err := strconv.ParseFloat(said[strings.LastIndex(said, " ")+1:], 64)
		require.NoError(t, err)
		return mean
	}
	load := func(line string, counts int32) {
		t.Helper()
		c.settled(counts) // it hangs before it is typed
		require.InDelta(t, counts+1, read(line, counts), 1)
	}
	load("0", 1000)
	load("2 kg", 21000)
	load("3 kg", 99999)
	_, err := io.WriteString(keys, "undo\nnonsense\n-1 kg\n10 N\n")
	require.NoError(t, err)
	r.await(t, `does not start with a number`)
	r.await(t, `"-1 kg": must be zero or more`)
	r.await(t, `"10 N": must be zero or more, and either all loads are weights or all are forces`)
	readings = strings.Count(r.stderr.String(), "samples\n")
	load("4 kg", 41000)
	load("2 kg", 21010)
	load("0", 1001)
	_, err = io.WriteString(keys, "run\n")
	require.NoError(t, err)
	r.await(t, "run 2, reading 6")
	load("0", 1001)
	load("4 kg", 41004)
	_, err = io.WriteString(keys, "\n")
	require.NoError(t, err)
	require.Equal(t, exitOK, <-r.code, r.stderr.String())
	assert.Contains(t, r.stdout.String(), "span   1019.")
	text, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Regexp(t, `^# cell: LC-17\n# name: bench cell\n# gain: 128\n# sps: 80\n# date: \d{4}-\d\d-\d\d\n# g: 9.8119 m/s2\nweight \[kg\],counts,run,direction\n0,100\d`, string(text))
	assert.Regexp(t, `\n2,2101\d[.\d]*,1,down\n0,100\d[.\d]*,1,down\n0,100\d[.\d]*,2,up\n4,4100\d[.\d]*,2,up\n$`, string(text))
}

func TestCalibrateCableGone(t *testing.T) {
	c := newFakeCell(t)
	typed, keys := io.Pipe()
	defer keys.Close()
	r := start(t, typed, "calibrate", "--port", c.path())
	r.await(t, "run 1, reading 1")
	c.unplug()
	assert.Equal(t, exitFailed, <-r.code)
	assert.Contains(t, r.stderr.String(), "the device hung up")
}
