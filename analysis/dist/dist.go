// Package dist holds the distributions that the comparisons need and that
// gonum lacks or gives with too few digits: the studentized range, Dunnett's
// many-to-one distribution, the noncentral t, and the tails of t, F and
// chi-squared.
//
// The first three share one shape: a normal probability g that depends on a
// scale s, averaged over the scale S = sqrt(chi²_df/df) of an independent
// estimate of spread,
//
//	P = ∫ f_S(s) g(s) ds.
//
// The average is taken by the trapezoidal rule in x = log s, which converges
// exponentially because the integrand is analytic and falls off at both ends
// (L. N. Trefethen and J. A. C. Weideman, "The exponentially convergent
// trapezoidal rule", SIAM Review 56 (2014), section 5). Both tails are
// integrated directly, never as one minus the other, so small probabilities
// keep their digits.
//
// Arguments outside a function's domain give NaN; the functions never panic
// on numbers.
package dist

import "math"

// nothing is the size, relative to the sum so far, at which a trapezoidal sum
// stops growing.
const nothing = 1e-19

// scale is the density of x = log S for S = sqrt(chi²_df/df), with the step of
// the trapezoidal rule that averages over it.
//
//	f(x) = 2 (df/2)^(df/2) / Gamma(df/2) exp(df (x - e^(2x)/2)),
//
// whose continuation to x + ic grows as (cos 2c)^(-df/2): the error of the
// step h is of the order exp(-2 pi c/h) (cos 2c)^(-df/2), below 1e-14 for the
// steps chosen here.
type scale struct{ df, top, step float64 }

// newScale makes the scale for finite df. wide narrows the step: it stands for
// the sharpness of what is averaged on the axis of log s, as the number of
// normal factors whose product makes it, or the square of the place where one
// rises. The steps are few, so that averages with near df can share nodes.
func newScale(df, wide float64) scale {
	half := df / 2
	// log of f at its top x = 0, by Stirling's series where the terms of the
	// plain formula would cancel.
	var top float64
	if half < 30 {
		lg, _ := math.Lgamma(half)
		top = math.Ln2 + half*math.Log(half) - lg - half
	} else {
		series := 1/(12*half) - 1/(360*half*half*half) + 1/(1260*math.Pow(half, 5))
		top = math.Ln2 - 0.5*math.Log(2*math.Pi) + 0.5*math.Log(half) - series
	}
	const widest = 0.115
	quarters := math.Max(0, math.Ceil(4*math.Log2(widest*math.Sqrt(df+wide)/0.5)))
	return scale{df, top, widest * math.Exp2(-quarters/4)}
}

// average is the mean of g(S), where node(j) is g at log s = j·step - shift. g
// must be analytic and of one sign.
func (c scale) average(shift float64, node func(j int) float64) float64 {
	centre := int(math.Round(shift / c.step))
	term := func(i int) float64 {
		x := float64(centre+i)*c.step - shift
		// x - e^(2x)/2 + 1/2, exact near 0.
		f := math.Exp(c.top + c.df*(x-math.Expm1(2*x)/2))
		if f == 0 {
			return 0
		}
		return f * node(centre+i)
	}
	sum := term(0)
	most := int(60 / c.step)
	// Left first: far out in the tail everything lies there.
	for _, way := range []int{-1, 1} {
		sum += march(way, most, sum, term)
	}
	return sum * c.step
}

// march sums term at way, 2·way, ... (way is 1 or -1) until the terms have
// passed their top and are nothing beside the sum. start is what was summed
// before.
func march(way, most int, start float64, term func(i int) float64) float64 {
	sum, last := 0.0, math.Inf(1)
	for i := 1; i <= most; i++ {
		t := term(i * way)
		sum += t
		if math.Abs(t) <= nothing*math.Abs(start+sum) && math.Abs(t) <= last && start+sum != 0 {
			break
		}
		last = math.Abs(t)
	}
	return sum
}

// phi is the standard normal density.
func phi(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }

// Below is the standard normal probability below z, with full relative
// precision in the lower tail.
func Below(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// NormalQuantile is the z below which a standard normal falls with
// probability p; -Inf at 0, +Inf at 1, NaN outside [0, 1].
func NormalQuantile(p float64) float64 {
	if p > 0.5 {
		return -NormalQuantile(1 - p)
	}
	z := -math.Sqrt2 * math.Erfcinv(2*p)
	if p == 0 || math.IsNaN(z) {
		return z
	}
	// The library's inverse keeps ten digits; a step of Halley's method on
	// log Phi gives the rest.
	b := Below(z)
	r := math.Log(b/p) * b / phi(z)
	return z - r/(1+r*(z+phi(z)/b)/2)
}

// solve finds x with f(x) = 0 for a continuous f that changes sign between lo
// and hi, by Brent's combination of secant, inverse quadratic and bisection
// (R. P. Brent, Algorithms for Minimization without Derivatives, 1973,
// chapter 4), to the last digits.
func solve(f func(float64) float64, lo, hi float64) float64 {
	a, b := lo, hi
	fa, fb := f(a), f(b)
	if fa == 0 {
		return a
	}
	c, fc := a, fa
	d := b - a
	e := d
	for range 200 {
		if (fb > 0) == (fc > 0) {
			c, fc = a, fa
			d = b - a
			e = d
		}
		if math.Abs(fc) < math.Abs(fb) {
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		tol := 2e-16*math.Abs(b) + 1e-300
		m := (c - b) / 2
		if math.Abs(m) <= tol || fb == 0 {
			return b
		}
		if math.Abs(e) >= tol && math.Abs(fa) > math.Abs(fb) {
			s := fb / fa
			var p, q float64
			if a == c {
				p, q = 2*m*s, 1-s
			} else {
				q = fa / fc
				r := fb / fc
				p = s * (2*m*q*(q-r) - (b-a)*(r-1))
				q = (q - 1) * (r - 1) * (s - 1)
			}
			if p > 0 {
				q = -q
			}
			p = math.Abs(p)
			if 2*p < math.Min(3*m*q-math.Abs(tol*q), math.Abs(e*q)) {
				e, d = d, p/q
			} else {
				d, e = m, m
			}
		} else {
			d, e = m, m
		}
		a, fa = b, fb
		if math.Abs(d) > tol {
			b += d
		} else {
			b += math.Copysign(tol, m)
		}
		fb = f(b)
	}
	return b
}

// upperQuantile inverts a decreasing survival function on (0, +Inf): it
// returns q with survival(q) = tail. The equation is solved on the log of the
// odds, which is smooth in both tails; cdf must be the exact complement.
func upperQuantile(tail float64, cdf, survival func(float64) float64, guess float64) float64 {
	f := func(q float64) float64 {
		if tail < 0.5 {
			return math.Log(survival(q)) - math.Log(tail)
		}
		return math.Log1p(-tail) - math.Log(cdf(q))
	}
	lo, hi := guess, guess
	if f(guess) > 0 {
		for hi *= 1.3; f(hi) > 0; hi *= 1.5 {
			lo = hi
		}
	} else {
		for lo /= 1.3; f(lo) < 0; lo /= 1.5 {
			hi = lo
		}
	}
	return solve(f, lo, hi)
}
