// Package score counts how verdicts on simulated pulls compare with what
// happened, and prints the table of it. The score tests of analysis/slip and of
// acquire/simrig share it; it knows nothing of how a verdict was reached.
package score

import (
	"fmt"
	"math"
	"slices"

	"griptrial/analysis/trial"
)

// Verdict is what was said of a pull. Force, Low and High are in N, and matter
// only where Outcome is trial.Slipped.
type Verdict struct {
	Outcome          trial.Outcome
	Force, Low, High float64
	Kind             string
}

// Tally counts the verdicts on one group of pulls. The zero value is ready.
type Tally struct {
	Pulls, Right       int
	Slips, Missed      int       // true slips; not called slipped where that is wrong
	Others, FalseSlips int       // anything else; called slipped where that is wrong
	Errors, Widths     []float64 // share of the true slip force, where both say slipped
	Covered, Kinds     int       // of these: the interval holds the truth; the kind is right
}

// Add counts one verdict. Whether it is right is for the caller to say: a record
// may allow several.
func (t *Tally) Add(v Verdict, truth trial.Sim, right bool) {
	t.Pulls++
	if right {
		t.Right++
	}
	if truth.Outcome != trial.Slipped {
		t.Others++
		if v.Outcome == trial.Slipped && !right {
			t.FalseSlips++
		}
		return
	}
	t.Slips++
	if v.Outcome != trial.Slipped {
		if !right {
			t.Missed++
		}
		return
	}
	t.Errors = append(t.Errors, math.Abs(v.Force/truth.SlipForce-1))
	t.Widths = append(t.Widths, (v.High-v.Low)/truth.SlipForce)
	if v.Low <= truth.SlipForce && truth.SlipForce <= v.High {
		t.Covered++
	}
	if v.Kind == truth.Kind {
		t.Kinds++
	}
}

// Merge adds the counts of another group.
func (t *Tally) Merge(o Tally) {
	t.Pulls += o.Pulls
	t.Right += o.Right
	t.Slips += o.Slips
	t.Missed += o.Missed
	t.Others += o.Others
	t.FalseSlips += o.FalseSlips
	t.Covered += o.Covered
	t.Kinds += o.Kinds
	t.Errors = append(t.Errors, o.Errors...)
	t.Widths = append(t.Widths, o.Widths...)
}

// Quantile is the value below which a share p of v lies; NaN of nothing.
func Quantile(v []float64, p float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	v = slices.Sorted(slices.Values(v))
	return v[min(len(v)-1, int(p*float64(len(v))))]
}

// Header names the columns of Line.
const Header = "case                    pulls  right%    false     missed   error%: median   p90    p99  covered%  width%  kind%"

// Line is one row of the table. What does not apply is a dash.
func (t Tally) Line(name string) string {
	share := func(a, b int) string {
		if b == 0 {
			return "-"
		}
		return fmt.Sprintf("%.1f", 100*float64(a)/float64(b))
	}
	percent := func(v float64) string {
		if math.IsNaN(v) {
			return "-"
		}
		return fmt.Sprintf("%.2f", 100*v)
	}
	n := len(t.Errors)
	return fmt.Sprintf("%-22s %6d  %6s  %4d/%-4d  %4d/%-4d  %13s %6s %6s  %8s  %6s  %5s", name, t.Pulls, share(t.Right, t.Pulls),
		t.FalseSlips, t.Others, t.Missed, t.Slips, percent(Quantile(t.Errors, 0.5)), percent(Quantile(t.Errors, 0.9)), percent(Quantile(t.Errors, 0.99)),
		share(t.Covered, n), percent(Quantile(t.Widths, 0.5)), share(t.Kinds, n))
}
