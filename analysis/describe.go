package analysis

import (
	"fmt"
	"math"
	"strings"

	"griptrial/analysis/compare"
	"griptrial/analysis/dist"
	"griptrial/analysis/trial"
)

// coverages of the tolerance bounds, as shares of clampings.
var coverages = []float64{0.95, 0.99}

// count writes a number with its noun.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// noEstimate is an estimate of which nothing is known.
func noEstimate() Estimate { return Estimate{Unknown(), Unknown(), Unknown()} }

// describeFacings fills in each facing on its own.
func (w *work) describeFacings() {
	samples := make([]map[string]bool, len(w.facings))
	voids := make([]int, len(w.facings))
	for i := range samples {
		samples[i] = map[string]bool{}
	}
	for _, r := range w.readings {
		f, known := w.index[r.Facing]
		if !known {
			continue
		}
		if r.Outcome == trial.Void {
			voids[f]++
		} else if r.Sample != "" && r.Outcome != trial.Unclear {
			samples[f][r.Sample] = true
		}
	}
	for i, name := range w.facings {
		f := FacingResult{
			Facing: name, Slipped: w.slipped[i], Held: w.held[i], Void: voids[i], Samples: len(samples[i]),
			Grip: noEstimate(), LogSD: Unknown(), CV: Unknown(),
		}
		for _, c := range coverages {
			f.Tolerance = append(f.Tolerance, Tolerance{c, w.o.Confidence, Unknown()})
		}
		if w.own(i) {
			w.describeOwn(i, &f)
		} else {
			w.describeFitted(i, &f)
		}
		if f.LogSD.Known() {
			sd := float64(f.LogSD)
			f.CV = Number(math.Sqrt(math.Expm1(sd * sd)))
		}
		if w.res.Quantity == Mu {
			mu := f.Grip
			f.Mu = &mu
			f.Clamp = "measured"
			if share := w.scale.share(i); share == 1 {
				f.Clamp = "computed"
			} else if share > 0 {
				f.Clamp = "mixed"
			}
		}
		w.res.Facings = append(w.res.Facings, f)
	}
	w.largeScatter()
	w.implausible()
}

// A friction coefficient of jaw faces outside of these is looked at again: dry
// plastics that slide best have about 0.04, soft rubber seldom more than 2
// (common practice, no source).
const (
	leastMu = 0.02
	mostMu  = 3
)

// implausible warns of facings whose coefficient is hardly one of friction.
func (w *work) implausible() {
	var odd []string
	for _, f := range w.res.Facings {
		if f.Mu != nil && f.Mu.Estimate.Known() && (f.Mu.Estimate < leastMu || f.Mu.Estimate > mostMu) {
			odd = append(odd, fmt.Sprintf("%s (%.3g)", f.Facing, float64(f.Mu.Estimate)))
		}
	}
	if len(odd) > 0 {
		w.warn("mu-implausible", "the friction coefficient of %s lies outside %v to %v, where jaw faces are hardly ever found. Usually the handle's arm or mass, the screw, the clamp force or a unit is wrong: look at them, and at the unit of the readings. Ratios between facings stand where all pulls share the mistake; the clamp window does not. (The limits are common practice, without a source.)",
			strings.Join(odd, ", "), leastMu, mostMu)
	}
}

// muchScatter is the coefficient of variation above which pulls on one facing
// are looked at again: common practice, no source.
const muchScatter = 0.4

// largeScatter warns of facings whose pulls differ more than one facing under
// one condition does.
func (w *work) largeScatter() {
	var wide []string
	for _, f := range w.res.Facings {
		if f.CV > muchScatter {
			wide = append(wide, fmt.Sprintf("%s (%.0f %%)", f.Facing, 100*float64(f.CV)))
		}
	}
	if len(wide) > 0 {
		w.warn("large-scatter", "single pulls scatter by more than %.0f %% on %s. Readings may stand at the wrong pulls, or two conditions are mixed, such as dry and oiled: look at the pulls one by one. (The limit is common practice, without a source.)",
			100*muchScatter, strings.Join(wide, ", "))
	}
}

// own reports whether facing i is described from its own pulls: they are exact
// and independent.
func (w *work) own(i int) bool {
	return w.slipped[i] > 0 && w.held[i] == 0 && len(w.exact[i]) == w.slipped[i] && !w.sampled
}

// describeOwn takes the geometric mean of the facing's own pulls, with Student's
// t, and exact one-sided tolerance bounds.
func (w *work) describeOwn(i int, f *FacingResult) {
	x := w.exact[i]
	n := float64(len(x))
	mean, variance := compare.MeanVariance(x)
	f.Grip.Estimate = Number(math.Exp(mean))
	sd := math.Sqrt(variance)
	switch {
	case n < 2:
		w.warn("one-pull", "%s: one pull says nothing about scatter, so there is no interval. Two earn a wide one, five a useful one.", f.Facing)
		return
	case !(sd > 4e-16*math.Abs(mean)):
		w.warn("zero-spread", "%s: all pulls read the same, so their scatter is not known and no interval is given. Read the force more finely.", f.Facing)
		return
	}
	reach := dist.TQuantile((1-w.o.Confidence)/2, n-1) * sd / math.Sqrt(n)
	f.Grip.Lower, f.Grip.Upper = Number(math.Exp(mean-reach)), Number(math.Exp(mean+reach))
	f.LogSD = Number(sd)
	for k, c := range coverages {
		f.Tolerance[k].Lower, _ = w.tolerance(i, c)
	}
}

// tolerance bounds the value that the share coverage of single pulls on the
// facing exceeds: below and above, each with the confidence asked. Unknown
// where scatter is.
//
// From independent exact pulls the bounds are exact (noncentral t); from a
// fitted model see fit.Tolerance.
func (w *work) tolerance(i int, coverage float64) (lower, upper Number) {
	switch {
	case w.own(i):
		mean, variance := compare.MeanVariance(w.exact[i])
		at := func(confidence float64) Number {
			return exp(mean - compare.ToleranceFactor(float64(len(w.exact[i])), coverage, confidence)*math.Sqrt(variance))
		}
		return at(w.o.Confidence), at(1 - w.o.Confidence)
	case w.model != nil && w.inModel[i] >= 0:
		m := w.compared()
		l := m.Mean(w.inModel[i])
		return exp(m.Tolerance(l, coverage, w.o.Confidence)), exp(m.Tolerance(l, coverage, 1-w.o.Confidence))
	}
	return Unknown(), Unknown()
}

// describeFitted reads the facing off the model.
func (w *work) describeFitted(i int, f *FacingResult) {
	if w.inModel[i] < 0 || w.model == nil {
		if w.held[i] == 0 && w.slipped[i] > 0 {
			mean, _ := w.readMean(i, false)
			f.Grip.Estimate = exp(mean)
		}
		return
	}
	m := w.compared()
	l := m.Mean(w.inModel[i])
	lower, upper := m.Limits(l, w.o.Confidence)
	f.Grip = Estimate{exp(m.Estimate(l)), exp(lower), exp(upper)}
	f.LogSD = Number(w.scatter(i))
	for k, c := range coverages {
		f.Tolerance[k].Lower, _ = w.tolerance(i, c)
	}
}
