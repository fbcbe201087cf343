package dist

import "math"

// NewRange is the studentized range: the range of k independent normals over
// an independent estimate of their standard deviation (Tukey's statistic).
//
//	P(Q > q) = ∫ f_S(s) R(q s) ds,
//	R(w) = k ∫ phi(z) { Phi(-z)^(k-1) - [Phi(z+w) - Phi(z)]^(k-1) } dz,
//
// where z is the least of the k. k is at least 2.
//
// Source: H. L. Harter, "Tables of range and studentized range", Annals of
// Mathematical Statistics 31 (1960), equations (1) to (4). Tested against
// 30-digit quadrature, printed tables and SciPy to 1e-10 relative over df 1 to
// 10^4 and k 2 to 50, tails included.
func NewRange(k int) *Joint {
	if k < 2 {
		return &Joint{}
	}
	d := newJoint(k, float64(k*(k-1))/2,
		func(w float64) float64 { return rangeBeyond(w, k) },
		func(w float64) float64 { return rangeWithin(w, k) })
	if k == 2 { // the range of two is sqrt 2 times |t|
		d.student = math.Sqrt2
	}
	return d
}

// rangeStep is the trapezoidal step for an integrand with n normal factors:
// its continuation grows as exp(n c²/2), so the error is exp(-2 pi²/(n h²)).
func rangeStep(n float64) float64 { return math.Sqrt(2 * math.Pi * math.Pi / (36 * n)) }

// rangeBeyond is the probability that the range of k standard normals exceeds w.
func rangeBeyond(w float64, k int) float64 {
	if w > 76 { // below the least double
		return 0
	}
	return rangeIntegral(w, k, func(z float64) float64 {
		below := Below(-z) // Phi(-z)
		if below == 0 {
			return 0
		}
		e := float64(k-1) * math.Log1p(-Below(-z-w)/below)
		return -math.Expm1(e) * math.Pow(below, float64(k-1))
	})
}

// rangeWithin is the probability that the range of k standard normals is at most w.
func rangeWithin(w float64, k int) float64 {
	if w > 76 {
		return 1
	}
	return rangeIntegral(w, k, func(z float64) float64 {
		var d float64 // Phi(z+w) - Phi(z), from the tail that keeps its digits
		if z > -w/2 {
			d = Below(-z) - Below(-z-w)
		} else {
			d = Below(z+w) - Below(z)
		}
		return math.Pow(d, float64(k-1))
	})
}

// rangeIntegral is k ∫ phi(z) g(z) dz, summed outwards from -w/2, the place
// of symmetry of the pair (least, greatest).
func rangeIntegral(w float64, k int, g func(z float64) float64) float64 {
	h := rangeStep(float64(k))
	centre := -w / 2
	term := func(i int) float64 {
		z := centre + float64(i)*h
		return phi(z) * g(z)
	}
	sum := term(0)
	most := int((12 + w) / h)
	for _, way := range []int{1, -1} {
		sum += march(way, most, sum, term)
	}
	return float64(k) * sum * h
}
