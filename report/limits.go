package report

import (
	"fmt"
	"math"

	"griptrial/analysis"
)

// Limits says in sentences how far the results reach: the items, the squeeze,
// the samples and the sessions that they rest on.
func (in Input) Limits() []string {
	r := in.Results
	out := []string{"The results relate only to the parts, facings, vise and conditions of this trial. Oil, chips, heat, wear and another vise change them."}
	lo, hi := math.Inf(1), 0.0
	weight := r.Quantity != analysis.Mu
	for _, p := range r.Pulls {
		v := float64(p.Clamp)
		if weight {
			v = float64(p.Weight)
		}
		if v > 0 && p.Outcome != "void" {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	if hi > 0 {
		write := func(v float64) string { return in.Force.Format(v, 3) }
		what := "clamp forces"
		if weight {
			u := in.WeightUnit()
			write, what = func(v float64) string { return Short(u.FromSI(v), 3) + " " + u.Name }, "weights on the handle"
		}
		if lo == hi {
			out = append(out, fmt.Sprintf("One squeeze was tried, %s: nothing is known of any other.", write(lo)))
		} else {
			out = append(out, fmt.Sprintf("Tried were %s from %s to %s; beyond them the results are a guess that force follows squeeze.", what, write(lo), write(hi)))
		}
	}
	least, told := math.MaxInt, false
	for _, f := range r.Facings {
		if f.Slipped+f.Held > 0 {
			least, told = min(least, f.Samples), true
		}
	}
	switch {
	case !told:
	case least == 0:
		out = append(out, "Samples were not told apart: the intervals speak of further pulls on the very strips that were tried, not of other strips of the same facing.")
	case least == 1:
		out = append(out, "Of some facing only one sample was tried: nothing is known of how samples of it differ.")
	default:
		out = append(out, fmt.Sprintf("Each facing is represented by %s or more; the intervals speak of samples like those.", count(least, "sample")))
	}
	blocks := map[string]bool{}
	for _, p := range r.Pulls {
		blocks[p.Block] = true
	}
	if len(blocks) == 1 {
		out = append(out, "All pulls were made in one session: what differs from day to day or hand to hand is not in the intervals.")
	} else if n := len(blocks); n > 1 {
		out = append(out, fmt.Sprintf("Pulls were made in %d sessions; other days and other hands may differ more.", n))
	}
	switch r.Quantity {
	case analysis.PerWeight:
		out = append(out, "The clamp force was not known. Ratios hold at equal handle weight on this vise; a friction coefficient cannot be given.")
	case analysis.Force:
		out = append(out, "Neither clamp force nor handle weight was known. Ratios are fair only if every pull was clamped alike.")
	}
	if len(r.Pulls) > 0 {
		out = append(out, fmt.Sprintf("Every interval is right with %s %% confidence if the model holds. Several together are right less often, unless they are adjusted, as the tables say.", Given(in.confidence()*100)))
	}
	return append(out, "A trial is evidence about grip. It is not proof that a part is safely held in a cut.")
}
