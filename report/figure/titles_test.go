package figure

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/analysis/slip"
	"griptrial/report"
	"griptrial/report/internal/example"
)

// title is that of a figure after a change of the example.
func title(t *testing.T, draw maker, change func(*report.Input)) string {
	t.Helper()
	in := example.Input()
	if change != nil {
		change(&in)
	}
	f, ok := draw(in, Narrow)
	require.True(t, ok)
	return f.Title
}

// Each figure is titled with what the results say, and where they cannot say it
// the title says that.
func TestTitlesAreAnswers(t *testing.T) {
	unknown := analysis.Unknown()
	for _, c := range []struct {
		draw   maker
		change func(*report.Input)
		want   string
	}{
		{Overlay, nil, "Every facing lets go at once"},
		{Overlay, func(in *report.Input) {
			for i := range in.Traces {
				if in.Traces[i].Facing == "ground steel" {
					in.Traces[i].Slip.Kind = slip.StickSlip
				}
			}
		}, "Bonded P240 abrasive cloth, cast polyurethane sheet and fine cross-cut serration let go at once; ground steel slips and catches again"},
		{Wear, nil, "Bonded P240 abrasive cloth wears: a tenth of its grip is gone after about 13 clampings, at the soonest after 8"},
		{Wear, func(in *report.Input) { in.Results.Checks.Wear.Facings[1].P = 0.2 }, "No wear was seen over 12 clampings, yet a tenth of the grip may be gone after 8"},
		{Wear, func(in *report.Input) {
			w := &in.Results.Checks.Wear.Facings[1]
			w.Slope, w.Lower, w.Upper, w.Tenth, w.TenthAtLeast = 0.01, 0.005, 0.015, unknown, unknown
		}, "Bonded P240 abrasive cloth gripped better with use: it was still running in"},
		{Wear, func(in *report.Input) { in.Results.Checks.Wear.Facings[1].TenthAtLeast = 0 }, "Bonded P240 abrasive cloth wears: a tenth of its grip is gone after about 13 clampings, at the soonest with one"},
		{Wear, func(in *report.Input) {
			w := &in.Results.Checks.Wear.Facings[1]
			w.Tenth, w.TenthAtLeast = 0, 0
		}, "Bonded P240 abrasive cloth wears: more than a tenth of its grip goes with one clamping"},
		{Wear, func(in *report.Input) { in.Results.Checks.Wear.Facings, in.Results.Checks.Wear.P = nil, 0.01 }, "Together the facings change by −0.28 % a clamping; no one of them surely does"},
		{Order, nil, "No drift over the run shown: between −0.19 and 0.11 % a pull; sessions lie 2.4 % apart"},
		{Order, func(in *report.Input) { in.Results.Checks.Drift.P = 0.001 }, "The grip drifts by −0.040 % a pull over the run; random order keeps the comparison fair; sessions lie 2.4 % apart"},
		{Order, func(in *report.Input) { in.Results.Checks.Drift, in.Results.Blocks = nil, nil }, "Whether the grip drifted over the run cannot be said from these pulls"},
		{Normal, nil, "As far as 42 pulls can tell, they scatter as a normal law has it (p = 0.64)"},
		{Normal, func(in *report.Input) { in.Results.Checks.ShapiroWilk.P = 0.003 }, "The pulls do not scatter as a normal law has it (p = 0.0030)"},
		{Normal, func(in *report.Input) { in.Results.Checks.ShapiroWilk = nil }, "Whether the scatter is normal, the eye has to judge: no test applies with 3 held"},
		{Scatter, nil, "Most of the scatter is from pull to pull: 84 % of the variance"},
		{Scatter, func(in *report.Input) { in.Results.Variance.SampleSD = 0.07 }, "Most of the scatter is from pull to pull: 55 % of the variance"},
		{Scatter, func(in *report.Input) { in.Results.Variance.SampleSD, in.Results.Variance.BlockSD = 0.07, 0.05 }, "No one source makes most of the scatter; the largest is from pull to pull, 45 % of the variance"},
		{Scatter, func(in *report.Input) { in.Results.Variance.SampleSD, in.Results.Variance.BlockSD = unknown, unknown }, "Pulls scatter by 7.8 %; what samples and sessions add was not told apart"},
		{Budget, nil, "Friction in the screw's thread makes 81 % of the doubt in the friction coefficient; in the ratio it cancels"},
		{Budget, func(in *report.Input) {
			in.Results.Budgets = in.Results.Budgets[:1]
			in.Results.Budgets[0].Terms = in.Results.Budgets[0].Terms[:1]
		}, "The friction coefficient is known to a standard uncertainty of 13 %"},
		{Clamp, func(in *report.Input) { in.Results.Checks.Proportionality.P = 0.001 }, "Force rises nearly in step with clamp force: twice as much gives 1.98 times the hold"},
		{Clamp, func(in *report.Input) {
			in.Results.Checks.Proportionality.P, in.Results.Checks.Proportionality.Slope = 0.001, 0.8
		}, "Force does not rise in step with clamp force: twice as much gives 1.74 times the hold"},
	} {
		assert.Equal(t, c.want, title(t, c.draw, c.change))
	}
}

// What the results lack is not drawn at all.
func TestFiguresNeedTheirNumbers(t *testing.T) {
	for _, c := range []struct {
		draw   maker
		change func(*report.Input)
	}{
		{Overlay, func(in *report.Input) { in.Traces = nil }},
		{Wear, func(in *report.Input) { in.Results.Checks.Wear = nil }},
		{Wear, func(in *report.Input) {
			for i := range in.Results.Pulls {
				in.Results.Pulls[i].Clampings = analysis.Unknown()
			}
		}},
		{Order, func(in *report.Input) {
			for i := range in.Results.Pulls {
				in.Results.Pulls[i].Order = analysis.Unknown()
			}
		}},
		{Normal, func(in *report.Input) { in.Results.Residuals.SD = analysis.Unknown() }},
		{Scatter, func(in *report.Input) { in.Results.Variance.ResidualSD = analysis.Unknown() }},
		{Budget, func(in *report.Input) { in.Results.Budgets = nil }},
		{Window, func(in *report.Input) { in.Results.Window = nil }},
	} {
		in := example.Input()
		c.change(&in)
		_, ok := c.draw(in, Narrow)
		assert.False(t, ok)
	}
}

// texts are all that a figure writes.
func texts(f Figure) (all string) {
	for _, s := range f.Shapes() {
		if s.Text != "" {
			all += s.Text + "\n"
		}
	}
	return all
}

// Held and void pulls are counted in every figure of pulls, and the point of
// change stands where the wear is shown.
func TestChecksCountHeldAndVoid(t *testing.T) {
	in := example.Input()
	f, _ := Overlay(in, Narrow)
	assert.Contains(t, texts(f), "9 sharp, not drawn: 3 held")
	assert.Contains(t, texts(f), "11 sharp, not drawn: 1 void")
	in.Traces[0].Slip.SlipTime = math.NaN()
	f, _ = Overlay(in, Narrow)
	assert.Contains(t, f.Desc, "10 sharp, not drawn: 1 void, 1 without a slip point")
	f, _ = Wear(in, Narrow)
	assert.Contains(t, texts(f), "change by 8")
	in.Results.Checks.Wear.Facings[1].TenthAtLeast = 0
	f, _ = Wear(in, Narrow)
	assert.Contains(t, texts(f), "change each time")
	assert.Contains(t, texts(f), "1 void")
	f, _ = Order(in, Narrow)
	assert.Contains(t, texts(f), "3 void")
	f, _ = Normal(in, Narrow)
	assert.Contains(t, texts(f), "3 held: at least")
	f, _ = Budget(in, Narrow)
	assert.Contains(t, texts(f), "not stated, left out")
	assert.Contains(t, texts(f), "cancels")
}

// At every width that a report uses, and with as many facings as anybody tries,
// nothing is written outside the drawing.
func TestNothingOutside(t *testing.T) {
	in := example.Input()
	for i := range 26 {
		f := in.Results.Facings[1]
		f.Facing = fmt.Sprintf("facing with quite a long name %d", i+5)
		in.Results.Facings = append(in.Results.Facings, f)
		tr := in.Traces[i]
		tr.Facing = f.Facing
		in.Traces = append(in.Traces, tr)
		p := in.Results.Pulls[i]
		p.Facing = f.Facing
		in.Results.Pulls = append(in.Results.Pulls, p)
		w := in.Results.Checks.Wear.Facings[1]
		w.Facing = f.Facing
		in.Results.Checks.Wear.Facings = append(in.Results.Checks.Wear.Facings, w)
	}
	for _, wide := range []float64{Narrow, 487.28, 504} {
		for _, f := range append(Answers(in, wide), Checks(in, wide)...) {
			for _, s := range f.Shapes() {
				if s.Text == "" {
					continue
				}
				assert.GreaterOrEqual(t, s.X, -1.5, "%s: %s", f.Name, s.Text)
				assert.LessOrEqual(t, s.X+width(s.Text, s.Size, s.Bold), f.Width+1.5, "%s: %s", f.Name, s.Text)
				assert.LessOrEqual(t, s.Y, f.Height+1, "%s: %s", f.Name, s.Text)
			}
			last := 0.0
			for _, b := range f.Breaks {
				assert.Greater(t, b, last)
				assert.Less(t, b, f.Height)
				last = b
			}
		}
	}
}
