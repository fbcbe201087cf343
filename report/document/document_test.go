package document

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/report"
	"griptrial/report/internal/example"
)

func write(t *testing.T, in report.Input) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(&b, in))
	return b.Bytes()
}

// tool finds a program; without it the test is skipped, or fails where every
// tool must be there.
func tool(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("GRIPTRIAL_REQUIRE_TOOLS") == "1" {
			t.Fatalf("%s is needed: %v", name, err)
		}
		t.Skipf("%s is not installed", name)
	}
	return path
}

// text is what another reader finds on the pages.
func text(t *testing.T, pdf []byte) string {
	t.Helper()
	program := tool(t, "pdftotext")
	path := filepath.Join(t.TempDir(), "document.pdf")
	require.NoError(t, os.WriteFile(path, pdf, 0o666))
	out, err := exec.Command(program, "-layout", path, "-").Output()
	require.NoError(t, err)
	return string(out)
}

func TestSameBytes(t *testing.T) {
	a, b := write(t, example.Input()), write(t, example.Input())
	assert.True(t, bytes.Equal(a, b))
	assert.True(t, bytes.Contains(a, []byte("/CreationDate ")))
}

// The dates are the study's, and a fixed one where it has none.
func TestDates(t *testing.T) {
	in := example.Input()
	other := example.Input()
	other.Made = in.Made.Add(time.Hour)
	assert.False(t, bytes.Equal(write(t, in), write(t, other)))
	in.Made = time.Time{}
	assert.Contains(t, text(t, write(t, in)), "date not recorded")
}

func TestSaysEverything(t *testing.T) {
	in := example.Input()
	s := text(t, write(t, in))
	for _, want := range []string{
		"holds 3.3 times what ground steel", "3.30 (3.03 to 3.58)", "2.68 (2.44 to 2.94)", "0.412 (0.390 to 0.435)", "0.338",
		"Hang 3.4 kg on the handle", "14 March 2026", "page 1 of", "superseded: typed", "tie let go", "shown",
		"griptrial report blanks --format document", "collar friction 0.12", in.Files[0].SHA256, "clamp-computed", "log mu ~ facing + block",
		"42 slipped, 3 held, 3 void", "force [kgf]", "friction coefficient",
	} {
		assert.Contains(t, s, want)
	}
	flat := strings.Join(strings.Fields(s), " ")
	for _, c := range trial.Cautions {
		assert.Contains(t, flat, c)
	}
	assert.NotContains(t, s, "{pages}")
}

// Latin, Greek and Cyrillic are text; other letters are spelled by code point.
func TestLetters(t *testing.T) {
	in := example.Renamed([4]string{"ground steel", "Τραχύ χαρτί", "Шлифовальная ткань", "مطاط"})
	s := text(t, write(t, in))
	assert.Contains(t, s, "Τραχύ χαρτί")
	assert.Contains(t, s, "Шлифовальная")
	assert.Contains(t, s, "[U+0645")
}

func TestHostileNames(t *testing.T) {
	for i := range example.Hostile {
		var names [4]string
		for k := range names {
			names[k] = example.Hostile[(i+k)%len(example.Hostile)]
		}
		in := example.Renamed(names)
		in.Traces = in.Traces[:4]
		assert.NotEmpty(t, write(t, in))
	}
}

// An independent reader finds nothing wrong, whatever there is to show.
func TestValid(t *testing.T) {
	program := tool(t, "qpdf")
	empty := report.Input{Study: example.Input().Study, Force: example.Input().Force, Results: analysis.Results{Confidence: 0.95}}
	pounds := example.Input()
	pounds.Force.Name = "lbf" // on Letter paper
	for name, in := range map[string]report.Input{"full": example.Input(), "empty": empty, "letter": pounds} {
		path := filepath.Join(t.TempDir(), name+".pdf")
		require.NoError(t, os.WriteFile(path, write(t, in), 0o666))
		out, err := exec.Command(program, "--check", path).CombinedOutput()
		assert.NoError(t, err, "%s: %s", name, out)
	}
}

// The words of a table's head stay whole, and the table keeps its width.
func TestHeadsStayWhole(t *testing.T) {
	s := newSheet(example.Input(), "heads")
	names := []string{"pull", "sample", "clampings", "force [kgf]", "note"}
	widths := []float64{20, 20, 20, 20, 300}
	s.fit(widths, names)
	total := 0.0
	for i, name := range names {
		total += widths[i]
		for _, line := range s.lines(name, cellSize, false, widths[i]) {
			for _, part := range strings.Fields(line) {
				assert.Contains(t, strings.Fields(name), part)
			}
		}
	}
	assert.InDelta(t, 380, total, 1e-9)
}

// A long command runs on over more lines and is whole.
func TestLongCommand(t *testing.T) {
	in := example.Input()
	in.Command = "griptrial report " + strings.Repeat("x", 150)
	s := strings.Join(strings.Fields(text(t, write(t, in))), "")
	assert.Contains(t, s, strings.Repeat("x", 150)+"--formatdocument")
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriteError(t *testing.T) {
	assert.ErrorContains(t, Write(broken{}, example.Input()), "disk full")
}
