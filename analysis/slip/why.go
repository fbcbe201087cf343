package slip

import (
	"fmt"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// Why gives the evidence in words, forces in the unit u, one sentence a line.
func (r Result) Why(u unit.Unit) []string {
	f := func(x float64) string { return u.Format(x, 4) }
	var out []string
	for i, e := range r.Evidence.Events {
		mark := ""
		if i == r.Evidence.Chosen {
			mark = " (chosen)"
		}
		out = append(out, fmt.Sprintf("at %.3f s: from %s down by %s in %.0f ms, ripple %s; loading %s/s before, %s/s after; back up to %s: %s%s",
			e.Time, f(e.Force), f(e.Drop), 1000*e.Fall, f(e.Ripple), f(e.Before), f(e.After), f(e.Later), e.Meaning, mark))
	}
	switch {
	case r.Outcome == trial.Held:
		out = append(out, fmt.Sprintf("no gross motion up to %s: a lower bound", f(r.PeakForce)))
	case r.Kind == Creep:
		out = append(out, fmt.Sprintf("at %.3f s the slope fell below half the loading slope, at %s", r.SlipTime, f(r.SlipForce)))
	}
	return out
}
