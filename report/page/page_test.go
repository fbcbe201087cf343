package page

import (
	"bytes"
	"errors"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/report"
	"griptrial/report/internal/example"
	"griptrial/report/internal/golden"
)

func write(t *testing.T, in report.Input) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(&b, in))
	return b.String()
}

func TestGolden(t *testing.T) {
	in := example.Input()
	in.Traces = in.Traces[:1]
	in.Remark = "Simulated rig: no real part was pulled."
	golden.Equal(t, "page.html", []byte(write(t, in)))
}

func TestSameBytes(t *testing.T) {
	assert.Equal(t, write(t, example.Input()), write(t, example.Input()))
}

// The page needs nothing but itself, and its policy would stop the rest.
func TestSelfContained(t *testing.T) {
	s := write(t, example.Input())
	assert.Contains(t, s, "default-src 'none'")
	for _, bad := range []string{"<script", "<link", "<img", "<iframe", "url(", "@import", " src=", " href="} {
		assert.NotContains(t, s, bad)
	}
	for _, m := range regexp.MustCompile(`https?://[^"' <]*`).FindAllString(s, -1) {
		assert.Equal(t, "http://www.w3.org/2000/svg", m, "a name space is all that looks like an address")
	}
}

// Everything a reader may ask for is there, and each number as in the results.
func TestSaysEverything(t *testing.T) {
	in := example.Input()
	s := write(t, in)
	for _, want := range []string{
		"3.4 kg", "holds what 10 kg on ground steel holds today", // the card
		"3.30 × (3.03 to 3.58)", "2.68 × (2.44 to 2.94)", "1.86 × (1.71 to 2.01)", // the ratios
		"0.412 (0.390 to 0.435)", "0.338", "0.309", // mean and bounds
		"3.03 (2.79 to 3.30) kg",              // less squeeze
		"superseded: typed the wrong outcome", // the ledger
		"tie let go", "42 slipped, 3 held, 3 void",
		"14 March 2026", "griptrial report blanks --format page", "the handle itself 0.2 kg, its centre of mass at 70 mm", "half flank 15°", "collar friction 0.12, collar diameter 24 mm", in.Files[0].SHA256,
		"log mu ~ facing &#43; block", "clamp-computed",
	} {
		assert.Contains(t, s, want)
	}
	for _, c := range trial.Cautions {
		assert.Contains(t, s, c)
	}
	assert.Equal(t, len(in.Results.Pulls)+1, strings.Count(s, "<tr")-strings.Count(s, "<thead><tr")-rowsElsewhere(in), "a row for every pull and one superseded")
	assert.Equal(t, len(in.Traces), strings.Count(s, `aria-labelledby="trace-`))
	ids := regexp.MustCompile(` id="([^"]+)"`).FindAllStringSubmatch(s, -1)
	seen := make(map[string]bool)
	for _, id := range ids {
		assert.False(t, seen[id[1]], "id %s twice", id[1])
		seen[id[1]] = true
	}
}

// rowsElsewhere counts the rows of the other tables.
func rowsElsewhere(in report.Input) int {
	r := in.Results
	return 2*len(r.Facings) + len(r.Pairs) + len(r.Claims) + len(in.Setup()) + len(in.Files)
}

func TestHostileNames(t *testing.T) {
	for i := range example.Hostile {
		var names [4]string
		for k := range names {
			names[k] = example.Hostile[(i+k)%len(example.Hostile)]
		}
		in := example.Renamed(names)
		in.Traces = in.Traces[:4]
		s := write(t, in)
		for _, bad := range []string{"<script", "\u202e", "\x1b", "\x00", "ZgotmplZ"} {
			assert.False(t, strings.Contains(s, bad), "%q with %q", bad, names)
		}
	}
}

func TestLittleOrNothing(t *testing.T) {
	in := example.Input()
	in.Results.Facings, in.Results.AgainstControl, in.Results.Pairs, in.Results.LessSqueeze = in.Results.Facings[:1], nil, nil, nil
	s := write(t, in)
	assert.Contains(t, s, "nothing to compare with")
	assert.NotContains(t, s, "NaN")

	empty := report.Input{Study: in.Study, Force: in.Force, Results: analysis.Results{Confidence: 0.95}}
	s = write(t, empty)
	assert.Contains(t, s, "Nothing was pulled yet.")
	assert.Contains(t, s, "date not recorded")
	assert.NotContains(t, s, "What the pulls showed")
	for _, c := range trial.Cautions {
		assert.Contains(t, s, c)
	}
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriteError(t *testing.T) {
	assert.ErrorContains(t, Write(broken{}, example.Input()), "disk full")
}
