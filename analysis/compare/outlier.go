package compare

import (
	"math"

	"griptrial/analysis/dist"
)

// Outliers runs the generalised extreme studentized deviate test for up to
// most outliers at the two-sided level alpha and returns the places of those
// found, the most extreme first. Step i takes out the value furthest from the
// mean, R_i = max|x - mean|/s, and compares it with
//
//	lambda_i = (n-i) t/sqrt((n-i-1+t²)(n-i+1)),  t the 1 - alpha/(2(n-i+1)) quantile at n-i-1 df.
//
// The number of outliers is the greatest i with R_i > lambda_i. The values must
// be independent and normal but for the outliers; residuals of a model come
// near that when there are many more of them than parameters. Fewer than 3
// values give none.
//
// Source: B. Rosner, Technometrics 25 (1983) 165; e-Handbook of NIST/SEMATECH,
// 1.3.5.17.3, whose example is the test.
func Outliers(x []float64, most int, alpha float64) []int {
	r, lambda, places := deviates(x, most, alpha)
	found := 0
	for i := range r {
		if r[i] > lambda[i] {
			found = i + 1
		}
	}
	return places[:found]
}

// deviates gives R_i, lambda_i and the place of the value taken out in each
// step.
func deviates(x []float64, most int, alpha float64) (r, lambda []float64, places []int) {
	gone := make([]bool, len(x))
	for i := 1; i <= most && len(x)-i >= 2; i++ {
		var left []float64
		for k, v := range x {
			if !gone[k] {
				left = append(left, v)
			}
		}
		mean, variance := MeanVariance(left)
		if !(variance > 0) {
			break
		}
		far := -1
		for k, v := range x {
			if !gone[k] && (far < 0 || math.Abs(v-mean) > math.Abs(x[far]-mean)) {
				far = k
			}
		}
		gone[far] = true
		n, at := float64(len(x)), float64(i)
		t := dist.TQuantile(alpha/(2*(n-at+1)), n-at-1)
		r = append(r, math.Abs(x[far]-mean)/math.Sqrt(variance))
		lambda = append(lambda, (n-at)*t/math.Sqrt((n-at-1+t*t)*(n-at+1)))
		places = append(places, far)
	}
	return r, lambda, places
}
