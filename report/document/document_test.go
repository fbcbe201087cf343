package document

import (
	"bytes"
	"errors"
	"fmt"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/report"
	"griptrial/report/figure"
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
func reading(t *testing.T, pdf []byte) string {
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
	assert.Contains(t, reading(t, write(t, in)), "date not recorded")
}

// has looks for a text and, where it is missing, does not print the whole
// document.
func has(t *testing.T, document, want string) {
	t.Helper()
	assert.True(t, strings.Contains(document, want), "missing: %s", want)
}

// said are what a reader of either format looks for: each headline number as in
// the results, and every section.
func said(in report.Input) []string {
	want := []string{
		"holds 3.3 times what ground steel", "3.30 (3.03 to 3.58)", "2.68 (2.44 to 2.94)", "1.86 (1.71 to 2.01)", "0.412 (0.390 to 0.435)", "0.338", "0.309",
		"hang 3.4 kg on the handle", "3.03 (2.79 to 3.30) kg", "14 March 2026", "superseded: typed", "tie let go", "shown",
		"griptrial report blanks --format document", "collar friction 0.12", in.Files[0].SHA256, "clamp-computed", "log mu ~ facing + block",
		"42 slipped, 3 held, 3 void", "force [kgf]", "friction coefficient", "not given", "7.8.3.1 c", "seed 20260314", "ISO 16269-6",
		"As far as 42 pulls can tell", "a tenth of its grip is gone after about 13 clampings", "No drift over the run shown", "F = 412", "W = 0.981", "0.984 (0.951 to 1.017)", "Most of the scatter is from pull to pull",
		"3 of 48 planned pulls gave no result", "only to the parts, facings, vise", "End of the report",
	}
	for _, s := range sections {
		want = append(want, s.name)
	}
	return append(want, trial.Cautions...)
}

func TestSaysEverything(t *testing.T) {
	in := example.Input()
	s := reading(t, write(t, in))
	flat := strings.Join(strings.Fields(s), " ")
	for _, want := range said(in) {
		has(t, flat, want)
	}
	has(t, s, "page 1 of")
	assert.NotContains(t, s, "{pages}")
}

// The HTML is the same document: it says all that the PDF says, and loads
// nothing.
func TestHTML(t *testing.T) {
	in := example.Input()
	in.Study.Report.Laboratory = "Example Jaws <Ltd>"
	var a, b bytes.Buffer
	require.NoError(t, WriteHTML(&a, in))
	require.NoError(t, WriteHTML(&b, in))
	assert.Equal(t, a.String(), b.String())
	flat := html.UnescapeString(strings.Join(strings.Fields(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(a.String(), "")), " "))
	for _, want := range said(in) {
		has(t, flat, strings.Join(strings.Fields(want), " "))
	}
	for _, bad := range []string{"<script", "<link", "<img", "url(", " src=", "<Ltd>", "ZgotmplZ", "NaN"} {
		assert.False(t, strings.Contains(a.String(), bad), bad)
	}
	ids := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]+)"`).FindAllStringSubmatch(a.String(), -1) {
		assert.False(t, ids[m[1]], "id %s twice", m[1])
		ids[m[1]] = true
	}
	for _, m := range regexp.MustCompile(` href="#([^"]+)"`).FindAllStringSubmatch(a.String(), -1) {
		assert.True(t, ids[m[1]], m[1])
	}
	assert.ErrorContains(t, WriteHTML(broken{}, in), "disk full")
}

// A figure that is taller than a page goes on over the next one, whole and at
// its size.
func TestTallFigures(t *testing.T) {
	in := example.Input()
	in.Traces = nil
	base := in.Results.Facings[1]
	for i := range 36 {
		f := base
		f.Facing = fmt.Sprintf("facing %d", i+5)
		in.Results.Facings = append(in.Results.Facings, f)
		p := in.Results.Pulls[i]
		p.Facing, p.Outcome = f.Facing, "slipped"
		in.Results.Pulls = append(in.Results.Pulls, p)
	}
	s := reading(t, write(t, in))
	for i := range 36 {
		assert.GreaterOrEqual(t, strings.Count(s, fmt.Sprintf("facing %d", i+5)), 3, "in figures and tables")
	}
	f, ok := figure.Dots(in, 487)
	require.True(t, ok)
	cut := f.Cut(0, 700)
	assert.Contains(t, f.Breaks, cut, "between two bands")
	assert.Equal(t, f.Height, f.Cut(f.Height-10, 700))
}

// Latin, Greek and Cyrillic are text; other letters are spelled by code point.
func TestLetters(t *testing.T) {
	in := example.Renamed([4]string{"ground steel", "Τραχύ χαρτί", "Шлифовальная ткань", "مطاط"})
	s := reading(t, write(t, in))
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
		var b bytes.Buffer
		require.NoError(t, WriteHTML(&b, in))
		for _, bad := range []string{"<script", "\u202e", "\x1b", "\x00", "ZgotmplZ"} {
			assert.False(t, strings.Contains(b.String(), bad), "%q with %q", bad, names)
		}
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
	s := newSheet(example.Input())
	names := []string{"pull", "sample", "clampings", "force [kgf]", "note"}
	widths := []float64{20, 20, 20, 20, 300}
	s.fit(make([]column, len(names)), widths, names)
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
	s := strings.Join(strings.Fields(reading(t, write(t, in))), "")
	assert.Contains(t, s, strings.Repeat("x", 150)+"--formatdocument")
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriteError(t *testing.T) {
	assert.ErrorContains(t, Write(broken{}, example.Input()), "disk full")
}
