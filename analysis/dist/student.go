package dist

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// TSurvival is the probability that Student's t with df degrees of freedom
// exceeds t. df is above 0, need not be whole, and may be +Inf.
//
//	P(T > t) = I_x(df/2, 1/2)/2 for t >= 0, x = df/(df + t²)
//
// (M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 26.7.1).
func TSurvival(t, df float64) float64 {
	if math.IsNaN(t) || !(df > 0) {
		return math.NaN()
	}
	if t < 0 {
		return 1 - TSurvival(-t, df)
	}
	if math.IsInf(df, 1) {
		return Below(-t)
	}
	if t*t < df/1e4 || t < 0.5 { // the complement keeps more digits here
		return 0.5 - mathext.RegIncBeta(0.5, df/2, t*t/(df+t*t))/2
	}
	return mathext.RegIncBeta(df/2, 0.5, df/(df+t*t)) / 2
}

// TQuantile is the t that Student's t with df degrees of freedom exceeds with
// probability tail: the factor of a 95 % interval at tail = 0.025. NaN unless
// 0 < tail < 1.
func TQuantile(tail, df float64) float64 {
	switch {
	case !(tail > 0 && tail < 1) || !(df > 0):
		return math.NaN()
	case tail == 0.5:
		return 0
	case tail > 0.5:
		return -TQuantile(1-tail, df)
	case math.IsInf(df, 1):
		return -NormalQuantile(tail)
	}
	// The quantile lies between the normal one and, in the heaviest tail met
	// here, a power of the tail.
	f := func(t float64) float64 { return math.Log(TSurvival(t, df)) - math.Log(tail) }
	lo := 0.0
	hi := -NormalQuantile(tail)
	for f(hi) > 0 {
		lo, hi = hi, 2*hi
	}
	return solve(f, lo, hi)
}

// FSurvival is the probability that F with d1 and d2 degrees of freedom
// exceeds f (Abramowitz and Stegun 26.6.2).
func FSurvival(f, d1, d2 float64) float64 {
	if math.IsNaN(f) || !(d1 > 0) || !(d2 > 0) {
		return math.NaN()
	}
	if f <= 0 {
		return 1
	}
	if math.IsInf(f, 1) {
		return 0
	}
	return mathext.RegIncBeta(d2/2, d1/2, d2/(d2+d1*f))
}

// ChiSquaredSurvival is the probability that chi-squared with df degrees of
// freedom exceeds x (Abramowitz and Stegun 26.4.19).
func ChiSquaredSurvival(x, df float64) float64 {
	if math.IsNaN(x) || !(df > 0) {
		return math.NaN()
	}
	if x <= 0 {
		return 1
	}
	if math.IsInf(x, 1) {
		return 0
	}
	return mathext.GammaIncRegComp(df/2, x/2)
}
