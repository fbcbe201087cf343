package study_test

import (
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/study"
	"griptrial/analysis/trial"
)

// sound lists what Check finds, notes left out.
func sound(t *testing.T, dir string) (problems, notes []string) {
	t.Helper()
	f, err := study.Open(dir)
	require.NoError(t, err)
	for _, p := range f.Check() {
		if p.Note {
			notes = append(notes, p.Error())
		} else {
			problems = append(problems, p.Error())
		}
	}
	return problems, notes
}

// benchStudy is a study with two checks, a weight and one pull whose mark was moved.
func benchStudy(t *testing.T) (dir string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "blanks")
	f, err := study.Create(dir, trial.Study{Format: 1, Name: "blanks", Unit: "kgf", Facings: []trial.Facing{{Name: "ground steel", Control: true}, {Name: "P240"}},
		Levels: []trial.Level{{Name: "usual", Weight: 3, Usual: true}}, Plan: trial.Plan{Blocks: 1, Repeats: 1},
		Pull: trial.PullSetup{How: "straight", Faces: 2}, Scale: trial.Scale{Kind: "cell"}}, "test")
	require.NoError(t, err)
	require.NoError(t, f.Draw(7))
	at := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	facts, err := f.Facts()
	require.NoError(t, err)
	require.Empty(t, facts, "a study without the file")
	require.NoError(t, f.Note(study.Fact{Time: at, What: study.Looked, Text: "stop drawn back, and \"far\""}, study.Fact{Time: at, What: study.Looked, Text: "scale zeroed"}))
	require.NoError(t, f.Note(study.Fact{Time: at, What: study.Weighed, Text: "2 kg hung, 19.6 N read"}))
	j, err := f.Begin()
	require.NoError(t, err)
	_, err = io.WriteString(j, "t [s],force [N]\n0,0\n1,10\n")
	require.NoError(t, err)
	_, err = j.Save(study.Entry{Order: 1, Outcome: trial.Slipped, Force: 11.5, Time: at,
		Moved: &study.Move{Tool: study.Mark{T: math.NaN(), Force: math.NaN()}, Person: study.Mark{T: 1.25, Force: 11.5}}})
	require.NoError(t, err)
	require.NoError(t, f.Close())
	return dir
}

func TestBenchFacts(t *testing.T) {
	dir := benchStudy(t)
	problems, notes := sound(t, dir)
	assert.Empty(t, problems)
	assert.Empty(t, notes)
	f, err := study.Open(dir)
	require.NoError(t, err)
	facts, err := f.Facts()
	require.NoError(t, err)
	require.Len(t, facts, 4)
	assert.Equal(t, "stop drawn back, and \"far\"", facts[0].Text)
	assert.Equal(t, study.Weighed, facts[2].What)
	assert.Equal(t, 4, facts[3].Row)
	assert.Equal(t, 1, facts[3].Pull)
	assert.Equal(t, study.Mark{T: 1.25, Force: 11.5}, facts[3].Person)
	assert.True(t, math.IsNaN(facts[3].Tool.Force), "the tool had none")
	require.Error(t, f.Note(study.Fact{}), "a study opened for reading is not written")
}

// What a person or a fault did to bench.csv is found by name.
func TestBenchFactsChecked(t *testing.T) {
	for name, c := range map[string]struct {
		edit          func(string) string
		problem, note string
	}{
		"changed":      {func(s string) string { return strings.Replace(s, "scale zeroed", "scale seroed", 1) }, "bench.csv:4: check: the row is not as it was written", ""},
		"by hand":      {func(s string) string { return s + "5,2026-05-04T10:00:00Z,check,,tether on,,,,,\n" }, "", "bench.csv:7: check: the row carries no checksum"},
		"cut off":      {func(s string) string { return s + "5,2026-05-04T10:0" }, "", "bench.csv: the last row was cut off"},
		"out of order": {func(s string) string { return s + "2,2026-05-04T10:00:00Z,check,,tether on,,,,,\n" }, "bench.csv:7: row: row 2 follows row 4", ""},
		"no pull":      {func(s string) string { return s + "5,2026-05-04T10:00:00Z,mark,9,,,,1,2,\n" }, "", "a mark of pull 9, whose saving was cut off"},
		"no mark":      {func(s string) string { return s + "5,2026-05-04T10:00:00Z,mark,1,,,,,,\n" }, "a mark without where the person put it", ""},
		"other force":  {func(s string) string { return s + "5,2026-05-04T10:00:00Z,mark,1,,,,1,12,\n" }, "person force: the ledger has 11.5 N for pull 1", ""},
		"newer":        {func(s string) string { return s + "5,2026-05-04T10:00:00Z,song,,la,,,,,\n" }, "", `"song" is not known to this griptrial`},
		"header":       {func(s string) string { return strings.Replace(s, "what", "that", 2) }, "bench.csv:2: header: not the header", ""},
		"time":         {func(s string) string { return s + "5,noon,check,,tether on,,,,,\n" }, `"noon" is not a time`, ""},
		"cells":        {func(s string) string { return s + "5,noon\n" }, "2 cells where the header names 10", ""},
	} {
		t.Run(name, func(t *testing.T) {
			dir := benchStudy(t)
			path := filepath.Join(dir, study.BenchFile)
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(path, []byte(c.edit(string(text))), 0o666))
			problems, notes := sound(t, dir)
			assert.Equal(t, c.problem != "", strings.Contains(strings.Join(problems, "\n"), c.problem) && len(problems) > 0, problems)
			assert.Contains(t, strings.Join(notes, "\n"), c.note)
		})
	}
}

// A row that was cut off is set aside, and the next one stands where it began.
func TestBenchFactAfterACut(t *testing.T) {
	dir := benchStudy(t)
	path := filepath.Join(dir, study.BenchFile)
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, append(whole, "5,2026-0"...), 0o666))
	f, err := study.OpenForWriting(dir, "test")
	require.NoError(t, err)
	require.NoError(t, f.Note(study.Fact{Time: time.Date(2026, 5, 4, 11, 0, 0, 0, time.UTC), What: study.Peeked}))
	require.NoError(t, f.Close())
	problems, notes := sound(t, dir)
	assert.Empty(t, problems)
	assert.Contains(t, strings.Join(notes, "\n"), "bench.torn-1.txt")
	torn, err := os.ReadFile(filepath.Join(dir, "bench.torn-1.txt"))
	require.NoError(t, err)
	assert.Equal(t, "5,2026-0", string(torn))
	facts, err := f.Facts()
	require.NoError(t, err)
	require.Len(t, facts, 5)
	assert.Equal(t, 5, facts[4].Row)
}

// Wherever the writer was stopped, the next fact is written and read back, and
// those that were whole stand.
func TestBenchFactAfterAnyCut(t *testing.T) {
	dir := benchStudy(t)
	path := filepath.Join(dir, study.BenchFile)
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	f, err := study.OpenForWriting(dir, "test")
	require.NoError(t, err)
	defer f.Close()
	for cut := 0; cut <= len(whole); cut += 13 {
		require.NoError(t, os.WriteFile(path, whole[:cut], 0o666))
		before, err := f.Facts()
		require.NoError(t, err)
		require.NoError(t, f.Note(study.Fact{Time: time.Date(2026, 5, 4, 11, 0, 0, 0, time.UTC), What: study.Peeked}))
		after, err := f.Facts()
		require.NoError(t, err)
		require.Len(t, after, len(before)+1, "cut at %d", cut)
		require.Equal(t, study.Peeked, after[len(before)].What)
		problems, _ := sound(t, dir)
		require.Empty(t, problems, "cut at %d", cut)
	}
}

// A file of another layout is not touched.
func TestBenchFactInAForeignFile(t *testing.T) {
	dir := benchStudy(t)
	path := filepath.Join(dir, study.BenchFile)
	foreign := "row,what\n1,mine\n2,yours\n"
	require.NoError(t, os.WriteFile(path, []byte(foreign), 0o666))
	f, err := study.OpenForWriting(dir, "test")
	require.NoError(t, err)
	require.ErrorContains(t, f.Note(study.Fact{What: study.Peeked}), "bench.csv:1: header: not the header")
	require.NoError(t, f.Close())
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, foreign, string(text))
}
