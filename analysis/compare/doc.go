// Package compare says how facings differ: ratios with intervals that stand
// together, classical tests of groups, and one-sided tolerance bounds.
//
// It takes a fitted model, or plain groups of log values, one slice a facing,
// and gives results on the log scale. Arguments are never changed.
package compare

import (
	"math"

	"griptrial/analysis/dist"
	"griptrial/analysis/fit"
)

// Comparison is the difference of two facings, b minus a, on the log scale.
type Comparison struct {
	A, B         int
	Difference   float64
	SE, DF       float64
	Lower, Upper float64 // simultaneous, at the asked confidence
	P            float64 // adjusted; two-sided
	Single       Limits  // the same comparison on its own
	Adjusted     string  // "dunnett", "tukey-kramer", "games-howell" or "none"
}

// Limits are an interval and a two-sided p-value without adjustment.
type Limits struct{ Lower, Upper, P float64 }

// reach gives the limits of a comparison t standard errors off on Student's
// scale, and the statistic of no difference (fit.LimitsAt and fit.Statistic,
// where a model was fitted).
type reach struct {
	at        func(t float64) (lower, upper float64)
	statistic float64
}

// student is the reach of a comparison that follows Student's t.
func (c *Comparison) student() reach {
	return reach{func(t float64) (float64, float64) { return c.Difference - t*c.SE, c.Difference + t*c.SE }, c.Difference / c.SE}
}

// single fills the unadjusted part with Student's t.
func (c *Comparison) single(confidence float64) { c.alone(confidence, c.student()) }

// alone fills the unadjusted part.
func (c *Comparison) alone(confidence float64, r reach) {
	c.Single.Lower, c.Single.Upper = r.at(dist.TQuantile((1-confidence)/2, c.DF))
	c.Single.P = 2 * dist.TSurvival(math.Abs(r.statistic), c.DF)
}

// contrast makes the unadjusted comparison of facings a and b; ok is false
// where blocks do not connect them.
func contrast(f *fit.Fitted, a, b int, confidence float64) (c Comparison, r reach, ok bool) {
	l, ok := f.Difference(a, b)
	if !ok {
		return Comparison{A: a, B: b}, r, false
	}
	c = Comparison{A: a, B: b}
	c.Difference, c.SE, c.DF = f.Contrast(l)
	r.statistic, _ = f.Statistic(l)
	r.at = func(t float64) (float64, float64) { return f.LimitsAt(l, t) }
	c.alone(confidence, r)
	return c, r, true
}

// AgainstControl compares each of the facings others with the control. The
// intervals hold together at the confidence, and P is adjusted, by Dunnett's
// distribution with the correlations of the fitted model; a single comparison
// needs no adjustment and says "none". Facings that blocks do not connect with
// the control are left out.
//
// Where the correlations are not exactly products (unbalanced blocks, four
// facings or more) the nearest product correlations are taken; see loadings. In 59
// random designs of four to six facings in two to five blocks with none to six
// pulls in a cell, what was called 0.05 then was 0.04990 to 0.05002 (R's mvtnorm,
// by its quasi-Monte Carlo to 2e-5).
func AgainstControl(f *fit.Fitted, control int, others []int, confidence float64) []Comparison {
	var list []Comparison
	var contrasts [][]float64
	var limits []reach
	for _, b := range others {
		if c, r, ok := contrast(f, control, b, confidence); ok {
			list, limits = append(list, c), append(limits, r)
			l, _ := f.Difference(control, b)
			contrasts = append(contrasts, l)
		}
	}
	if len(list) == 1 {
		c := &list[0]
		c.Lower, c.Upper, c.P, c.Adjusted = c.Single.Lower, c.Single.Upper, c.Single.P, "none"
		return list
	}
	d := dist.NewManyToOne(loadings(correlations(f, contrasts)))
	critical := map[float64]float64{} // by degrees of freedom
	for i := range list {
		c := &list[i]
		q, ok := critical[c.DF]
		if !ok {
			q = d.Quantile(1-confidence, c.DF)
			critical[c.DF] = q
		}
		c.Lower, c.Upper = limits[i].at(q)
		c.P = d.Survival(math.Abs(limits[i].statistic), c.DF)
		c.Adjusted = "dunnett"
	}
	return list
}

// correlations of the contrasts.
func correlations(f *fit.Fitted, contrasts [][]float64) [][]float64 {
	r := make([][]float64, len(contrasts))
	for i := range r {
		r[i] = make([]float64, len(contrasts))
		for j := range r[i] {
			r[i][j] = f.Covariance(contrasts[i], contrasts[j])
		}
	}
	for i := range r {
		for j := range r {
			if i != j {
				r[i][j] /= math.Sqrt(r[i][i] * r[j][j])
			}
		}
	}
	for i := range r {
		r[i][i] = 1
	}
	return r
}

// loadings finds l with l_i·l_j = r_ij: exactly where there is such an l, and
// with the least sum of squared differences otherwise, by turns over the l_i.
func loadings(r [][]float64) []float64 {
	p := len(r)
	l := make([]float64, p)
	for i := range l {
		// Exact where the correlations are products: the mean over all pairs
		// of r_ij r_ik / r_jk. For two comparisons, sqrt(r_12).
		sum, count := 0.0, 0.0
		for j := range p {
			for k := range j {
				if j != i && k != i && r[j][k] != 0 {
					sum += r[i][j] * r[i][k] / r[j][k]
					count++
				}
			}
		}
		if p == 2 {
			sum, count = r[0][1], 1
		}
		l[i] = math.Sqrt(math.Max(0, math.Min(0.9999, sum/math.Max(1, count))))
	}
	if p == 2 {
		return l
	}
	for range 200 {
		moved := 0.0
		for i := range l {
			num, den := 0.0, 0.0
			for j := range l {
				if j != i {
					num += r[i][j] * l[j]
					den += l[j] * l[j]
				}
			}
			if den == 0 {
				continue
			}
			next := math.Max(0, math.Min(0.9999, num/den))
			moved = math.Max(moved, math.Abs(next-l[i]))
			l[i] = next
		}
		if moved < 1e-13 {
			break
		}
	}
	return l
}

// AllPairs compares every two of the facings by Tukey and Kramer's method:
// the studentized range with the limits and degrees of freedom of each
// pair (C. Y. Kramer, Biometrics 12 (1956) 307). Pairs that blocks do not
// connect are left out. With two facings nothing is adjusted but the name. With
// a spread of each facing's own (fit.Separate) it is the method of P. A. Games
// and J. F. Howell, Journal of Educational Statistics 1 (1976) 113.
func AllPairs(f *fit.Fitted, facings []int, confidence float64) []Comparison {
	var list []Comparison
	d := dist.NewRange(len(facings))
	critical := map[float64]float64{} // by degrees of freedom
	for i, a := range facings {
		for _, b := range facings[i+1:] {
			c, r, ok := contrast(f, a, b, confidence)
			if !ok {
				continue
			}
			c.studentized(d, confidence, critical, r)
			c.Adjusted = "tukey-kramer"
			if f.Method == "separate" {
				c.Adjusted = "games-howell"
			}
			list = append(list, c)
		}
	}
	return list
}

// studentized fills the adjusted part from the studentized range d; critical
// keeps its quantiles by degrees of freedom.
func (c *Comparison) studentized(d *dist.Joint, confidence float64, critical map[float64]float64, r reach) {
	q, ok := critical[c.DF]
	if !ok {
		q = d.Quantile(1-confidence, c.DF) / math.Sqrt2
		critical[c.DF] = q
	}
	c.Lower, c.Upper = r.at(q)
	c.P = d.Survival(math.Sqrt2*math.Abs(r.statistic), c.DF)
}

// MeanVariance is the mean and the variance (over n - 1) of at least one
// value, by two passes about the first value with compensated sums; the
// variance of one value is NaN. Tested against the NIST StRD univariate sets.
func MeanVariance(x []float64) (mean, variance float64) {
	n := float64(len(x))
	var first, squares, slip total
	for _, v := range x {
		first.add(v - x[0])
	}
	mean = first.sum() / n
	for _, v := range x {
		e := v - x[0] - mean
		squares.add(e * e)
		slip.add(e)
	}
	return x[0] + mean, (squares.sum() - slip.sum()*slip.sum()/n) / (n - 1)
}

// total is a sum that carries its rounding error along (A. Neumaier, ZAMM 54
// (1974) 39).
type total struct{ s, c float64 }

func (t *total) add(v float64) {
	s := t.s + v
	if math.Abs(t.s) >= math.Abs(v) {
		t.c += (t.s - s) + v
	} else {
		t.c += (v - s) + t.s
	}
	t.s = s
}

func (t total) sum() float64 { return t.s + t.c }
