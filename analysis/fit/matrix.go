package fit

import "math"

// Small dense symmetric matrices, row-major, p×p.

// cholesky factors a positive definite matrix into L·L'. ok is false where it
// is not positive definite to working precision.
func cholesky(a []float64, p int) (l []float64, ok bool) {
	l = make([]float64, p*p)
	for i := range p {
		for j := 0; j <= i; j++ {
			s := a[i*p+j]
			for k := range j {
				s -= l[i*p+k] * l[j*p+k]
			}
			if i != j {
				l[i*p+j] = s / l[j*p+j]
				continue
			}
			if !(s > 1e-13*math.Abs(a[i*p+i])) {
				return nil, false
			}
			l[i*p+i] = math.Sqrt(s)
		}
	}
	return l, true
}

// cholSolve solves L·L'·x = b.
func cholSolve(l []float64, p int, b []float64) []float64 {
	x := append([]float64(nil), b...)
	for i := range p {
		for k := range i {
			x[i] -= l[i*p+k] * x[k]
		}
		x[i] /= l[i*p+i]
	}
	for i := p - 1; i >= 0; i-- {
		for k := i + 1; k < p; k++ {
			x[i] -= l[k*p+i] * x[k]
		}
		x[i] /= l[i*p+i]
	}
	return x
}

// cholInverse is (L·L')⁻¹.
func cholInverse(l []float64, p int) []float64 {
	inv := make([]float64, p*p)
	e := make([]float64, p)
	for j := range p {
		clear(e)
		e[j] = 1
		col := cholSolve(l, p, e)
		for i := range p {
			inv[i*p+j] = col[i]
		}
	}
	return inv
}

// cholLogDet is log det(L·L').
func cholLogDet(l []float64, p int) float64 {
	s := 0.0
	for i := range p {
		s += 2 * math.Log(l[i*p+i])
	}
	return s
}

// quadratic is v'·a·v.
func quadratic(a, v []float64) float64 {
	p := len(v)
	s := 0.0
	for i := range p {
		for j := range p {
			s += v[i] * a[i*p+j] * v[j]
		}
	}
	return s
}

// multiply is a·v.
func multiply(a, v []float64) []float64 {
	p := len(v)
	out := make([]float64, p)
	for i := range p {
		out[i] = dot(a[i*p:(i+1)*p], v)
	}
	return out
}

// trace is tr(a·b) for symmetric a and b.
func trace(a, b []float64) float64 { return dot(a, b) }

func dot(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}

// product is a·b for p×p matrices.
func product(a, b []float64, p int) []float64 {
	c := make([]float64, p*p)
	for i := range p {
		for k := range p {
			if v := a[i*p+k]; v != 0 {
				for j := range p {
					c[i*p+j] += v * b[k*p+j]
				}
			}
		}
	}
	return c
}

// addOuter adds w·v·v' to a.
func addOuter(a, v []float64, w float64) {
	p := len(v)
	for i := range p {
		if v[i] == 0 {
			continue
		}
		for j := range p {
			a[i*p+j] += w * v[i] * v[j]
		}
	}
}
