package bench_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/bench"
	"griptrial/acquire/bench/practice"
	"griptrial/acquire/simrig"
	"griptrial/acquire/study"
	"griptrial/acquire/table"
	"griptrial/acquire/wire"
	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
)

// blanks is a study of four pulls.
func blanks() trial.Study {
	return trial.Study{Format: 1, Name: "blanks", Unit: "N", Facings: []trial.Facing{
		{Name: "ground steel", Control: true, Samples: []string{"1", "2"}},
		{Name: "bonded P240 cloth", Samples: []string{"1", "2"}}},
		Levels: []trial.Level{{Name: "usual", Weight: 3, Usual: true}},
		Plan:   trial.Plan{Blocks: 1, Repeats: 2}, Pull: trial.PullSetup{How: "straight", Faces: 2}, Scale: trial.Scale{Kind: "cell"}}
}

// folder makes a study of blanks with its run order.
func folder(t *testing.T) *study.Folder {
	t.Helper()
	f, err := study.Create(filepath.Join(t.TempDir(), "blanks"), blanks(), "test")
	require.NoError(t, err)
	require.NoError(t, f.Draw(7))
	return f
}

// whole closes a study and requires that everything in it is sound.
func whole(t *testing.T, f *study.Folder) *study.Folder {
	t.Helper()
	require.NoError(t, f.Close())
	again, err := study.Open(f.Dir())
	require.NoError(t, err)
	require.Empty(t, again.Check())
	return again
}

func clock() time.Time { return time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC) }

// agreeable takes the set-up as good, and confirms what is proposed; what is
// unclear it calls void.
func agreeable(v bench.View) (bench.Command, bool) {
	switch v.Phase {
	case bench.Checks:
		return bench.Command{Verb: bench.Begin}, true
	case bench.Mounting:
		return bench.Command{Verb: bench.Tare}, true
	case bench.Judging:
		if v.Proposal.Outcome == trial.Unclear {
			return bench.Command{Verb: bench.Void, Text: "could not tell"}, true
		}
		return bench.Command{Verb: bench.Accept}, true
	}
	return bench.Command{}, false
}

// simulated reads a device as fast as it is read from. fail is asked before
// each line; nil: it never fails.
type simulated struct {
	d    *simrig.Device
	left []byte
	fail func() error
}

func (l *simulated) Read(p []byte) (int, error) {
	if len(l.left) == 0 {
		if l.fail != nil {
			if err := l.fail(); err != nil {
				return 0, err
			}
		}
		l.left, _ = l.d.Next(l.left[:0])
	}
	n := copy(p, l.left)
	l.left = l.left[n:]
	return n, nil
}

// simulate is a session on a simulated vise that pulls when it may.
func simulate(t *testing.T, f *study.Folder, answer func(bench.View) (bench.Command, bool), fail func() error) (bench.Summary, error) {
	t.Helper()
	shop := practice.Shop(blanks())
	shop.TieFails = 0
	d := simrig.NewDevice(shop, 3)
	return bench.Drive(context.Background(), bench.Config{
		Folder: f, Calibration: practice.Calibration(shop), Now: clock,
		Source: func(context.Context) bench.Source {
			return wire.NewReader(&simulated{d: d, fail: fail}, wire.ReaderOptions{})
		},
		Ready: func(p trial.PlannedPull) {
			require.NoError(t, d.Order(simrig.Order{Facing: p.Facing, Sample: p.Sample, Level: p.Level}))
		}}, answer)
}

// What is in the ledger is what the saved trace says when it is read again.
func TestWholeSession(t *testing.T) {
	f := folder(t)
	sum, err := simulate(t, f, agreeable, nil)
	require.NoError(t, err)
	assert.Equal(t, 4, sum.Saved())
	assert.Zero(t, sum.Left)
	f = whole(t, f)
	rows := f.Current()
	require.Len(t, rows, 4)
	for _, r := range rows {
		file, err := os.Open(f.TracePath(r.Pull))
		require.NoError(t, err)
		trace, err := table.ReadTrace("trace", file)
		require.NoError(t, err)
		require.NoError(t, file.Close())
		got, err := slip.Detect(trace.Trace, slip.Options{})
		require.NoError(t, err)
		require.Equal(t, r.Outcome, got.Outcome)
		assert.InEpsilon(t, got.SlipForce, r.Force, 1e-12)
		assert.InEpsilon(t, got.High, r.High, 1e-12)
		assert.Equal(t, study.ByTool, r.Judged)
		assert.Len(t, trace.Counts, len(trace.Trace.T))
		assert.Contains(t, trace.Meta, table.Meta{Key: "facing", Value: r.Facing})
		assert.Contains(t, trace.Meta, table.Meta{Key: "set-up looked at", Value: "2026-05-04T10:00:00Z"})
		assert.Contains(t, trace.Meta, table.Meta{Key: "device", Value: "simulated cell"})
		rest := trace.Trace.T[0] + 0.9
		for i, at := range trace.Trace.T {
			if at < rest {
				assert.InDelta(t, 0, trace.Trace.Force[i], 0.3, "the record begins at rest, above the tare")
			}
		}
	}
}

// The person has the last word, and says so in the ledger.
func TestOverrule(t *testing.T) {
	answers := []bench.Command{
		{Verb: bench.Held, Text: "never moved"},
		{Verb: bench.Slipped, Force: 42.5, Digits: "42.50"},
		{Verb: bench.Void, Text: "tie let go"},
		{Verb: bench.Accept, Text: "crept first"},
		{Verb: bench.Slipped},
	}
	var proposed []bench.Proposal
	f := folder(t)
	sum, err := simulate(t, f, func(v bench.View) (bench.Command, bool) {
		if v.Phase != bench.Judging {
			return agreeable(v)
		}
		proposed = append(proposed, *v.Proposal)
		return answers[len(proposed)-1], true
	}, nil)
	require.NoError(t, err)
	assert.Equal(t, bench.Summary{Slipped: 3, Held: 1, Void: 1}, sum)
	rows := whole(t, f).Current()
	require.Len(t, rows, 5)
	for i, want := range []trial.Outcome{trial.Held, trial.Slipped, trial.Void, trial.Slipped, trial.Slipped} {
		assert.Equal(t, want, rows[i].Outcome)
		assert.Equal(t, answers[i].Text, rows[i].Note)
	}
	assert.InEpsilon(t, proposed[0].Result.PeakForce, rows[0].Force, 1e-12, "a held pull is bound by its peak")
	assert.Zero(t, rows[0].High, "and has no interval")
	assert.InDelta(t, 42.5, rows[1].Force, 1e-12)
	assert.Zero(t, rows[1].High, "the tool's interval is not that of a person's number")
	assert.Equal(t, rows[2].Order, rows[3].Order, "a void pull is asked for again")
	assert.Equal(t, study.ByTool, rows[3].Judged)
	assert.Equal(t, study.ByPerson, rows[4].Judged)
	assert.InEpsilon(t, proposed[4].Result.SlipForce, rows[4].Force, 1e-12, "slipped where the tool saw it")
}

func TestUndoAndSkip(t *testing.T) {
	f := folder(t)
	step := 0
	var notices []string
	sum, err := simulate(t, f, func(v bench.View) (bench.Command, bool) {
		if v.Phase == bench.Mounting && v.Last != nil {
			step++
			switch step {
			case 1:
				return bench.Command{Verb: bench.Undo, Text: "wrong strip"}, true
			case 2:
				assert.True(t, v.Last.Undone)
				assert.Equal(t, 1, v.Next.Order, "it is the next one again")
				return bench.Command{Verb: bench.Skip}, true // no reason: not taken
			case 3:
				assert.Equal(t, 1, v.Next.Order)
				return bench.Command{Verb: bench.Skip, Text: "strip tore"}, true
			case 4:
				return bench.Command{Verb: bench.Quit}, true
			}
		}
		notices = append(notices, texts(v.Notices)...)
		return agreeable(v)
	}, nil)
	require.NoError(t, err)
	assert.Equal(t, bench.Summary{Left: 3}, sum)
	f = whole(t, f)
	next, ok := f.Next()
	require.True(t, ok)
	assert.Equal(t, 2, next.Order)
	assert.Len(t, f.History(), 3, "the pull, its withdrawal, the skipped one")
}

// The cable comes out in mid-pull: what came is kept as a void pull, the error
// says so, and the next session goes on with the same pull.
func TestCableOutAndResume(t *testing.T) {
	f := folder(t)
	pulling := 0
	gone := errors.New("unplugged")
	sum, err := simulate(t, f, func(v bench.View) (bench.Command, bool) {
		if v.Phase == bench.Pulling && v.Done == 1 {
			pulling++
		}
		return agreeable(v)
	}, func() error {
		if pulling > 100 {
			return gone
		}
		return nil
	})
	require.ErrorIs(t, err, bench.ErrSource)
	require.ErrorIs(t, err, gone)
	assert.Equal(t, bench.Summary{Slipped: 1, Void: 1, Left: 3}, sum)
	f = whole(t, f)
	void := f.Current()[1]
	assert.Equal(t, trial.Void, void.Outcome)
	assert.Equal(t, "incomplete: the load cell is gone: unplugged", void.Note)
	text, err := os.ReadFile(f.TracePath(void.Pull))
	require.NoError(t, err)
	assert.Greater(t, strings.Count(string(text), "\n"), 100+80, "all that came is there")

	f, err = study.OpenForWriting(f.Dir(), "test")
	require.NoError(t, err)
	assert.Empty(t, f.Recovered())
	first := true
	sum, err = simulate(t, f, func(v bench.View) (bench.Command, bool) {
		if first {
			first = false
			assert.Equal(t, void.Order.N, v.Next.Order)
		}
		return agreeable(v)
	}, nil)
	require.NoError(t, err)
	assert.Equal(t, bench.Summary{Slipped: 3}, sum)
	whole(t, f)
}

// Cable out while a person judges: the pull is recorded, and is judged.
func TestCableOutWhileJudging(t *testing.T) {
	f := folder(t)
	out, asked := false, 0
	sum, err := simulate(t, f, func(v bench.View) (bench.Command, bool) {
		if v.Phase == bench.Judging {
			out = true
			asked++
			if asked < 3 {
				return bench.Command{}, false
			}
		}
		return agreeable(v)
	}, func() error {
		if out {
			return errors.New("unplugged")
		}
		return nil
	})
	require.ErrorIs(t, err, bench.ErrSource)
	assert.Equal(t, bench.Summary{Slipped: 1, Left: 3}, sum)
	whole(t, f)
}

func TestLimits(t *testing.T) {
	shop := practice.Shop(blanks())
	for name, limit := range map[string]func(*bench.Config){
		"pulls": func(c *bench.Config) { c.Pulls = 2 },
		"time": func(c *bench.Config) { // half an hour a pull
			c.Until = clock().Add(time.Hour)
			c.Now = func() time.Time { return clock().Add(time.Duration(len(c.Folder.Current())) * 30 * time.Minute) }
		},
	} {
		t.Run(name, func(t *testing.T) {
			f := folder(t)
			d := simrig.NewDevice(shop, 3)
			c := bench.Config{Folder: f, Calibration: practice.Calibration(shop), Now: clock,
				Source: func(context.Context) bench.Source {
					return wire.NewReader(&simulated{d: d}, wire.ReaderOptions{})
				},
				Ready: func(p trial.PlannedPull) {
					require.NoError(t, d.Order(simrig.Order{Facing: p.Facing, Sample: p.Sample, Level: p.Level}))
				}}
			limit(&c)
			sum, err := bench.Drive(context.Background(), c, agreeable)
			require.NoError(t, err)
			assert.Equal(t, 2, sum.Left)
			whole(t, f)
		})
	}
}

func TestNoPlan(t *testing.T) {
	f, err := study.Create(filepath.Join(t.TempDir(), "blanks"), blanks(), "test")
	require.NoError(t, err)
	defer f.Close()
	_, err = simulate(t, f, agreeable, nil)
	require.ErrorIs(t, err, bench.ErrNoPlan)
}
