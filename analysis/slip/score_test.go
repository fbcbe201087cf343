package slip

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"griptrial/analysis/trial"
)

// tally counts how the detector does on one case.
type tally struct {
	n, right, falseSlips, missed, held, slips int
	errs, widths                              []float64 // % of the true force
	covered                                   int
}

func (c *tally) add(r Result, sim trial.Sim, accept []string) (ok bool) {
	c.n++
	ok = accepted(r, strings.Join(accept, ";"))
	if ok {
		c.right++
	}
	if sim.Outcome == trial.Slipped {
		c.slips++
	} else {
		c.held++
	}
	if sim.Outcome != trial.Slipped && r.Outcome == trial.Slipped && !ok {
		c.falseSlips++
	}
	if sim.Outcome == trial.Slipped && r.Outcome != trial.Slipped && !ok {
		c.missed++
	}
	if sim.Outcome == trial.Slipped && r.Outcome == trial.Slipped {
		c.errs = append(c.errs, 100*math.Abs(r.SlipForce/sim.SlipForce-1))
		c.widths = append(c.widths, 100*(r.High-r.Low)/sim.SlipForce)
		if r.Low <= sim.SlipForce && sim.SlipForce <= r.High {
			c.covered++
		}
	}
	return ok
}

func (c *tally) merge(o tally) {
	c.n += o.n
	c.right += o.right
	c.falseSlips += o.falseSlips
	c.missed += o.missed
	c.held += o.held
	c.slips += o.slips
	c.covered += o.covered
	c.errs = append(c.errs, o.errs...)
	c.widths = append(c.widths, o.widths...)
}

func percentile(x []float64, p float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	x = slices.Clone(x)
	slices.Sort(x)
	return x[int(p*float64(len(x)-1)+0.5)]
}

func (c *tally) line(name string) string {
	return fmt.Sprintf("%-18s %5d  right %5.1f%%  false %2d/%3d  missed %2d/%3d  err %% median %.2f p90 %.2f p99 %.2f  covered %5.1f%%  width %.2f%%",
		name, c.n, 100*float64(c.right)/float64(c.n), c.falseSlips, c.held, c.missed, c.slips,
		percentile(c.errs, 0.5), percentile(c.errs, 0.9), percentile(c.errs, 0.99),
		100*float64(c.covered)/float64(max(1, len(c.errs))), percentile(c.widths, 0.5))
}

// TestScore scores the detector on simulated pulls: even seeds were looked at
// while it was made, odd ones were not.
func TestScore(t *testing.T) {
	const seeds = 10
	for parity, name := range []string{"even seeds, used for tuning", "odd seeds, held back"} {
		var all tally
		t.Log(name)
		for _, family := range simFamilies {
			var c tally
			for i := range seeds {
				p := simulate(family, uint64(2*i+parity))
				r, err := Detect(p.trace, Options{})
				if err != nil {
					t.Fatal(err)
				}
				c.add(r, p.sim, p.accept)
			}
			all.merge(c)
			t.Log(c.line(family))
		}
		t.Log(all.line("all"))
	}
}
