package post

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"griptrial/analysis"
	"griptrial/report"
	"griptrial/report/internal/example"
	"griptrial/report/internal/golden"
)

func write(t *testing.T, in report.Input) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(&b, in, Options{}))
	return b.String()
}

func TestGolden(t *testing.T) {
	golden.Equal(t, "post.md", []byte(write(t, example.Input())))
}

func TestHostileNames(t *testing.T) {
	s := write(t, example.Renamed([4]string{example.Hostile[0], example.Hostile[4], "a|b", "``x`"}))
	assert.NotRegexp(t, `(^|[^\\])<script`, s)
	assert.Contains(t, s, `\<script\>`)
	assert.Contains(t, s, `\*\*bold\*\* \[a\](b)`)
	assert.Contains(t, s, `a\|b`)
	assert.Contains(t, s, "griptrial report '``x`' --format post")
}

// TestFrontMatter reads the front matter with a reader of YAML, whatever the
// title holds.
func TestFrontMatter(t *testing.T) {
	for i, name := range append(example.Hostile, "yes", "a: b", "- x", "'", `"`, "---", "{{ x }}", "!tag", "2026-03-14") {
		in := example.Input()
		in.Study.Name = name
		var b bytes.Buffer
		require.NoError(t, Write(&b, in, Options{FrontMatter: true}))
		parts := strings.SplitN(b.String(), "---\n", 3)
		require.Len(t, parts, 3)
		require.Empty(t, parts[0])
		var got struct {
			Title, Description, Date any
		}
		require.NoError(t, yaml.Unmarshal([]byte(parts[1]), &got), name)
		assert.Equal(t, report.Brief(report.Plain(name), 200), got.Title, "%d", i)
		assert.Equal(t, in.Verdict().Lines()[0], got.Description)
		assert.Equal(t, time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC), got.Date)
		assert.NotContains(t, parts[2], "\n# ", "the site writes the title")
		assert.Contains(t, parts[2], "--format post --front-matter")
	}
}

// TestSurprises: each kind of surprise is told from a result that shows it, and
// not from one that does not.
func TestSurprises(t *testing.T) {
	in := example.Input()
	in.Results.Checks.Wear = nil
	in.Results.Claims[0].Claim = in.Study.Claims[0]
	assert.Empty(t, surprises(in))
	assert.Contains(t, write(t, in), "Nothing in the numbers goes against")
	for want, change := range map[string]func(r *analysis.Results){
		"was not borne out. Refuted: the upper end is below 2.": func(r *analysis.Results) {
			r.Claims[0].Verdict, r.Claims[0].Reason = "refuted", "the upper end is below 2"
		},
		"The claim was about cast polyurethane sheet, and bonded P240 abrasive cloth holds best.": func(r *analysis.Results) {
			r.Claims[0].Claim.Facing = "cast polyurethane sheet"
		},
		"Fine cross-cut serration holds less than ground steel: 0.80 times as much, and surely less.": func(r *analysis.Results) {
			r.AgainstControl[2].Ratio, r.AgainstControl[2].Lower, r.AgainstControl[2].Upper = 0.8, 0.7, 0.9
		},
		// 2^0.8 = 1.741
		"it held 1.74 times, less than in step.": func(r *analysis.Results) {
			r.Checks.Proportionality.Slope, r.Checks.Proportionality.P = 0.8, 0.01
		},
		"The grip changed over the session, by −2.0 % from pull to pull": func(r *analysis.Results) {
			r.Checks.Drift.Slope, r.Checks.Drift.P = -0.02, 0.001
		},
		"The grip rose with use instead of wearing, by 2.0 % with each clamping.": func(r *analysis.Results) {
			r.Checks.Wear = &analysis.WearTest{Slope: 0.02, P: 0.01}
		},
		"Two samples of one facing differed more (by about 12 %) than two pulls on one sample (about 8 %).": func(r *analysis.Results) {
			r.Variance.SampleSD, r.Variance.ResidualSD = 0.12, 0.08
		},
		"of 48 pulls were void": func(r *analysis.Results) { r.Facings[0].Void += 9; r.Facings[0].Slipped -= 9 },
	} {
		in := example.Input()
		in.Results.Checks.Wear = nil
		in.Results.Claims[0].Claim = in.Study.Claims[0]
		change(&in.Results)
		assert.Contains(t, strings.Join(surprises(in), " "), want)
		assert.NotContains(t, write(t, in), "Nothing in the numbers goes against")
	}
}

func TestNothing(t *testing.T) {
	s := write(t, report.Input{Force: example.Input().Force})
	assert.Contains(t, s, "Nothing was pulled yet.")
	assert.Contains(t, s, "Before you try this")
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriteError(t *testing.T) {
	assert.ErrorContains(t, Write(broken{}, example.Input(), Options{}), "disk full")
}
