package compare

import (
	"math"

	"griptrial/analysis/dist"
)

// ToleranceFactor is the k of the one-sided tolerance bound mean - k·s: with
// the stated confidence at least the share coverage of a normal population
// lies above it. n is the number of independent values, n - 1 the degrees of
// freedom of s.
//
//	k = t'(confidence; n - 1, z_coverage sqrt n)/sqrt n
//
// t' the quantile of the noncentral t. NaN where n < 2 or a share lies outside
// (0, 1). Source: ISO 16269-6, annex; e-Handbook of NIST/SEMATECH, 7.2.6.3.
// Tested against printed tables and R.
func ToleranceFactor(n float64, coverage, confidence float64) float64 {
	if !(n >= 2) || !(coverage > 0 && coverage < 1) {
		return math.NaN()
	}
	root := math.Sqrt(n)
	return dist.NoncentralTQuantile(confidence, n-1, dist.NormalQuantile(coverage)*root) / root
}
