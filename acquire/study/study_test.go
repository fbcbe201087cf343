package study

import (
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

const kgf = 9.80665

var noon = time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)

// blanks is the shop's study: two facings, two samples of each, two levels.
func blanks() trial.Study {
	return trial.Study{
		Name: "blanks", Question: "will it hold?", Unit: "kgf",
		Facings: []trial.Facing{
			{Name: "ground steel", Control: true, Samples: []string{"1", "2"}},
			{Name: "bonded P240 cloth", Samples: []string{"1", "2"}},
		},
		Levels: []trial.Level{{Name: "2 kg", Weight: 2}, {Name: "5 kg", Weight: 5, Usual: true}},
		Plan:   trial.Plan{Blocks: 1, Repeats: 2},
		Scale:  trial.Scale{Kind: "hand", Division: 0.5 * kgf, Capacity: 50 * kgf},
		Pull:   trial.PullSetup{How: "straight", Faces: 2},
	}
}

// newStudy makes a planned study in a new folder.
func newStudy(t *testing.T) *Folder {
	t.Helper()
	f, err := Create(filepath.Join(t.TempDir(), "blanks"), blanks(), "test")
	require.NoError(t, err)
	t.Cleanup(func() { _ = f.Close() })
	require.NoError(t, f.Draw(7))
	return f
}

func slipped(order int, force string, n float64) Entry {
	return Entry{Order: order, Outcome: trial.Slipped, Force: n * kgf, Digits: force, Typed: force, Time: noon}
}

// whole asserts that Check finds nothing but notes.
func whole(t *testing.T, f *Folder) {
	t.Helper()
	for _, p := range f.Check() {
		assert.True(t, p.Note, p.Error())
	}
}

func TestSavedPullsAreReadBack(t *testing.T) {
	f := newStudy(t)
	assert.Equal(t, 8, f.Left())
	p, ok := f.Next()
	require.True(t, ok)
	assert.Equal(t, 1, p.Order)

	n, err := f.Append(slipped(1, "10.50", 10.5))
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	_, err = f.Append(Entry{Order: 2, Outcome: trial.Held, Force: 35 * kgf, Digits: "35", Typed: "35+", Note: `said "hm", twice`, Time: noon})
	require.NoError(t, err)
	_, err = f.Append(Entry{Order: 3, Outcome: trial.Void, Typed: "x tie let go", Note: "tie let go", Time: noon})
	require.NoError(t, err)
	p, _ = f.Next()
	assert.Equal(t, 3, p.Order, "a void pull is to be tried again")
	n, err = f.AppendWithTrace(slipped(3, "", 12.25), func(w io.Writer) error {
		_, err := io.WriteString(w, "t [s],force [N]\n0,0\n1,120\n")
		return err
	})
	require.NoError(t, err)
	assert.Equal(t, 4, n)
	require.NoError(t, f.Close())

	g, err := Open(f.Dir())
	require.NoError(t, err)
	whole(t, g)
	got, err := g.Readings()
	require.NoError(t, err)
	require.Len(t, got, 4)
	assert.Equal(t, trial.Reading{Pull: 1, Facing: g.Plan()[0].Facing, Sample: g.Plan()[0].Sample, Level: g.Plan()[0].Level, Block: "1",
		Force: 10.5 * kgf, Outcome: trial.Slipped, Division: 0.5 * kgf, Weight: got[0].Weight,
		Order: trial.Count{N: 1, Known: true}, Clampings: trial.Count{N: 0, Known: true}}, got[0])
	assert.Equal(t, trial.Held, got[1].Outcome)
	assert.Equal(t, `said "hm", twice`, got[1].Note)
	assert.Equal(t, trial.Void, got[2].Outcome)
	assert.InDelta(t, 12.25*kgf, got[3].Force, 1e-12)
	assert.Equal(t, "10.50", cell(t, f, 1, "force [kgf]"), "the force stands as it was typed")
	assert.Equal(t, filepath.Join(f.Dir(), "traces", "0004.csv"), g.TracePath(4))
	info, err := os.Stat(g.TracePath(4))
	require.NoError(t, err)
	assert.Zero(t, info.Mode().Perm()&0o222, "a trace is marked read-only")
}

// cell reads one cell of the ledger as it stands in the file.
func cell(t *testing.T, f *Folder, row int, column string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(f.Dir(), LedgerFile))
	require.NoError(t, err)
	lines := splitLines(b)
	head, err := splitRow([]byte(lines[1]))
	require.NoError(t, err)
	cells, err := splitRow([]byte(lines[1+row]))
	require.NoError(t, err)
	for i, h := range head {
		if h == column {
			return cells[i]
		}
	}
	t.Fatalf("no column %s in %v", column, head)
	return ""
}

func TestUndoWithdrawsAndTheLedgerOnlyGrows(t *testing.T) {
	f := newStudy(t)
	_, err := f.Append(slipped(1, "10", 10))
	require.NoError(t, err)
	_, err = f.Append(slipped(2, "100", 100))
	require.NoError(t, err)
	before, err := os.ReadFile(f.path(LedgerFile))
	require.NoError(t, err)

	old, err := f.Undo("typed 100 for 10", noon)
	require.NoError(t, err)
	assert.Equal(t, 2, old.Pull)
	p, _ := f.Next()
	assert.Equal(t, 2, p.Order)
	n, err := f.Append(slipped(2, "10", 10))
	require.NoError(t, err)
	assert.Equal(t, 3, n)

	after, err := os.ReadFile(f.path(LedgerFile))
	require.NoError(t, err)
	assert.Equal(t, string(before), string(after[:len(before)]))
	got, err := f.Readings()
	require.NoError(t, err)
	require.Len(t, got, 2, "what was undone is not a void pull")
	assert.Equal(t, 3, got[1].Pull)
	assert.Len(t, f.History(), 4)
	require.NoError(t, f.Close())
	g, err := Open(f.Dir())
	require.NoError(t, err)
	whole(t, g)
	again, err := g.Readings()
	require.NoError(t, err)
	assert.Equal(t, got, again)

	_, err = g.Undo("", noon)
	assert.ErrorContains(t, err, "opened for reading")
}

func TestUndoOfNothing(t *testing.T) {
	_, err := newStudy(t).Undo("", noon)
	assert.ErrorContains(t, err, "no pull to undo")
}

func TestCorrectionSupersedes(t *testing.T) {
	f := newStudy(t)
	n, err := f.AppendWithTrace(slipped(1, "", 10), func(w io.Writer) error { _, err := io.WriteString(w, "t [s],force [N]\n0,1\n"); return err })
	require.NoError(t, err)
	require.NoError(t, f.Correct(n, Entry{Outcome: trial.Void, Note: "the tie let go", Time: noon}, "seen by the second person"))
	got, err := f.Readings()
	require.NoError(t, err)
	require.Len(t, got, 1)
	assert.Equal(t, trial.Void, got[0].Outcome)
	assert.NotEmpty(t, f.TracePath(n), "the trace stays with the pull")
	whole(t, f)
	assert.ErrorContains(t, f.Correct(9, Entry{}, ""), "no pull 9")
}

func TestEntriesThatCannotBeTrue(t *testing.T) {
	f := newStudy(t)
	for want, e := range map[string]Entry{
		"somebody must judge":                {Order: 1, Force: 3},
		"did you mean \"bonded P240 cloth\"": {Facing: "bonded P24 cloth", Outcome: trial.Slipped, Force: 3},
		"\"3\" is not a sample":              {Facing: "ground steel", Sample: "3", Outcome: trial.Slipped, Force: 3},
		"is not a clamp level":               {Facing: "ground steel", Level: "9 kg", Outcome: trial.Slipped, Force: 3},
		"zero says nothing":                  {Order: 1, Outcome: trial.Held},
		"needs a reason":                     {Order: 1, Outcome: trial.Void},
		"no pull of order 99":                {Order: 99, Outcome: trial.Slipped, Force: 3},
		"only a void pull can be skipped":    {Order: 1, Outcome: trial.Slipped, Force: 3, Skip: true},
	} {
		_, err := f.Append(e)
		assert.ErrorContains(t, err, want)
	}
	assert.Empty(t, f.History())
}

func TestSkippedPullIsNotAskedAgain(t *testing.T) {
	f := newStudy(t)
	_, err := f.Append(Entry{Order: 1, Outcome: trial.Void, Skip: true, Note: "the strip tore", Time: noon})
	require.NoError(t, err)
	p, _ := f.Next()
	assert.Equal(t, 2, p.Order)
}

func TestSecondWriterIsToldWhoHoldsTheStudy(t *testing.T) {
	f := newStudy(t)
	_, err := OpenForWriting(f.Dir(), "second")
	assert.ErrorIs(t, err, ErrBusy)
	assert.ErrorContains(t, err, "test, process")
	_, err = Open(f.Dir())
	assert.NoError(t, err, "reading needs no lock")
	require.NoError(t, f.Close())
	g, err := OpenForWriting(f.Dir(), "second")
	require.NoError(t, err)
	require.NoError(t, g.Close())
}

func TestPlanIsNotDrawnAgainOncePulled(t *testing.T) {
	f := newStudy(t)
	first := f.Plan()
	require.NoError(t, f.Draw(8))
	assert.NotEqual(t, first, f.Plan())
	assert.Equal(t, uint64(8), f.Setup().Plan.Seed)
	_, err := f.Append(slipped(1, "10", 10))
	require.NoError(t, err)
	assert.ErrorIs(t, f.Draw(9), ErrPulled)
}

func TestCreateNeverOverwrites(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "mine.txt"), []byte("x"), 0o666))
	_, err := Create(dir, blanks(), "test")
	assert.ErrorContains(t, err, "mine.txt")
	f := newStudy(t)
	_, err = Create(f.Dir(), blanks(), "test")
	assert.ErrorContains(t, err, "not empty")
}

func splitLines(b []byte) []string { return strings.Split(string(b), "\n") }

// A rig that is described in part is told of, as a note, key by key.
func TestCheckTellsWhatTheRigLacks(t *testing.T) {
	const mu = "missing: without it mu is not computed"
	for _, c := range []struct {
		name string
		rig  func(*trial.Study)
		want []string // keys
	}{
		{"nothing described", func(*trial.Study) {}, nil},
		{"handle alone", func(s *trial.Study) { s.Handle.Arm = 0.15 }, []string{"screw.pitch_diameter", "screw.lead", "screw.thread_friction"}},
		{"no pitch diameter", func(s *trial.Study) {
			s.Handle.Arm = 0.15
			s.Screw = trial.Screw{Lead: 0.004, ThreadLow: 0.1, ThreadHigh: 0.2}
		}, []string{"screw.pitch_diameter"}},
		{"screw alone", func(s *trial.Study) {
			s.Screw = trial.Screw{PitchDiameter: 0.018, Lead: 0.004, ThreadLow: 0.1, ThreadHigh: 0.2}
		}, []string{"handle.arm"}},
		{"all of it", func(s *trial.Study) {
			s.Handle.Arm = 0.15
			s.Screw = trial.Screw{PitchDiameter: 0.018, Lead: 0.004, ThreadLow: 0.1, ThreadHigh: 0.2}
		}, nil},
		{"clamp force measured", func(s *trial.Study) {
			s.Handle.Arm = 0.15
			s.Levels = []trial.Level{{Name: "800 N", Clamp: 800}}
		}, nil},
	} {
		s := blanks()
		c.rig(&s)
		f, err := Create(filepath.Join(t.TempDir(), "blanks"), s, "test")
		require.NoError(t, err, c.name)
		var keys []string
		for _, p := range f.Check() {
			assert.True(t, p.Note, c.name)
			assert.Positive(t, p.Line, c.name)
			assert.Contains(t, p.Error(), mu, c.name)
			keys = append(keys, p.Column)
		}
		assert.Equal(t, c.want, keys, c.name)
		require.NoError(t, f.Close())
	}
	s := blanks()
	s.Handle.Mass = 0.2
	f, err := Create(filepath.Join(t.TempDir(), "blanks"), s, "test")
	require.NoError(t, err)
	defer f.Close()
	require.NotEmpty(t, f.Check())
	assert.Contains(t, f.Check()[0].Error(), "handle.mass_arm: missing: without it the handle's own weight is left out")
}
