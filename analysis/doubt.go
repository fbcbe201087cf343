package analysis

import (
	"fmt"
	"math"

	"griptrial/analysis/clamp"
	"griptrial/analysis/uncertainty"
)

// Doubt says what of the uncertainty of mu cancels in a ratio of facings at
// one squeeze, and what stays. Budgets has the sizes for each facing and ratio.
type Doubt struct {
	Terms []DoubtTerm `json:"terms"`
	// Clamp is how far the true clamp force may lie from the one used; nil where
	// none is computed from a handle weight with a range of friction.
	Clamp *ClampDoubt `json:"clamp"`
}

// DoubtTerm is one thing that makes mu uncertain.
type DoubtTerm struct {
	Term  string `json:"term"`
	Ratio string `json:"in_ratio"` // Cancels or Stays
	U     Number `json:"u_mu"`     // relative standard uncertainty that it gives mu; null: see Note
	Note  string `json:"note"`     // why there is no number
}

// Cancels and Stays are what a term does in a ratio of facings at one squeeze.
const (
	Cancels = "cancels"
	Stays   = "stays"
)

// ClampDoubt is the uncertainty of a computed clamp force.
type ClampDoubt struct {
	Standard Number `json:"standard_relative"` // first order
	Lower    Number `json:"lower_factor"`      // the interval, over the force used; Monte Carlo
	Upper    Number `json:"upper_factor"`
	Draws    int    `json:"draws"`
	Seed     uint64 `json:"seed"`
}

const (
	notStated = "its size is not stated"
	inScatter = "it is in the scatter of the pulls"
)

// clampDraws is how many clamp forces are drawn for the intervals of mu.
const clampDraws = 100_000

// doubt lists what cancels and what stays, and gives mu its interval with the
// clamp force in it, by Monte Carlo (JCGM 101): Student's t about each facing's
// mean, times the clamp force used over one drawn. One set of clamp forces
// serves all facings, as one screw served them. Ratios do not change.
//
// Tested against the interval of an invented vise by quadrature over its frictions.
func (w *work) doubt() error {
	d := &Doubt{Terms: []DoubtTerm{}}
	w.res.Doubt = d
	w.apart()
	if w.scale.band && w.res.Quantity == Mu {
		shifts, err := w.clampDoubt(d)
		if err != nil {
			return fmt.Errorf("uncertainty of the clamp force: %w", err)
		}
		for i := range w.facings {
			if err := w.muTotal(i, shifts); err != nil {
				return fmt.Errorf("facing %q: uncertainty of mu: %w", w.facings[i], err)
			}
			if w.scale.of[i] > 0 && w.scale.of[w.control] > 0 && w.scale.share(i) != w.scale.share(w.control) {
				w.warn("clamp-mixed", "some clamp forces were measured and some computed from the handle weight, in another share for %s than for %s; screw friction then does not quite cancel in their ratio, and its interval does not show that.", w.facings[i], w.res.Control)
			}
		}
	}
	w.namedTerms(d)
	return nil
}

// clampDoubt draws clamp forces at one weight (the screw's friction changes all
// of them by one factor) and gives the force used over each.
func (w *work) clampDoubt(d *Doubt) ([]float64, error) {
	rig, err := clamp.RigOf(w.study.Handle, w.study.Screw, 1)
	if err != nil {
		return nil, err
	}
	_, force, _, err := rig.Nominal()
	if err != nil {
		return nil, err
	}
	budget, err := rig.Budget()
	if err != nil {
		return nil, err
	}
	draws, err := rig.Draw(uncertainty.Options{Draws: clampDraws, Seed: w.o.Seed})
	if err != nil {
		return nil, err
	}
	s := uncertainty.Summarise(draws, w.o.Confidence)
	d.Clamp = &ClampDoubt{Number(budget.U), Number(s.Lower / force), Number(s.Upper / force), s.Draws, w.o.Seed}
	names := map[string]string{"thread friction": fromThread, "collar friction": fromCollar}
	for _, t := range budget.Terms {
		d.Terms = append(d.Terms, DoubtTerm{Term: names[t.Name], Ratio: Cancels, U: Number(t.Contribution)})
	}
	for i, v := range draws {
		draws[i] = force / v
	}
	w.warn("clamp-uncertain", "the clamp force comes from the weight on the handle, and screw friction is known only as a range: the true force lies within %+.0f to %+.0f %% of the one used (%.4g %% of draws). That is in mu, and cancels in the ratios between facings.",
		100*(s.Lower/force-1), 100*(s.Upper/force-1), 100*w.o.Confidence)
	return draws, nil
}

// muTotal gives the facing's mu with the uncertainty of the clamp force.
func (w *work) muTotal(i int, shifts []float64) error {
	f := &w.res.Facings[i]
	total := Estimate{f.Grip.Estimate, Unknown(), Unknown()}
	f.MuTotal = &total
	mean, se, df := w.meanOf(i)
	if !(se > 0) || !(df > 0) {
		return nil
	}
	draws, err := uncertainty.Sample([]uncertainty.Input{uncertainty.Estimated(fromPulls, mean, se, df)},
		func(x []float64) float64 { return x[0] }, uncertainty.Options{Draws: len(shifts), Seed: w.o.Seed + 1 + uint64(i)})
	if err != nil {
		return err
	}
	share := w.scale.share(i)
	for k, v := range draws {
		shift := shifts[k]
		if share < 1 { // some of its clamp forces were measured
			shift = math.Pow(shift, share)
		}
		draws[k] = math.Exp(v) * shift
	}
	s := uncertainty.Summarise(draws, w.o.Confidence)
	total.Lower, total.Upper = Number(s.Lower), Number(s.Upper)
	return nil
}

// namedTerms lists what has no size of its own in a study, and which way it goes.
func (w *work) namedTerms(d *Doubt) {
	add := func(ratio, note string, terms ...string) {
		for _, t := range terms {
			d.Terms = append(d.Terms, DoubtTerm{t, ratio, Unknown(), note})
		}
	}
	switch {
	case d.Clamp != nil:
		add(Cancels, notStated, "size and flank of the screw", "weight and arm of the handle", "local gravity")
	case w.res.Quantity == Mu:
		add(Cancels, notStated, "gain of what measures the clamp force")
	case w.res.Quantity == PerWeight:
		add(Cancels, notStated, "friction, size and flank of the screw", "arm of the handle", "local gravity")
	}
	add(Cancels, notStated, fromScale, "number of faces that rub", "grip factor, where all are seated and pulled alike")
	add(Stays, inScatter, "tightening and seating from pull to pull", "angle of the pull")
	if w.sampled {
		add(Stays, inScatter, "samples of a facing")
	}
	if w.bounded {
		add(Stays, "it is in the likelihood of each reading", "step of the scale")
	} else {
		add(Stays, inScatter, "step of the scale")
	}
	add(Stays, notStated, "zero of the scale", "drift of the screw between pulls (hence the random order)")
}

// apart adds to the budget of each ratio what it would be if nothing cancelled,
// and how strongly the two facings' grips hang together:
//
//	u_apart² = u_a² + u_b²,  r = (u_a² + u_b² − u_ratio²)/(2·u_a·u_b)
//
// all relative: JCGM 100, 5.2.2 for a quotient, read backwards.
func (w *work) apart() {
	own := map[string]float64{}
	for _, b := range w.res.Budgets {
		if b.Against == "" {
			own[b.Facing] = float64(b.U)
		}
	}
	for i := range w.res.Budgets {
		b := &w.res.Budgets[i]
		b.Apart, b.Correlation = Unknown(), Unknown()
		a, okA := own[b.Facing]
		c, okC := own[b.Against]
		if okA && okC {
			b.Apart = Number(math.Hypot(a, c))
			b.Correlation = Number((a*a + c*c - float64(b.U*b.U)) / (2 * a * c))
		}
	}
}
