package plan

import (
	"math"

	"griptrial/analysis/dist"
)

// Equivalence is the power of two one-sided t tests, each at the level alpha, to
// show that a difference lies within ±margin: delta and margin in standard
// errors, df the degrees of freedom.
//
//	P = ∫ f_S(s) max(0, Phi(margin - delta - t s) - Phi(t s - margin - delta)) ds,  t = t[1-alpha, df]
//
// f_S the density of sqrt(chi²_df/df) (D. J. Schuirmann, Journal of
// Pharmacokinetics and Biopharmaceutics 15 (1987) 657, for the tests; the
// integral is their definition). By Simpson's rule to 1e-8. NaN for arguments
// outside their range. Tested against R's integrate.
func Equivalence(delta, margin, df, alpha float64) float64 {
	if !(df > 0) || !(margin > 0) || !(alpha > 0 && alpha < 0.5) || math.IsNaN(delta) {
		return math.NaN()
	}
	t := dist.TQuantile(alpha, df)
	half, _ := math.Lgamma(df / 2)
	log := math.Ln2 + df/2*math.Log(df/2) - half
	f := func(s float64) float64 {
		inside := dist.Below(margin-delta-t*s) - dist.Below(t*s-margin-delta)
		if s <= 0 || inside <= 0 {
			return 0
		}
		return math.Exp(log+(df-1)*math.Log(s)-df*s*s/2) * inside
	}
	// Beyond margin/t nothing is inside; the density is negligible ten of its
	// spreads off.
	spread := 1 / math.Sqrt(2*df)
	low, high := math.Max(0, 1-10*spread), math.Min(margin/t, 1+12*spread)
	if high <= low {
		return 0
	}
	const n = 2000
	h := (high - low) / n
	sum := f(low) + f(high)
	for i := 1; i < n; i++ {
		w := 4.0
		if i%2 == 0 {
			w = 2
		}
		sum += w * f(low+float64(i)*h)
	}
	return sum * h / 3
}

// Bound is the probability that a one-sided lower tolerance bound of the share
// coverage, with the confidence given, lies above a value that is gap standard
// deviations below the mean: n is how many independent values the mean is worth,
// df the degrees of freedom of the standard deviation.
//
//	P(T > k sqrt n), T noncentral t with df and delta = gap sqrt n,  k sqrt n = t'(confidence; df, z_coverage sqrt n)
//
// Source: the definition of the bound (ISO 16269-6); e-Handbook of
// NIST/SEMATECH, 7.2.6.3. NaN for arguments outside their range.
func Bound(n, df, gap, coverage, confidence float64) float64 {
	if !(n > 0) || !(df >= 1) || !(coverage > 0 && coverage < 1) {
		return math.NaN()
	}
	root := math.Sqrt(n)
	k := dist.NoncentralTQuantile(confidence, df, dist.NormalQuantile(coverage)*root)
	return dist.NoncentralTSurvival(k, df, gap*root)
}
