package fit

import "math"

const halfLog2Pi = 0.918938533204672741780329736406 // log(2 pi)/2

// hazard is phi(z)/Phi(-z), the rate at which a standard normal that exceeds
// z falls there.
func hazard(z float64) float64 { return 1 / mills(z) }

// mills is Mills' ratio Phi(-z)/phi(z). Beyond z = 12 the continued fraction
// 1/(z+ 1/(z+ 2/(z+ 3/(z+ ...)))) is used (Abramowitz and Stegun 26.2.14),
// whose 30 terms are exact to the last digit there.
func mills(z float64) float64 {
	if z < 12 {
		return math.Erfc(z/math.Sqrt2) / 2 * math.Exp(z*z/2+halfLog2Pi)
	}
	v := z
	for k := 30.0; k >= 1; k-- {
		v = z + k/v
	}
	return 1 / v
}

// logBetween is log{Phi(b) - Phi(a)} for a < b, either of them infinite,
// together with phi(a) and phi(b) over that probability.
func logBetween(a, b float64) (log, overA, overB float64) {
	if a+b < 0 { // the lower tail mirrors the upper one
		log, overB, overA = logBetween(-b, -a)
		return log, overA, overB
	}
	if math.IsInf(a, -1) && math.IsInf(b, 1) {
		return 0, 0, 0
	}
	// Phi(b) - Phi(a) = phi(a) {mills(a) - mills(b) phi(b)/phi(a)}, which
	// holds where both tails underflow; a narrow interval is a series.
	if math.IsInf(b, 1) {
		if a < 12 {
			p := math.Erfc(a/math.Sqrt2) / 2
			return math.Log(p), math.Exp(-a*a/2-halfLog2Pi) / p, 0
		}
		m := mills(a)
		return math.Log(m) - a*a/2 - halfLog2Pi, 1 / m, 0
	}
	if (b-a)*math.Max(1, math.Abs(b)) < 0.3 {
		m, h := (a+b)/2, (b-a)/2
		lift := math.Exp(h * m)
		sum := 2 * h * narrow(m, h)
		edge := math.Exp(-h*h/2) / sum
		return math.Log(sum) - m*m/2 - halfLog2Pi, edge * lift, edge / lift
	}
	var d float64 // the probability over phi(a), or over 1 where a is not in the tail
	if a > 5 {
		ratio := math.Exp((a - b) * (a + b) / 2)
		d = mills(a) - mills(b)*ratio
		return math.Log(d) - a*a/2 - halfLog2Pi, 1 / d, ratio / d
	}
	d = (math.Erfc(a/math.Sqrt2) - math.Erfc(b/math.Sqrt2)) / 2
	log = math.Log(d)
	return log, math.Exp(-a*a/2 - halfLog2Pi - log), math.Exp(-b*b/2 - halfLog2Pi - log)
}

// narrow is {Phi(m + h) - Phi(m - h)}/{2 h phi(m)} by Taylor's series,
//
//	sum over k of He_2k(m) h^2k/(2k + 1)!,
//
// He the Hermite polynomials (Abramowitz and Stegun 26.2.31 gives the first
// terms). With h max(1, m) below 0.15 six terms are exact to the last digit.
func narrow(m, h float64) float64 {
	q, x := h*h, m*m
	return 1 + q/6*(x-1+q/20*(x*x-6*x+3+q/42*(x*x*x-15*x*x+45*x-15+
		q/72*(x*x*x*x-28*x*x*x+210*x*x-420*x+105+q/110*(x*x*x*x*x-45*x*x*x*x+630*x*x*x-3150*x*x+4725*x-945)))))
}

// rowLikelihood is the log-likelihood of one row whose log value is normal with
// the mean and standard deviation given, its derivative by the mean, and minus
// the second derivative.
func rowLikelihood(lower, upper, mean, sigma float64) (log, slope, curve float64) {
	if lower == upper {
		z := (lower - mean) / sigma
		return -z*z/2 - math.Log(sigma) - halfLog2Pi, z / sigma, 1 / (sigma * sigma)
	}
	za, zb := (lower-mean)/sigma, (upper-mean)/sigma
	log, a, b := logBetween(za, zb)
	curve = (b - a) * (b - a)
	if !math.IsInf(za, 0) {
		curve -= za * a
	}
	if !math.IsInf(zb, 0) {
		curve += zb * b
	}
	return log, (a - b) / sigma, curve / (sigma * sigma)
}

// rowThird is the third derivative of the log-likelihood of one row by its
// mean; 0 for an exact row.
func rowThird(lower, upper, mean, sigma float64) float64 {
	if lower == upper {
		return 0
	}
	za, zb := (lower-mean)/sigma, (upper-mean)/sigma
	_, a, b := logBetween(za, zb)
	var first, second float64 // z·phi(z) and z²·phi(z) - phi(z), lower less upper, over the probability
	if !math.IsInf(za, 0) {
		first, second = za*a, (za*za-1)*a
	}
	if !math.IsInf(zb, 0) {
		first, second = first-zb*b, second-(zb*zb-1)*b
	}
	g := a - b
	return (second - g*first - 2*g*(first-g*g)) / (sigma * sigma * sigma)
}
