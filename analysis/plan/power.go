package plan

import (
	"math"

	"griptrial/analysis/dist"
)

// Side is the number of tails of a test.
type Side int

// The two kinds of test.
const (
	OneSided Side = 1
	TwoSided Side = 2
)

// Power is the probability that a t test comes out: that T exceeds its
// critical value, where T is noncentral t with df degrees of freedom and
// noncentrality delta (the true effect over its standard error).
//
//	one-sided  P(T > t[1-alpha, df])
//	two-sided  P(|T| > t[1-alpha/2, df])
//
// alpha is the level of the test, 0 < alpha < 1; df > 0. NaN for anything else.
//
// Source: the definition of the noncentral t distribution; NIST/SEMATECH
// e-Handbook 7.2.2.2 states the problem (and solves it approximately).
func Power(delta, df, alpha float64, side Side) float64 {
	if !(df > 0) || !(alpha > 0 && alpha < 1) || math.IsNaN(delta) {
		return math.NaN()
	}
	t := dist.TQuantile(alpha/float64(side), df)
	p := dist.NoncentralTSurvival(t, df, delta)
	if side == TwoSided {
		p += dist.NoncentralTCDF(-t, df, delta)
	}
	return p
}

// TwoSample is the power of the t test of two groups of n each that share the
// standard deviation sd and differ by effect: delta = effect/(sd·sqrt(2/n)),
// df = 2(n-1). NaN for n < 2.
func TwoSample(n int, effect, sd, alpha float64, side Side) float64 {
	if n < 2 {
		return math.NaN()
	}
	return Power(effect/(sd*math.Sqrt(2/float64(n))), float64(2*(n-1)), alpha, side)
}

// OneSample is the power of the t test of one mean of n values with standard
// deviation sd that lies effect away: delta = effect·sqrt(n)/sd, df = n-1. NaN
// for n < 2.
func OneSample(n int, effect, sd, alpha float64, side Side) float64 {
	if n < 2 {
		return math.NaN()
	}
	return Power(effect*math.Sqrt(float64(n))/sd, float64(n-1), alpha, side)
}

// most is the greatest number of pulls that is looked for: no shop pulls more.
const most = 10000

// least finds the smallest n from 2 on for which the power is reached.
func least(power float64, at func(n int) float64) (int, bool) {
	if !(at(most) >= power) {
		return 0, false
	}
	lo, hi := 1, most
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; at(mid) >= power {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, true
}
