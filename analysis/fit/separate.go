package fit

import (
	"errors"
	"math"

	"griptrial/analysis/dist"
)

// ErrNotSeparate: the rows have blocks, samples or slopes, which tie the facings
// together, so that a spread for each facing cannot be had by fitting each alone.
var ErrNotSeparate = errors.New("fit: facings share blocks, samples or slopes")

// Separate fits every facing on its own, with its own spread: by least squares
// where all rows are exact, by Censored otherwise.
//
// A difference of facings then has the standard error and degrees of freedom of
//
//	SE² = SE_a² + SE_b²,  df = SE⁴/(SE_a⁴/df_a + SE_b⁴/df_b)
//
// (B. L. Welch, Biometrika 34 (1947) 28; F. E. Satterthwaite, Biometrics
// Bulletin 2 (1946) 110). Limits are estimate ± t·SE where all rows are exact;
// otherwise they come from the two facings' distributions (type conditional),
// taken as independent (R. A. Fisher's solution of the problem of W.-V. Behrens).
//
// Sigma is NaN, for there is no common one; Spread gives a facing's own. LogLik
// is the sum.
//
// Errors: ErrNotSeparate, and those of the facings' fits: a facing needs two
// rows that slipped.
//
// Tested against R's t.test.
func Separate(d Data) (*Fitted, error) {
	if d.Blocks > 1 || d.Samples > 0 || len(d.Slopes) > 0 {
		return nil, ErrNotSeparate
	}
	n := d.Facings
	f := &Fitted{
		Method: "separate", N: len(d.Lower), P: n, Sigma: math.NaN(), Converged: true,
		layout: newLayout(Data{Facings: n}), cov: make([]float64, n*n), own: make([]*Fitted, n), Fit: make([]float64, len(d.Lower)),
	}
	estimate := Ordinary
	rows := make([]Data, n)
	for i, a := range d.Facing {
		if d.Lower[i] != d.Upper[i] {
			estimate = Censored
		}
		r := &rows[a]
		r.Facings = 1
		r.Lower, r.Upper, r.Facing = append(r.Lower, d.Lower[i]), append(r.Upper, d.Upper[i]), append(r.Facing, 0)
	}
	coef := make([]float64, n)
	df := make([]float64, n)
	for a, r := range rows {
		one, err := estimate(r)
		if err != nil {
			return nil, err
		}
		f.own[a] = one
		if one.Method != "ols" && one.given == nil {
			return nil, ErrNoFreedom
		}
		var se float64
		coef[a], se, df[a] = one.Contrast([]float64{1})
		f.cov[a*n+a] = se * se
		f.LogLik += one.LogLik
	}
	f.place(coef, 0)
	for i, a := range d.Facing {
		f.Fit[i] = coef[a]
	}
	f.freedom = func(l []float64, v float64) float64 {
		sum := 0.0
		for a, w := range l {
			if w != 0 {
				part := w * w * f.cov[a*n+a]
				sum += part * part / df[a]
			}
		}
		return v * v / sum
	}
	return f, nil
}

// Spread is the standard deviation of a pull on one sample of facing a.
func (f *Fitted) Spread(a int) float64 {
	if f.own != nil {
		return f.own[a].Sigma
	}
	return f.Sigma
}

// SpreadTest is Bartlett's test that the facings of a separate fit have one spread
// (M. S. Bartlett, Proceedings of the Royal Society A 160 (1937) 268), with the
// degrees of freedom that each facing's fit gives its spread:
//
//	[df log(sum df_a s_a²/df) - sum df_a log s_a²] / [1 + (sum 1/df_a - 1/df)/(3 (k - 1))],  chi² with k - 1
//
// s_a² is the mean square, or with bounds and intervals 1 over the mean of
// 1/sigma² over the spreads that the rows leave open. It supposes normal logs
// throughout. NaN where a spread is not known.
func (f *Fitted) SpreadTest() (statistic, df, p float64) {
	var total, pooled, logs, inverse float64
	for _, one := range f.own {
		s2, freedom := one.Sigma*one.Sigma, float64(one.N-one.P)
		if one.given != nil {
			s2, freedom = one.given.precision()
		} else if math.IsNaN(one.freedom([]float64{1}, 1)) {
			freedom = math.NaN()
		}
		total += freedom
		pooled += freedom * s2
		logs += freedom * math.Log(s2)
		inverse += 1 / freedom
	}
	df = float64(len(f.own) - 1)
	statistic = (total*math.Log(pooled/total) - logs) / (1 + (inverse-1/total)/(3*df))
	return statistic, df, dist.ChiSquaredSurvival(statistic, df)
}

// precision is 1 over the mean of 1/sigma² and its degrees of freedom.
func (m *conditional) precision() (s2, df float64) {
	var first, second float64
	for _, node := range m.nodes {
		u := 1 / (node.sigma * node.sigma)
		first += node.weight * u
		second += node.weight * u * u
	}
	return 1 / first, 2 * first * first / (second - first*first)
}

// together is the distribution of l·b over the facings' own ones, taken as
// independent.
func together(own []*Fitted, l []float64) along {
	var sum along
	for a, w := range l {
		if w == 0 {
			continue
		}
		one := own[a].given.along([]float64{1}, 0)
		one.scale(w, own[a].shift)
		if sum.weight == nil {
			sum = one
		} else {
			sum = sum.plus(one)
		}
	}
	return sum
}

// scale turns the distribution of b into that of w·(b + shift).
func (a along) scale(w, shift float64) {
	for i := range a.weight {
		a.mean[i] = w * (a.mean[i] + shift)
		a.sd[i] *= math.Abs(w)
		a.skew[i] = math.Copysign(1, w) * a.skew[i]
	}
}

// slight is a weight that changes no digit that is shown.
const slight = 1e-10

// plus is the distribution of the sum of independent values.
func (a along) plus(b along) along {
	var s along
	for i, v := range a.weight {
		for j, w := range b.weight {
			if v*w < slight {
				continue
			}
			variance := a.sd[i]*a.sd[i] + b.sd[j]*b.sd[j]
			sd := math.Sqrt(variance)
			s.weight, s.mean, s.sd = append(s.weight, v*w), append(s.mean, a.mean[i]+b.mean[j]), append(s.sd, sd)
			s.skew = append(s.skew, (a.skew[i]*math.Pow(a.sd[i], 3)+b.skew[j]*math.Pow(b.sd[j], 3))/(variance*sd))
		}
	}
	return s
}
