package report_test

import (
	"bytes"
	"html"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/report"
	"griptrial/report/document"
	"griptrial/report/internal/example"
	"griptrial/report/page"
	"griptrial/report/post"
)

// analysed is a report of pulls that the analysis itself judged.
func analysed(t *testing.T) report.Input {
	t.Helper()
	in := example.Input()
	in.Traces, in.Plan, in.Superseded = nil, nil, nil
	random := rand.New(rand.NewPCG(4, 8))
	mu := []float64{0.13, 0.41, 0.33, 0.23}
	var readings []trial.Reading
	for i := range 48 {
		f := i % 4
		weight := []float64{2, 5, 10}[i/4%3]
		r := trial.Reading{Pull: i + 1, Facing: in.Study.Facings[f].Name, Weight: weight, Outcome: trial.Slipped, Block: []string{"day 1", "day 2"}[i/24],
			Order: trial.Count{N: i + 1, Known: true}, Clampings: trial.Count{N: i / 4, Known: true}}
		r.Force = 2 * mu[f] * 428.7 * weight * math.Exp(0.07*random.NormFloat64())
		if i%19 == 7 {
			r.Outcome = trial.Held
		}
		readings = append(readings, r)
	}
	var err error
	in.Results, err = analysis.Analyse(readings, in.Study, analysis.Options{})
	require.NoError(t, err)
	return in
}

// Each document tells each headline number, written alike, from the one set of
// results.
func TestHeadlineNumbersEverywhere(t *testing.T) {
	in := analysed(t)
	r := in.Results
	_, _, toUnit := in.Grip()
	var ratios, grips, cards, squeezes, hangs []string
	for _, x := range r.AgainstControl {
		require.True(t, x.Lower.Known())
		ratios = append(ratios, report.Write(analysis.Estimate{Estimate: x.Ratio, Lower: x.Lower, Upper: x.Upper}, report.Same).String())
		cards = append(cards, report.Short(float64(x.Ratio), 2)+" ×")
	}
	for _, f := range r.Facings {
		grips = append(grips, report.Write(f.Grip, toUnit).String())
	}
	for _, s := range r.LessSqueeze {
		squeezes = append(squeezes, report.Write(s.Weight, in.WeightUnit().FromSI).String())
		cards = append(cards, in.SafeWeight(s))
		hangs = append(hangs, in.SafeWeight(s))
	}
	plain := func(write func(io.Writer, report.Input) error) string {
		var b bytes.Buffer
		require.NoError(t, write(&b, in))
		return html.UnescapeString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(b.String(), " "))
	}
	documents := []struct {
		name  string
		says  string
		wants [][]string
	}{
		{"page", plain(page.Write), [][]string{grips, cards, squeezes}},
		{"card", plain(page.WriteCard), [][]string{cards}},
		{"document as HTML", plain(document.WriteHTML), [][]string{ratios, grips, squeezes, hangs}},
		{"document as PDF", pdfText(t, in), [][]string{ratios, grips, squeezes, hangs}},
		{"post", plain(func(w io.Writer, in report.Input) error { return post.Write(w, in, post.Options{}) }), [][]string{ratios, grips}},
	}
	for _, d := range documents {
		if d.says == "" {
			continue // no reader of its format is here
		}
		flat := strings.Join(strings.Fields(strings.ReplaceAll(d.says, "\\", "")), " ")
		for _, list := range d.wants {
			for _, want := range list {
				assert.True(t, strings.Contains(flat, want), "%s lacks %s", d.name, want)
			}
		}
		headline := in.Verdict().Headline
		assert.True(t, strings.Contains(flat, report.Sentence(headline)) || strings.Contains(flat, strings.TrimSuffix(report.Sentence(headline), ".")), "%s lacks %s", d.name, headline)
	}
	// The page writes ratios with their sign of multiplication within.
	for _, x := range r.AgainstControl {
		iv := report.Write(analysis.Estimate{Estimate: x.Ratio, Lower: x.Lower, Upper: x.Upper}, report.Same)
		assert.True(t, strings.Contains(documents[0].says, iv.Value+" × ("+iv.Lower+" to "+iv.Upper+")"), iv.Value)
	}
}

// pdfText is what another reader finds in the PDF; "" where there is none.
func pdfText(t *testing.T, in report.Input) string {
	t.Helper()
	program, err := exec.LookPath("pdftotext")
	if err != nil {
		require.NotEqual(t, "1", os.Getenv("GRIPTRIAL_REQUIRE_TOOLS"), "pdftotext is needed")
		t.Log("pdftotext is not installed: the PDF was not read")
		return ""
	}
	path := filepath.Join(t.TempDir(), "document.pdf")
	var b bytes.Buffer
	require.NoError(t, document.Write(&b, in))
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o666))
	out, err := exec.Command(program, path, "-").Output()
	require.NoError(t, err)
	return string(out)
}
