package study

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

// edit changes a file of a study the way a person or a fault would.
func edit(t *testing.T, path string, change func(string) string) {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.Chmod(path, 0o666))
	require.NoError(t, os.WriteFile(path, []byte(change(string(b))), 0o666))
}

// three is a study with three pulls, the first with a trace, closed.
func three(t *testing.T) (dir string) {
	t.Helper()
	f := newStudy(t)
	_, err := f.AppendWithTrace(slipped(1, "10", 10), trace(shortTrace))
	require.NoError(t, err)
	for order := 2; order <= 3; order++ {
		_, err = f.Append(slipped(order, "11", 11))
		require.NoError(t, err)
	}
	require.NoError(t, f.Close())
	return f.Dir()
}

// What is done to a folder, and what Check says of it. Only where `note` is set
// is the study still whole.
func TestCheckFindsWhatWasDone(t *testing.T) {
	in := func(file string, change func(string) string) func(t *testing.T, dir string) {
		return func(t *testing.T, dir string) { edit(t, filepath.Join(dir, file), change) }
	}
	swap := func(from, to string) func(string) string {
		return func(s string) string { return strings.Replace(s, from, to, 1) }
	}
	line := func(n int, change func(string) string) func(string) string {
		return func(s string) string {
			lines := strings.Split(s, "\n")
			lines[n-1] = change(lines[n-1])
			return strings.Join(lines, "\n")
		}
	}
	for name, c := range map[string]struct {
		do   func(t *testing.T, dir string)
		want string
		note bool
	}{
		"a digit changed": {in(LedgerFile, line(4, swap(",11,slipped", ",17,slipped"))), "pulls.csv:4: check: the row is not as it was saved", false},
		"changed and said so": {in(LedgerFile, line(4, func(s string) string {
			s = strings.Replace(s, ",11,slipped", ",17,slipped", 1)
			return s[:strings.LastIndex(s, ",")+1]
		})), "pulls.csv:4: check: the row carries no checksum", true},
		"a row removed": {in(LedgerFile, func(s string) string {
			lines := strings.Split(s, "\n")
			return strings.Join(append(lines[:3], lines[4:]...), "\n")
		}), "pulls.csv:4: row: row 3 follows row 1", false},
		"a cell too many": {in(LedgerFile, line(4, func(s string) string { return s + ",1" })), "pulls.csv:4: 25 cells where the header names 24", false},
		"a stray quote":   {in(LedgerFile, line(4, func(s string) string { return `a"` + s })), "pulls.csv:4: not a row of comma-separated cells", false},
		"cut in a row":    {in(LedgerFile, func(s string) string { return s[:len(s)-20] }), "pulls.csv:5: the last row was cut off", false},
		"zeros after a power cut": {in(LedgerFile, func(s string) string { return s[:len(s)-20] + strings.Repeat("\x00", 20) }),
			"pulls.csv:5: the last row was cut off", false},
		"emptied":         {in(LedgerFile, func(string) string { return "" }), "pulls.csv:1: no header row", false},
		"no ledger":       {func(t *testing.T, dir string) { require.NoError(t, os.Remove(filepath.Join(dir, LedgerFile))) }, "pulls.csv: the ledger is missing", false},
		"a trace changed": {in("traces/0001.csv", swap("60", "61")), "0001.csv: the trace of pull 1 is not as it was saved", false},
		"a trace gone": {func(t *testing.T, dir string) {
			require.NoError(t, os.Remove(filepath.Join(dir, "traces", "0001.csv")))
		}, "0001.csv: the trace of pull 1 cannot be read", false},
		"a trace writable": {in("traces/0001.csv", func(s string) string { return s }), "no longer marked read-only", true},
		"a stray trace": {func(t *testing.T, dir string) {
			require.NoError(t, os.WriteFile(filepath.Join(dir, "traces", "0009.csv"), nil, 0o666))
		}, "0009.csv: a trace without a row", true},
		"a torn row kept": {func(t *testing.T, dir string) {
			require.NoError(t, os.WriteFile(filepath.Join(dir, "pulls.torn-1.txt"), nil, 0o666))
		}, "pulls.torn-1.txt: a ledger row that was cut off", true},
		"a write interrupted": {func(t *testing.T, dir string) {
			require.NoError(t, os.WriteFile(filepath.Join(dir, "plan.csv.tmp"), nil, 0o666))
		}, "plan.csv.tmp: a file that was never finished", true},
		"a pull twice": {in(LedgerFile, func(s string) string {
			row := "4,3,1,3,ground steel,1,5 kg,0,9,slipped,,,,,5,,,person,,,,,,"
			return s + row + seal([]byte(row)) + "\n"
		}), "pulls.csv:6: pull: pull 3 stands in row 3 already", false},
		"a facing renamed":  {in(SetupFile, swap(`name = "bonded P240 cloth"`, `name = "cork"`)), "is not a facing of study.toml", false},
		"levels added":      {in(SetupFile, swap("[plan]", "[[level]]\nweight = \"8 kg\"\n[plan]")), "plan.csv: the seed and study.toml no longer give this order", true},
		"calibration named": {in(SetupFile, swap("[scale]", "[scale]\ncalibration = \"cell.csv\"")), "cell.csv: the calibration that study.toml names is not there", false},
	} {
		t.Run(name, func(t *testing.T) {
			dir := three(t)
			c.do(t, dir)
			f, err := Open(dir)
			if err != nil {
				assert.ErrorContains(t, err, c.want)
				assert.False(t, c.note)
				return
			}
			found, wholly := false, true
			for _, p := range f.Check() {
				found = found || strings.Contains(p.Error(), c.want)
				wholly = wholly && p.Note
			}
			assert.True(t, found, "%v", notes(f))
			assert.Equal(t, c.note, wholly, "%v", notes(f))
		})
	}
}

// A row that cannot be read is never left out in silence.
func TestReadingsRefuseAHarmedLedger(t *testing.T) {
	dir := three(t)
	edit(t, filepath.Join(dir, LedgerFile), func(s string) string { return strings.Replace(s, ",11,slipped", ",17,slipped", 1) })
	f, err := Open(dir)
	require.NoError(t, err)
	_, err = f.Readings()
	assert.ErrorContains(t, err, "pulls.csv:4: check")
	_, err = OpenForWriting(dir, "test")
	assert.ErrorContains(t, err, "pulls.csv:4: check")
}

// A spreadsheet may drop the last line end, or write CRLF.
func TestLineEnds(t *testing.T) {
	dir := three(t)
	edit(t, filepath.Join(dir, LedgerFile), func(s string) string { return strings.TrimSuffix(s, "\n") })
	f, err := OpenForWriting(dir, "test")
	require.NoError(t, err)
	_, err = f.Append(slipped(4, "12", 12))
	require.NoError(t, err)
	whole(t, f)
	require.NoError(t, f.Close())
	edit(t, filepath.Join(dir, LedgerFile), func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") })
	f, err = Open(dir)
	require.NoError(t, err)
	whole(t, f)
	got, err := f.Readings()
	require.NoError(t, err)
	assert.Len(t, got, 4)
}

// Columns of a later version, before the checksum, are kept and left empty.
func TestUnknownColumnsAreKept(t *testing.T) {
	f := newStudy(t)
	require.NoError(t, f.Close())
	edit(t, f.path(LedgerFile), func(s string) string {
		return strings.Replace(s, ",reason,check\n", ",reason,humidity [%],check\n", 1)
	})
	g, err := OpenForWriting(f.Dir(), "test")
	require.NoError(t, err)
	defer g.Close()
	_, err = g.Append(slipped(1, "10", 10))
	require.NoError(t, err)
	assert.Empty(t, cell(t, f, 1, "humidity [%]"))
	assert.Equal(t, "10", cell(t, f, 1, "force [kgf]"))
	whole(t, g)
}

// A ledger written by hand needs no more than facing and force.
func TestLedgerByHand(t *testing.T) {
	f := newStudy(t)
	require.NoError(t, f.Close())
	edit(t, f.path(LedgerFile), func(string) string { return "facing,force [lbf]\nground steel,20\nbonded P240 cloth,60.5\n" })
	g, err := Open(f.Dir())
	require.NoError(t, err)
	got, err := g.Readings()
	require.NoError(t, err)
	require.Len(t, got, 2)
	assert.InDelta(t, 60.5*4.4482216152605, got[1].Force, 1e-12)
	assert.Equal(t, trial.Slipped, got[0].Outcome)
	g, err = OpenForWriting(f.Dir(), "test")
	require.NoError(t, err)
	defer g.Close()
	_, err = g.Append(slipped(1, "10", 10))
	assert.ErrorContains(t, err, "the header lacks the column")
}

// Somebody saves the ledger from a spreadsheet while a session is open.
func TestLedgerChangedUnderASession(t *testing.T) {
	f := newStudy(t)
	_, err := f.Append(slipped(1, "10", 10))
	require.NoError(t, err)
	edit(t, f.path(LedgerFile), func(s string) string { return s + "\n" })
	_, err = f.Append(slipped(2, "11", 11))
	assert.ErrorContains(t, err, "another program has changed the ledger")
}

// A recording that was cut off is set aside under a name that says so.
func TestUnfinishedRecordingIsKept(t *testing.T) {
	f := newStudy(t)
	j, err := f.Begin()
	require.NoError(t, err)
	require.NoError(t, trace(shortTrace)(j))
	require.NoError(t, f.Close()) // the program was killed here
	g, err := OpenForWriting(f.Dir(), "test")
	require.NoError(t, err)
	defer g.Close()
	require.Len(t, g.Recovered(), 1)
	b, err := os.ReadFile(filepath.Join(f.Dir(), "traces", "0001.unfinished-1.csv"))
	require.NoError(t, err)
	assert.Equal(t, shortTrace, string(b))
	n, err := g.AppendWithTrace(slipped(1, "10", 10), trace(shortTrace))
	require.NoError(t, err)
	assert.Equal(t, 2, n, "the number is not used twice")
	whole(t, g)
}

func TestDroppedRecordingLeavesNothing(t *testing.T) {
	f := newStudy(t)
	j, err := f.Begin()
	require.NoError(t, err)
	require.NoError(t, j.Drop())
	require.NoError(t, j.Drop())
	assert.Empty(t, notes(f))
}

// FuzzLedger: no panic, every row that is read was in the file whole, what is
// torn stands at the end, and of a file that is cut off anywhere the rows before
// the cut are read as they were.
func FuzzLedger(f *testing.F) {
	head := string(newLedger("kgf"))
	f.Add([]byte(head+"1,1,1,1,ground steel,1,5 kg,0,10,slipped,0.5,,,,5,10,,person,2026-11-25T10:59:08Z,,,,,\n"), uint16(3))
	f.Add([]byte(head+"1,1,1,1,ground steel"), uint16(0))
	f.Add([]byte("facing,force [N]\na,1\n"), uint16(1))
	kept, err := os.ReadFile(oldStudy + "/" + LedgerFile)
	require.NoError(f, err)
	f.Add(kept, uint16(700))
	f.Fuzz(func(t *testing.T, b []byte, off uint16) {
		l := readLedger(LedgerFile, b)
		assert.LessOrEqual(t, l.end, int64(len(b)))
		if len(l.torn) > 0 {
			assert.Equal(t, string(b[l.end:]), string(l.torn))
		}
		for _, r := range l.rows {
			assert.NotEmpty(t, r.Facing)
			assert.NotEqual(t, trial.Unclear, r.Outcome)
		}
		head := b[:len(b)-min(len(b), int(off))]
		ended := bytes.Count(head, []byte("\n")) // a line that lost its end may say anything
		for i, r := range readLedger(LedgerFile, head).rows {
			if r.Line <= ended {
				require.Less(t, i, len(l.rows))
				require.Equal(t, l.rows[i], r)
			}
		}
	})
}
