package bench_test

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/bench"
	"griptrial/acquire/disk"
	"griptrial/acquire/loadcell"
	"griptrial/acquire/study"
	"griptrial/acquire/table"
	"griptrial/acquire/wire"
	"griptrial/analysis/trial"
)

const (
	zero = 5000.0
	span = 1000.0 // counts/N
)

// cell is calibrated as the tapes are made; it is rated for 100 N.
func cell() loadcell.Calibration {
	c := loadcell.Calibration{Cell: "T1", Gain: 128, SPS: 100, Rated: 100}
	for _, f := range []float64{0, 20, 40, 60, 80} {
		c.Rows = append(c.Rows, loadcell.Row{Force: f, Counts: zero + span*f, Run: 1})
	}
	return c
}

// tape is what a device sends, made by hand: 100 samples a second with a noise
// of 0.01 N.
type tape struct {
	bytes.Buffer
	seq    uint16
	micros uint32
	rng    *rand.Rand
}

func newTape() *tape {
	t := &tape{rng: rand.New(rand.NewPCG(5, 6))}
	t.facts("T1")
	return t
}

func (t *tape) facts(id string) *tape {
	for _, f := range [][2]string{{"proto", "1"}, {"name", "tape"}, {"id", id}, {"boot", "1"}, {"sps", "100"}, {"gain", "128"}, {"ready", "1"}} {
		t.Write(wire.AppendFact(nil, f[0], f[1]))
	}
	return t
}

// to goes from one force to another in s seconds.
func (t *tape) to(from, to, s float64) *tape {
	n := int(s * 100)
	for i := range n {
		force := from + (to-from)*float64(i)/float64(n)
		t.sample(int32(zero + span*force + 10*t.rng.NormFloat64()))
	}
	return t
}

func (t *tape) sample(counts int32) {
	t.Write(wire.AppendSample(nil, t.seq, t.micros, counts))
	t.seq++
	t.micros += 10_000
}

// skip loses n samples on the way.
func (t *tape) skip(n int) *tape {
	t.seq += uint16(n)
	t.micros += uint32(n) * 10_000
	return t
}

// reset starts the device anew.
func (t *tape) reset() *tape {
	t.seq, t.micros = 0, 700
	return t.facts("T1")
}

// rest is the link hanging free.
func (t *tape) rest(s float64) *tape { return t.to(0, 0, s) }

// held is a pull that is let down from 50 N without a slip.
func (t *tape) held() *tape { return t.rest(1.5).to(0, 50, 3).to(50, 50, 0.3).to(50, 0, 1).rest(2) }

// onlooker keeps the notices.
type onlooker struct{ notices []string }

func (o *onlooker) Show(v bench.View)              { o.notices = append(o.notices, texts(v.Notices)...) }
func (o *onlooker) Commands() <-chan bench.Command { return nil }

func texts(notices []bench.Notice) (out []string) {
	for _, n := range notices {
		out = append(out, n.Text)
	}
	return out
}

// play drives a session with the tape until it ends. It always ends for want
// of samples, or before. The notices are returned as one text.
func play(t *testing.T, f *study.Folder, tape *tape, answer func(bench.View) (bench.Command, bool)) (bench.Summary, string, error) {
	t.Helper()
	var o onlooker
	sum, err := bench.Drive(context.Background(), bench.Config{Folder: f, Calibration: cell(), Now: clock, Operator: &o,
		Source: func(context.Context) bench.Source { return wire.NewReader(&tape.Buffer, wire.ReaderOptions{}) },
	}, answer)
	return sum, strings.Join(o.notices, "\n"), err
}

func TestHeld(t *testing.T) {
	f := folder(t)
	sum, _, err := play(t, f, newTape().held(), agreeable)
	require.ErrorIs(t, err, bench.ErrSource, "the tape is over before the plan")
	assert.Equal(t, bench.Summary{Held: 1, Left: 3}, sum)
	assert.InDelta(t, 50, whole(t, f).Current()[0].Force, 0.05)
}

// A pull that makes the counts fall is a pull all the same.
func TestDownward(t *testing.T) {
	f := folder(t)
	sum, _, _ := play(t, f, newTape().rest(1.5).to(0, -50, 3).to(-50, -50, 0.3).to(-50, 0, 1).rest(2), agreeable)
	assert.Equal(t, 1, sum.Held)
	assert.InDelta(t, 50, whole(t, f).Current()[0].Force, 0.05)
}

// The tare is taken of a cell at rest only: not while it swings or is loaded.
func TestTareWaitsForRest(t *testing.T) {
	tape := newTape()
	for range 8 {
		tape.to(0, 1, 0.5).to(1, 0, 0.5)
	}
	f := folder(t)
	sum, notices, _ := play(t, f, tape.held(), agreeable)
	assert.Contains(t, notices, "waiting for the load cell to come to rest")
	assert.Equal(t, 1, sum.Held)
	assert.InDelta(t, 50, whole(t, f).Current()[0].Force, 0.05)
}

func TestTouchIsNoPull(t *testing.T) {
	f := folder(t)
	sum, notices, _ := play(t, f, newTape().rest(1.5).to(0.7, 0.7, 0.4).rest(2).held(), agreeable)
	assert.Contains(t, notices, "a touch of 0.7")
	assert.Equal(t, 1, sum.Saved())
	names, err := os.ReadDir(filepath.Join(f.Dir(), study.TraceDir))
	require.NoError(t, err)
	assert.Len(t, names, 1)
	whole(t, f)
}

func TestZeroMoved(t *testing.T) {
	f := folder(t)
	_, notices, _ := play(t, f, newTape().rest(1.5).to(0, 50, 3).to(50, 0.5, 1).to(0.5, 0.5, 4), agreeable)
	assert.Contains(t, notices, "the zero has moved by 0.50 N since the pull before")
	whole(t, f)

	// 0.15 N are little beside 100 N, and much beside a pull of 10 N.
	for _, peak := range []float64{10, 40} {
		_, notices, _ := play(t, folder(t), newTape().rest(1.5).to(0, peak, 3).to(peak, 0.15, 1).to(0.15, 0.15, 4), agreeable)
		assert.Equal(t, peak < 15, strings.Contains(notices, "the zero has moved by 0.15 N"), notices)
	}
}

func TestOverload(t *testing.T) {
	f := folder(t)
	_, notices, _ := play(t, f, newTape().rest(1.5).to(0, 85, 3).to(85, 0, 1).rest(2).rest(1.5).to(0, 105, 3).to(105, 0, 1).rest(2), agreeable)
	assert.Equal(t, 2, strings.Count(notices, "80 % of the rated load of 100 N"), "once a pull")
	assert.Equal(t, 1, strings.Count(notices, "OVER the rated load of 100 N"))
	whole(t, f)
}

// The device begins anew in mid-pull: the record ends there and a person must
// say what it was.
func TestResetInMidPull(t *testing.T) {
	f := folder(t)
	var proposal bench.Proposal
	sum, notices, _ := play(t, f, newTape().rest(1.5).to(0, 30, 2).reset().to(30, 50, 1).to(50, 0, 1).rest(2), func(v bench.View) (bench.Command, bool) {
		if v.Phase == bench.Judging {
			proposal = *v.Proposal
		}
		return agreeable(v)
	})
	assert.Equal(t, trial.Unclear, proposal.Outcome)
	assert.Contains(t, strings.Join(proposal.Doubts, "\n"), "the load cell began anew in mid-pull (reset)")
	assert.Contains(t, notices, "begins anew (reset)")
	assert.Equal(t, 1, sum.Void)
	f = whole(t, f)
	assert.Equal(t, "could not tell; the load cell began anew in mid-pull (reset)", f.Current()[0].Note)
}

func TestLostAndSaturated(t *testing.T) {
	f := folder(t)
	tape := newTape().rest(1.5).to(0, 30, 2).skip(5).to(32, 60, 2)
	for range 10 {
		tape.sample(1<<23 - 1)
	}
	_, _, err := play(t, f, tape.to(60, 0, 1).rest(2), func(v bench.View) (bench.Command, bool) {
		if v.Phase == bench.Judging {
			return bench.Command{Verb: bench.Held}, true
		}
		return agreeable(v)
	})
	require.ErrorIs(t, err, bench.ErrSource)
	assert.Equal(t, "5 samples were lost on the way; 10 samples at the end of the converter's range: the force was greater than shown; the load went to 8384 % of the rated load",
		whole(t, f).Current()[0].Note)
}

func TestEndByHandAndUnclear(t *testing.T) {
	f := folder(t)
	n := 0
	sum, notices, _ := play(t, f, newTape().rest(1.5).to(0, 50, 3).to(50, 50, 3), func(v bench.View) (bench.Command, bool) {
		switch {
		case v.Phase == bench.Pulling && v.Elapsed > 4:
			return bench.Command{Verb: bench.End}, true
		case v.Phase == bench.Pulling && n == 0:
			n++
			return bench.Command{Verb: bench.Accept}, true // out of turn
		case v.Phase == bench.Judging && n == 1:
			n++
			return bench.Command{Verb: bench.Void}, true // without a reason
		case v.Phase == bench.Judging:
			return bench.Command{Verb: bench.Held}, true
		}
		return agreeable(v)
	})
	assert.Contains(t, notices, "not now (pulling)")
	assert.Contains(t, notices, "a void pull needs a reason")
	assert.Equal(t, 1, sum.Held)
	whole(t, f)
}

// An unclear record is never saved by a mere yes.
func TestUnclearAsks(t *testing.T) {
	f := folder(t)
	n := 0
	sum, notices, _ := play(t, f, newTape().rest(1.5).to(0, 50, 3).rest(3), func(v bench.View) (bench.Command, bool) {
		if v.Phase == bench.Judging {
			assert.Equal(t, trial.Unclear, v.Proposal.Outcome, "the load vanished within a sample")
			if n++; n == 1 {
				return bench.Command{Verb: bench.Accept}, true
			}
			return bench.Command{Verb: bench.Slipped, Text: "seen to move"}, true
		}
		return agreeable(v)
	})
	assert.Contains(t, notices, "the record alone cannot tell")
	assert.Equal(t, 1, sum.Slipped)
	assert.InDelta(t, 50, whole(t, f).Current()[0].Force, 0.3)
}

func TestAnotherCell(t *testing.T) {
	f := folder(t)
	tape := &tape{rng: rand.New(rand.NewPCG(1, 1))}
	sum, notices, err := play(t, f, tape.facts("T2").held(), agreeable)
	var m *loadcell.Mismatch
	require.ErrorAs(t, err, &m)
	assert.Contains(t, notices, "it was made for cell T1, this is T2")
	assert.Zero(t, sum.Saved())
	whole(t, f)
}

func TestBrokenOff(t *testing.T) {
	f := folder(t)
	ctx, stop := context.WithCancel(context.Background())
	_, err := bench.Drive(ctx, bench.Config{Folder: f, Calibration: cell(), Now: clock,
		Source: func(context.Context) bench.Source {
			return wire.NewReader(&newTape().held().Buffer, wire.ReaderOptions{})
		},
	}, func(v bench.View) (bench.Command, bool) {
		if v.Phase == bench.Pulling && v.Force > 20 {
			stop()
		}
		return agreeable(v)
	})
	require.ErrorIs(t, err, context.Canceled)
	row := whole(t, f).Current()[0]
	assert.Equal(t, trial.Void, row.Outcome)
	assert.Equal(t, "the session was broken off", row.Note)
}

// fullDisk has no room in trace files while full is set.
type fullDisk struct {
	disk.OS
	full *bool
}

func (d fullDisk) Open(name string, flag int, perm fs.FileMode) (disk.File, error) {
	f, err := d.OS.Open(name, flag, perm)
	if err != nil || !strings.Contains(name, study.TraceDir) {
		return f, err
	}
	return fullFile{f, d.full}, nil
}

type fullFile struct {
	disk.File
	full *bool
}

func (f fullFile) Write(b []byte) (int, error) {
	if *f.full {
		n, err := f.File.Write(b[:len(b)/2])
		return n, errors.Join(err, syscall.ENOSPC)
	}
	return f.File.Write(b)
}

// The disk is full in mid-pull and while saving; when there is room again the
// pull is saved whole.
func TestFullDisk(t *testing.T) {
	f := folder(t)
	require.NoError(t, f.Close())
	full := false
	f, err := study.OpenForWritingOn(fullDisk{full: &full}, f.Dir(), "test")
	require.NoError(t, err)
	tries := 0
	sum, notices, _ := play(t, f, newTape().held(), func(v bench.View) (bench.Command, bool) {
		switch {
		case v.Phase == bench.Pulling && v.Force > 20:
			full = true
		case v.Phase == bench.Judging:
			if tries++; tries == 3 {
				full = false
			}
		}
		return agreeable(v)
	})
	assert.Contains(t, notices, "the trace cannot be written")
	assert.Equal(t, 2, strings.Count(notices, "NOT SAVED: "))
	assert.Equal(t, bench.Summary{Held: 1, Left: 3}, sum)
	f = whole(t, f)
	file, err := os.Open(f.TracePath(1))
	require.NoError(t, err)
	defer file.Close()
	trace, err := table.ReadTrace("trace", file)
	require.NoError(t, err)
	for i := 1; i < len(trace.Seq); i++ {
		require.Equal(t, trace.Seq[i-1]+1, trace.Seq[i], "no sample is missing")
	}
	assert.InDelta(t, 0, trace.Trace.Force[len(trace.Trace.Force)-1], 0.1)
}
