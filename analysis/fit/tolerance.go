package fit

import (
	"math"

	"griptrial/analysis/dist"
)

// Tolerance is the value that the share coverage of single pulls, each on a
// fresh sample, exceeds with the stated confidence, where l is the contrast of
// their mean (one-sided; below one half the confidence bounds it from above).
//
// With exact rows and no samples it is exact: mean - k·s, k from the noncentral
// t (ISO 16269-6). With bounds and intervals it is the quantile of l·b - z·sigma
// over the spreads that the rows leave open (type conditional), which is the
// same where every row is exact. With samples the mean counts as
// (sigma² + tau²)/SE² pulls, and the degrees of freedom are the harmonic mean of
// those of the total spread and of the mean: those of the spread alone,
// Satterthwaite's, proved too many with three samples of three pulls, where
// 95/95 bounds then covered 0.937. Coverage is measured in TestCoverage of
// package analysis.
//
// NaN where the spread is not known or a share lies outside (0, 1).
func (f *Fitted) Tolerance(l []float64, coverage, confidence float64) float64 {
	if !(coverage > 0 && coverage < 1) || !(confidence > 0 && confidence < 1) {
		return math.NaN()
	}
	if f.own != nil { // one facing's mean
		for a, v := range l {
			if v == 1 {
				return f.own[a].Tolerance([]float64{1}, coverage, confidence)
			}
		}
		return math.NaN()
	}
	z := dist.NormalQuantile(coverage)
	if f.given != nil {
		a := f.given.along(l, -z)
		if confidence < 0.5 {
			_, upper := a.quantiles(confidence)
			return upper + f.level(l)
		}
		lower, _ := a.quantiles(1 - confidence)
		return lower + f.level(l)
	}
	mean, se, df := f.Contrast(l)
	if f.Tau > 0 || f.Boundary {
		df = 2 / (1/f.TotalDF + 1/df)
	}
	if !(df >= 1) || math.IsNaN(se) {
		return math.NaN()
	}
	sd := math.Hypot(f.Sigma, f.Tau)
	root := sd / se
	return mean - dist.NoncentralTQuantile(confidence, df, z*root)/root*sd
}
