package compare

import (
	"math"
	"sort"

	"griptrial/analysis/dist"
)

// W is Shapiro and Wilk's statistic with its p-value; NaN where it cannot be
// had.
type W struct{ Statistic, P float64 }

// ShapiroMost is the greatest number of values that Royston's approximation
// was made for.
const ShapiroMost = 5000

// ShapiroWilk tests that values are normal, by P. Royston's algorithm (Applied
// Statistics 44 (1995) 547, AS R94), as in R's shapiro.test: his polynomials
// for the weights and for the normalising transformation of 1 - W; at n = 3 the
// exact law. NaN where there are fewer than 3 or more than 5000 values, or no
// spread. The order of the values does not matter.
func ShapiroWilk(values []float64) W {
	n := len(values)
	none := W{math.NaN(), math.NaN()}
	if n < 3 || n > ShapiroMost {
		return none
	}
	x := append([]float64(nil), values...)
	sort.Float64s(x)
	if !(x[n-1]-x[0] > 1e-19) {
		return none
	}
	a := shapiroWeights(n)
	mean, variance := MeanVariance(x)
	ssx := variance * float64(n-1)
	var sax float64
	for i := range n / 2 {
		sax += a[i] * (x[n-1-i] - x[i])
	}
	ssa := 0.0
	for _, w := range a {
		ssa += 2 * w * w
	}
	if !(ssx > 1e-28*mean*mean) {
		return none
	}
	// 1 - W without cancellation.
	root := math.Sqrt(ssa * ssx)
	below := (root - sax) * (root + sax) / (ssa * ssx)
	return W{1 - below, shapiroP(n, below)}
}

// shapiroWeights gives the weights of the greatest values, largest first.
func shapiroWeights(n int) []float64 {
	half := n / 2
	if n == 3 {
		return []float64{math.Sqrt(0.5)}
	}
	m := make([]float64, half)
	sum := 0.0
	for i := range m {
		m[i] = -dist.NormalQuantile((float64(i+1) - 0.375) / (float64(n) + 0.25))
		sum += 2 * m[i] * m[i]
	}
	root := math.Sqrt(sum)
	r := 1 / math.Sqrt(float64(n))
	a := make([]float64, half)
	a[0] = polynomial(r, 0, 0.221157, -0.147981, -2.07119, 4.434685, -2.706056) + m[0]/root
	fixed := 1
	scale := (sum - 2*m[0]*m[0]) / (1 - 2*a[0]*a[0])
	if n > 5 {
		a[1] = polynomial(r, 0, 0.042981, -0.293762, -1.752461, 5.682633, -3.582633) + m[1]/root
		fixed = 2
		scale = (sum - 2*m[0]*m[0] - 2*m[1]*m[1]) / (1 - 2*a[0]*a[0] - 2*a[1]*a[1])
	}
	for i := fixed; i < half; i++ {
		a[i] = m[i] / math.Sqrt(scale)
	}
	return a
}

// shapiroP turns 1 - W into a p-value.
func shapiroP(n int, below float64) float64 {
	if n == 3 {
		p := 6 / math.Pi * (math.Asin(math.Sqrt(1-below)) - math.Asin(math.Sqrt(0.75)))
		return math.Max(0, p)
	}
	y := math.Log(below)
	size, log := float64(n), math.Log(float64(n))
	var mean, sd float64
	if n <= 11 {
		gamma := polynomial(size, -2.273, 0.459)
		if y >= gamma {
			return 1e-99
		}
		y = -math.Log(gamma - y)
		mean = polynomial(size, 0.5440, -0.39978, 0.025054, -0.0006714)
		sd = math.Exp(polynomial(size, 1.3822, -0.77857, 0.062767, -0.0020322))
	} else {
		mean = polynomial(log, -1.5861, -0.31082, -0.083751, 0.0038915)
		sd = math.Exp(polynomial(log, -0.4803, -0.082676, 0.0030302))
	}
	return dist.Below((mean - y) / sd)
}

// polynomial is c[0] + c[1] x + c[2] x² + ...
func polynomial(x float64, c ...float64) float64 {
	s := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		s = s*x + c[i]
	}
	return s
}
