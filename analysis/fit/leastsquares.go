package fit

import "math"

// Line is a least-squares solution.
type Line struct {
	Coef     []float64
	SE       []float64 // standard errors; NaN without degrees of freedom
	Residual []float64
	RSS      float64 // residual sum of squares
	DF       int     // n - p
	inverse  []float64
}

// LeastSquares minimises the sum of (y - X·b)². x is row-major with p columns;
// len(x) = len(y)·p. It returns ErrAliased where a column is, to working
// precision, a combination of those before it.
//
// Householder QR (G. H. Golub, Numerische Mathematik 7 (1965) 206), then
// refinement of the solution with residuals computed in twice the working
// precision (Å. Björck, Numerical Methods for Least Squares Problems, 1996,
// section 2.9). Tested against the NIST StRD linear regression sets.
func LeastSquares(x []float64, p int, y []float64) (Line, error) {
	n := len(y)
	if n < p {
		return Line{}, ErrNoFreedom
	}
	q, err := factor(x, p, n)
	if err != nil {
		return Line{}, err
	}
	coef := make([]float64, p)
	low := make([]float64, p) // the part of coef beyond its last digit
	residual := make([]float64, n)
	settled := false
	for round := 0; round < 5 && !settled; round++ {
		residuals(residual, x, p, y, coef, low)
		settled = true
		for j, d := range q.solve(residual) {
			before := coef[j]
			coef[j], low[j] = twoSum(coef[j], low[j]+d)
			settled = settled && math.Abs(d) <= 1e-14*math.Abs(before)
		}
	}
	residuals(residual, x, p, y, coef, low)
	line := Line{Coef: coef, Residual: residual, DF: n - p, inverse: q.inverse()}
	var carry float64
	for _, r := range residual {
		square := math.FMA(r, r, -carry)
		t := line.RSS + square
		carry = (t - line.RSS) - square
		line.RSS = t
	}
	line.SE = make([]float64, p)
	for j := range p {
		line.SE[j] = math.Sqrt(line.RSS / float64(n-p) * line.inverse[j*p+j])
	}
	return line, nil
}

// residuals writes y - X·(coef + low), each accumulated in twice the working
// precision.
func residuals(out, x []float64, p int, y, coef, low []float64) {
	for i := range y {
		hi, lo := y[i], 0.0
		for j, c := range coef {
			v := x[i*p+j]
			if v == 0 {
				continue
			}
			prod := v * c
			err := math.FMA(v, c, -prod)
			var e float64
			hi, e = twoSum(hi, -prod)
			lo += e - err - v*low[j]
		}
		out[i] = hi + lo
	}
}

// twoSum is a + b and its rounding error (D. E. Knuth, The Art of Computer
// Programming, vol. 2, section 4.2.2, theorem B).
func twoSum(a, b float64) (sum, err float64) {
	sum = a + b
	v := sum - a
	return sum, (a - (sum - v)) + (b - v)
}

// householder is a QR factorisation: reflectors below the diagonal of a
// column-major matrix, R on and above it.
type householder struct {
	a     []float64 // column-major n×p
	diag  []float64 // diagonal of R
	scale []float64 // of each reflector
	n, p  int
}

// factor takes x (row-major) apart.
func factor(x []float64, p, n int) (householder, error) {
	h := householder{a: make([]float64, n*p), diag: make([]float64, p), scale: make([]float64, p), n: n, p: p}
	for i := range n {
		for j := range p {
			h.a[j*n+i] = x[i*p+j]
		}
	}
	for j := range p {
		col := h.a[j*n : (j+1)*n]
		whole := norm(col)
		r := norm(col[j:])
		// Left after the columns before it have been taken out.
		if !(r > 4e-15*float64(p)*whole) {
			return householder{}, ErrAliased
		}
		if col[j] > 0 {
			r = -r
		}
		h.diag[j] = r
		col[j] -= r
		h.scale[j] = -1 / (r * col[j])
		for k := j + 1; k < p; k++ {
			other := h.a[k*n : (k+1)*n]
			reflect(col[j:], other[j:], h.scale[j])
		}
	}
	return h, nil
}

// reflect subtracts scale·v·(v'w) from w.
func reflect(v, w []float64, scale float64) {
	s := dot(v, w) * scale
	for i := range w {
		w[i] -= s * v[i]
	}
}

// norm is the Euclidean length; scaled only where squares would leave the range
// of numbers.
func norm(v []float64) float64 {
	if s := dot(v, v); s > 1e-250 && s < 1e250 {
		return math.Sqrt(s)
	}
	most := 0.0
	for _, e := range v {
		most = math.Max(most, math.Abs(e))
	}
	if most == 0 {
		return 0
	}
	s := 0.0
	for _, e := range v {
		s += (e / most) * (e / most)
	}
	return most * math.Sqrt(s)
}

// solve gives the least-squares solution for the right side y.
func (h householder) solve(y []float64) []float64 {
	w := append([]float64(nil), y...)
	h.turn(w)
	b := make([]float64, h.p)
	for i := h.p - 1; i >= 0; i-- {
		s := w[i]
		for k := i + 1; k < h.p; k++ {
			s -= h.a[k*h.n+i] * b[k]
		}
		b[i] = s / h.diag[i]
	}
	return b
}

// turn replaces w by Q'w.
func (h householder) turn(w []float64) {
	for j := range h.p {
		reflect(h.a[j*h.n+j:(j+1)*h.n], w[j:], h.scale[j])
	}
}

// inverse is (X'X)⁻¹ = R⁻¹R⁻ᵀ.
func (h householder) inverse() []float64 {
	p := h.p
	r := make([]float64, p*p) // R⁻¹, upper triangular
	for j := range p {
		r[j*p+j] = 1 / h.diag[j]
		for i := j - 1; i >= 0; i-- {
			s := 0.0
			for k := i + 1; k <= j; k++ {
				s -= h.a[k*h.n+i] * r[k*p+j]
			}
			r[i*p+j] = s / h.diag[i]
		}
	}
	inv := make([]float64, p*p)
	for i := range p {
		for j := range p {
			for k := max(i, j); k < p; k++ {
				inv[i*p+j] += r[i*p+k] * r[j*p+k]
			}
		}
	}
	return inv
}
