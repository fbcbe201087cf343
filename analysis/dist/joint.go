package dist

import "math"

// Joint is the distribution of the greatest of several statistics that share
// one estimate of spread, at any number of degrees of freedom df (above 0;
// +Inf allowed). NewRange and NewManyToOne make it.
//
// With R(w) the probability that the statistic exceeds w where the spread is
// known,
//
//	P(Q > t) = ∫ f(x) R(t e^x) dx,  x = log s.
//
// The trapezoidal rule may be shifted at will: its nodes are laid so that the
// t e^x are the same for every t, e^(j h). Each R(e^(j h)) is worked out once
// and kept, so many p-values and quantiles of one Joint cost little more than
// one. It is therefore not for use by two goroutines at once.
type Joint struct {
	count          int     // normal factors; 0 marks parameters that make no distribution
	student        float64 // with two groups, what makes the statistic of |t|; 0 otherwise
	comparisons    float64 // for the first guess of a quantile
	beyond, within func(w float64) float64
	above, below   map[float64]map[int]float64 // kept values by step, then node
}

func newJoint(count int, comparisons float64, beyond, within func(w float64) float64) *Joint {
	return &Joint{count: count, comparisons: comparisons, beyond: beyond, within: within,
		above: map[float64]map[int]float64{}, below: map[float64]map[int]float64{}}
}

// Survival is the probability that the statistic exceeds t: the adjusted
// p-value. NaN where the parameters make no distribution.
func (d *Joint) Survival(t, df float64) float64 {
	if math.IsNaN(t) || d.count == 0 || !(df > 0) {
		return math.NaN()
	}
	if t <= 0 {
		return 1
	}
	if math.IsInf(t, 1) {
		return 0
	}
	if d.student > 0 {
		return 2 * TSurvival(t/d.student, df)
	}
	return d.average(t, df, d.beyond, d.above)
}

// CDF is the probability that the statistic is at most t; see Survival.
func (d *Joint) CDF(t, df float64) float64 {
	if math.IsNaN(t) || d.count == 0 || !(df > 0) {
		return math.NaN()
	}
	if t <= 0 {
		return 0
	}
	if math.IsInf(t, 1) {
		return 1
	}
	return d.average(t, df, d.within, d.below)
}

// average is the mean of g(t S), with what is kept of g.
func (d *Joint) average(t, df float64, g func(w float64) float64, kept map[float64]map[int]float64) float64 {
	if math.IsInf(df, 1) {
		return g(t)
	}
	c := newScale(df, 2*float64(d.count))
	nodes := kept[c.step]
	if nodes == nil {
		nodes = map[int]float64{}
		kept[c.step] = nodes
	}
	return math.Min(1, c.average(math.Log(t), func(j int) float64 {
		v, ok := nodes[j]
		if !ok {
			v = g(math.Exp(float64(j) * c.step))
			nodes[j] = v
		}
		return v
	}))
}

// Quantile is the value that the statistic exceeds with probability tail: the
// critical value, or factor of simultaneous intervals, at tail = 0.05. NaN
// unless 0 < tail < 1.
func (d *Joint) Quantile(tail, df float64) float64 {
	if !(tail > 0 && tail < 1) || d.count == 0 || !(df > 0) {
		return math.NaN()
	}
	if d.student > 0 {
		return d.student * TQuantile(tail/2, df)
	}
	return upperQuantile(tail,
		func(t float64) float64 { return d.CDF(t, df) },
		func(t float64) float64 { return d.Survival(t, df) }, TQuantile(tail/2/d.comparisons, df))
}
