package analysis

import (
	"math"

	"griptrial/analysis/clamp"
	"griptrial/analysis/uncertainty"
)

// Sources of doubt that a budget lists.
const (
	fromPulls  = "scatter of the pulls"
	fromThread = "friction in the screw's thread"
	fromCollar = "friction under the screw's collar"
	fromScale  = "calibration of the scale"
	fromClamp  = "measured clamp force"
)

// budgets lists where the doubt in each facing's grip comes from, and that in
// its ratio to the control, as relative standard uncertainties:
//
//	grip = exp(mean log value) · K(f, f_c)/K(middle) · s,   s = 1 ± u of the scale,
//
// K the torque for each unit of clamp force. The mean has the standard error and
// degrees of freedom of its own pulls or of the model (samples included);
// thread and collar friction are uniform within their ranges; the scale's u is
// as stated or calibrated. In a ratio at equal handle weight all but the pulls cancel.
// What has no stated uncertainty stands in the list as unknown and is not in the
// sum. Propagated to first order (uncertainty.Propagate; JCGM 100:2008).
func (w *work) budgets() {
	w.res.Budgets = []Budget{}
	for i := range w.facings {
		mean, se, df := w.meanOf(i)
		if !(se > 0) || !(df > 0) {
			continue
		}
		if b, ok := w.budgetOf(mean, se, df); ok {
			b.Facing = w.facings[i]
			w.res.Budgets = append(w.res.Budgets, b)
		}
	}
	for i := range w.facings {
		if i == w.control || w.model == nil || w.inModel[i] < 0 || w.inModel[w.control] < 0 {
			continue
		}
		l, ok := w.compared().Difference(w.inModel[w.control], w.inModel[i])
		if !ok {
			continue
		}
		d, se, df := w.compared().Contrast(l)
		if !(se > 0) || !(df > 0) {
			continue
		}
		b := Budget{Facing: w.facings[i], Against: w.res.Control, Value: exp(d)}
		p, err := uncertainty.Propagate([]uncertainty.Input{uncertainty.Estimated(fromPulls, d, se, df)},
			func(x []float64) float64 { return math.Exp(x[0]) }, nil, w.o.Confidence)
		if err != nil {
			continue
		}
		b.take(p)
		for _, source := range w.sources()[1:] {
			b.Terms = append(b.Terms, BudgetTerm{Source: source, U: 0, Share: 0, Cancels: true})
		}
		w.res.Budgets = append(w.res.Budgets, b)
	}
}

// sources lists what makes doubt in a grip of this trial, the pulls first.
func (w *work) sources() []string {
	list := []string{fromPulls}
	switch {
	case w.res.Quantity == Mu && w.scale.band:
		list = append(list, fromThread, fromCollar)
	case w.res.Quantity == Mu && clamp.Known(w.study.Screw) && w.computes():
		list = append(list, fromThread)
	case w.res.Quantity == Mu:
		list = append(list, fromClamp)
	}
	return append(list, fromScale)
}

// computes reports whether some clamp force is computed from a handle weight.
func (w *work) computes() bool {
	for _, r := range w.rows {
		if w.readings[r.at].Clamp == 0 {
			return true
		}
	}
	return false
}

// meanOf is the mean log value of a facing with its standard error and degrees
// of freedom; se is NaN where there are none.
func (w *work) meanOf(i int) (mean, se, df float64) {
	switch {
	case w.own(i):
		n := float64(len(w.exact[i]))
		sum, squares := 0.0, 0.0
		for _, x := range w.exact[i] {
			sum += x
		}
		mean = sum / n
		for _, x := range w.exact[i] {
			squares += (x - mean) * (x - mean)
		}
		return mean, math.Sqrt(squares / (n - 1) / n), n - 1
	case w.model != nil && w.inModel[i] >= 0:
		m := w.compared()
		return m.Contrast(m.Mean(w.inModel[i]))
	}
	return math.NaN(), math.NaN(), math.NaN()
}

// budgetOf propagates the doubt in one facing's grip.
func (w *work) budgetOf(mean, se, df float64) (Budget, bool) {
	s := w.study.Screw
	inputs := []uncertainty.Input{uncertainty.Estimated(fromPulls, mean, se, df)}
	thread, collar, middle := -1, -1, 1.0
	uniform := func(name string, low, high float64) int {
		inputs = append(inputs, uncertainty.Uniform(name, low, math.Max(low, high)))
		return len(inputs) - 1
	}
	if w.res.Quantity == Mu && w.scale.band {
		thread, collar = uniform(fromThread, s.ThreadLow, s.ThreadHigh), uniform(fromCollar, s.CollarLow, s.CollarHigh)
		k, err := clamp.TorquePerForce(s, inputs[thread].Mean, inputs[collar].Mean)
		if err != nil {
			return Budget{}, false
		}
		middle = k
	}
	scale := -1
	if w.study.Scale.U > 0 {
		inputs = append(inputs, uncertainty.Normal(fromScale, 1, w.study.Scale.U))
		scale = len(inputs) - 1
	}
	p, err := uncertainty.Propagate(inputs, func(x []float64) float64 {
		y := math.Exp(x[0])
		if thread >= 0 {
			k, err := clamp.TorquePerForce(s, x[thread], x[collar])
			if err != nil {
				return math.NaN()
			}
			y *= k / middle
		}
		if scale >= 0 {
			y *= x[scale]
		}
		return y
	}, nil, w.o.Confidence)
	if err != nil {
		return Budget{}, false
	}
	b := Budget{}
	b.take(p)
	for _, source := range w.sources() {
		if !b.has(source) {
			b.Terms = append(b.Terms, BudgetTerm{Source: source, U: Unknown(), Share: Unknown()})
		}
	}
	return b, true
}

// take reads a propagated budget, relative to its value.
func (b *Budget) take(p uncertainty.Budget) {
	b.Value, b.U, b.DF, b.K, b.Expanded = Number(p.Value), Number(p.Relative()), Number(p.DF), Number(p.K), Number(p.K*p.Relative())
	for _, t := range p.Terms {
		b.Terms = append(b.Terms, BudgetTerm{Source: t.Name, U: Number(t.Contribution / math.Abs(p.Value)), Share: Number(t.Share)})
	}
}

func (b *Budget) has(source string) bool {
	for _, t := range b.Terms {
		if t.Source == source {
			return true
		}
	}
	return false
}
