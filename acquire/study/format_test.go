package study

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

// A study of each released layout is kept in testdata/studies and must be
// readable for ever: these files are never made anew.
const oldStudy = "../../testdata/studies/format-1"

func TestLayout1IsReadForEver(t *testing.T) {
	before := snapshot(t, oldStudy)
	f, err := Open(oldStudy)
	require.NoError(t, err)
	whole(t, f)

	s := f.Setup()
	assert.Equal(t, "blanks", s.Name)
	assert.Equal(t, "kgf", s.Unit)
	assert.Equal(t, uint64(240), s.Plan.Seed)
	assert.Equal(t, []trial.Level{{Name: "2 kg", Weight: 2}, {Name: "5 kg", Weight: 5, Usual: true}}, s.Levels)
	assert.InDelta(t, 0.15, s.Handle.Arm, 1e-15)
	assert.Len(t, f.Plan(), 8)
	assert.Zero(t, f.Left())
	assert.Len(t, f.History(), 12)

	got, err := f.Readings()
	require.NoError(t, err)
	require.Len(t, got, 9)
	assert.InDelta(t, 26*kgf, got[0].Force, 1e-12)
	assert.Equal(t, trial.Reading{Pull: 1, Facing: "bonded P240 cloth", Sample: "1", Level: "5 kg", Block: "1", Force: got[0].Force, Outcome: trial.Slipped,
		Division: 0.5 * kgf, Weight: 5, Order: trial.Count{N: 1, Known: true}, Clampings: trial.Count{N: 0, Known: true}}, got[0])
	assert.Equal(t, trial.Void, got[1].Outcome)
	assert.Equal(t, "tie let go", got[1].Note)
	assert.Equal(t, 5, got[3].Pull, "pull 4 was undone")
	assert.Equal(t, trial.Held, got[4].Outcome)
	corrected := got[6]
	assert.Equal(t, 8, corrected.Pull)
	assert.InDelta(t, 4*kgf-2.37, corrected.Force, 1e-9)
	assert.InDelta(t, corrected.Force-0.4, corrected.Low, 1e-9)
	assert.Equal(t, filepath.Join(oldStudy, "traces", "0008.csv"), f.TracePath(8))
	assert.Equal(t, before, snapshot(t, oldStudy), "reading changes nothing")
}

// And it can be gone on with.
func TestLayout1IsWrittenOn(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS(oldStudy)))
	f, err := OpenForWriting(dir, "test")
	require.NoError(t, err)
	defer f.Close()
	_, err = f.Undo("", noon)
	require.NoError(t, err)
	p, ok := f.Next()
	require.True(t, ok)
	_, err = f.AppendWithTrace(slipped(p.Order, "4.5", 4.5), trace(shortTrace))
	require.NoError(t, err)
	whole(t, f)
	require.NoError(t, filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		assert.False(t, strings.HasSuffix(path, ".tmp"), path)
		return err
	}))
}

// A study pulled at the bench with a load cell: what was looked at, a known
// weight, an overload, a mark that a person moved.
const oldBench = "../../testdata/studies/format-1-bench"

func TestLayout1OfTheBenchIsReadForEver(t *testing.T) {
	before := snapshot(t, oldBench)
	f, err := Open(oldBench)
	require.NoError(t, err)
	whole(t, f)
	assert.Len(t, f.History(), 3)
	assert.Equal(t, 1, f.Left())
	got, err := f.Readings()
	require.NoError(t, err)
	assert.InDelta(t, 101.014, got[1].Force, 1e-12)
	assert.Equal(t, trial.Held, got[1].Outcome)
	assert.Equal(t, filepath.Join(oldBench, "calibrations", "tape.csv"), f.CalibrationPath())

	facts, err := f.Facts()
	require.NoError(t, err)
	require.Len(t, facts, 10)
	assert.Equal(t, Looked, facts[0].What)
	assert.Equal(t, "stop drawn back from the part", facts[0].Text)
	assert.Equal(t, Weighed, facts[6].What)
	assert.Equal(t, "20 N hung: 20.0519 N read, 20 N expected (+0.26 %), span 1000 counts/N", facts[6].Text)
	assert.Equal(t, Overloaded, facts[7].What)
	assert.Equal(t, 2, facts[7].Pull)
	assert.Equal(t, Peeked, facts[8].What)
	assert.Equal(t, Moved, facts[9].What)
	assert.InDelta(t, 24.26, facts[9].Person.T, 1e-12)
	assert.InDelta(t, 59.7755153500733, facts[9].Tool.Force, 1e-12)
	assert.Equal(t, before, snapshot(t, oldBench), "reading changes nothing")
}
