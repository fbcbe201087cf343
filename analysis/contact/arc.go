package contact

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// arc is a circular boundary from one angle to a greater one; sign is -1 where
// it bounds a hole.
type arc struct {
	centre   Point
	radius   float64
	from, to float64
	full     bool
	sign     float64
	steps    []step
}

// step is a quadrature point on an arc: its direction and its angle's weight.
type step struct{ cos, sin, w float64 }

func newArc(centre Point, radius, from, to, sign float64) arc {
	a := arc{centre: centre, radius: radius, from: from, to: to, full: to-from >= 2*math.Pi, sign: sign}
	if a.full {
		const n = 32 // equal steps on a circle converge like (k/R)^n
		for i := range n {
			sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / n)
			a.steps = append(a.steps, step{cos, sin, 2 * math.Pi / n})
		}
		return a
	}
	half := (to - from) / 2
	for _, start := range []float64{from, from + half} {
		for i, x := range gauss24.x {
			sin, cos := math.Sincos(start + half/2*(1+x))
			a.steps = append(a.steps, step{cos, sin, gauss24.w[i] * half / 2})
		}
	}
	return a
}

// addArc adds a circular boundary of radius R, for c at the distance k from its
// centre. Near the middle and far outside the integrand is smooth and is
// summed; between, where c may come close to the arc, it is closed.
func (s *about) addArc(a *arc, c Point, pc, gx, gy float64) {
	cx, cy := c.X-a.centre.X, c.Y-a.centre.Y
	k := math.Hypot(cx, cy)
	if k < 0.3*a.radius || k > 4*a.radius {
		s.sumArc(a, cx, cy, pc, gx, gy)
		return
	}
	if math.Abs(k-a.radius) < 1e-14*a.radius {
		k = a.radius * (1 - 1e-14) // beside the arc, not on it
	}
	ex, ey := cx/k, cy/k
	length := math.Hypot(ex, ey)
	ex, ey = ex/length, ey/length
	q := seen{radius: a.radius, k: k, pc: a.sign * pc, gr: a.sign * (gx*ex + gy*ey), gt: a.sign * (-gx*ey + gy*ex)}
	if a.full {
		q.addWhole()
	} else {
		alpha := math.Atan2(ey, ex)
		from := math.Remainder(a.from-alpha, 2*math.Pi)
		to := from + a.to - a.from
		q.addPart(from, math.Min(to, math.Pi))
		if to > math.Pi {
			q.addPart(-math.Pi, to-2*math.Pi)
		}
	}
	s.w += q.w
	s.addTurned(ex, ey, -ey, ex, q.ir, q.it, q.mrr, q.mrt, q.mtt)
}

// sumArc integrates numerically.
func (s *about) sumArc(a *arc, cx, cy, pc, gx, gy float64) {
	for _, p := range a.steps {
		x, y := a.radius*p.cos-cx, a.radius*p.sin-cy
		r := math.Sqrt(x*x + y*y)
		g := gx*x + gy*y
		w := a.sign * p.w * a.radius * (a.radius - cx*p.cos - cy*p.sin)
		s.w += w * (pc/3 + g/4) * r
		v := w * (pc/2 + g/3) / r
		s.ix += v * x
		s.iy += v * y
		v = w * (pc + g/2) / (r * r * r)
		s.mxx += v * x * x
		s.mxy += v * x * y
		s.myy += v * y * y
	}
}

// seen collects the integrals over an arc in the frame whose first axis points
// from the arc's centre to c. With psi the angle from that axis and
// S = |s|² = R² + k² − 2Rk·cos psi, everything even in psi is a polynomial in S:
//
//	s_r = R·cos psi − k = (R² − k² − S)/(2k)
//	s × ds/dpsi = R² − Rk·cos psi = (R² − k² + S)/2
//	s_t² = R²·sin² psi = S − s_r²
//
// and what is odd has one factor s_t. So the integrals of S^(n/2) for n = -3, -1,
// 1, 3, 5, which are elliptic, and of s_t·S^(n/2), which are elementary, are
// enough.
type seen struct {
	radius, k, pc, gr, gt float64
	w, ir, it             float64
	mrr, mrt, mtt         float64
}

// addWhole adds the full circle; what is odd cancels.
func (q *seen) addWhole() {
	m := 4 * q.radius * q.k / ((q.radius + q.k) * (q.radius + q.k))
	rest := (q.radius - q.k) / (q.radius + q.k)
	rest *= rest // 1 − m without cancellation
	f, e := mathext.CompleteK(m), mathext.CompleteE(m)
	if m >= 1 {
		f, e = math.Log(4/math.Sqrt(rest)), 1 // leading term as m → 1
	}
	q.collect(powers(2, 2*f, 2*e, 0, 1, m, rest, q.radius+q.k), poly{})
}

// addPart adds the arc between two angles in [-pi, pi] about the axis to c.
func (q *seen) addPart(from, to float64) {
	if to <= from {
		return
	}
	m := 4 * q.radius * q.k / ((q.radius + q.k) * (q.radius + q.k))
	rest := (q.radius - q.k) / (q.radius + q.k)
	rest *= rest
	sum := q.radius + q.k
	even := poly{}
	for _, end := range []struct{ psi, sign float64 }{{from, 1}, {to, -1}} {
		beta := (math.Pi - end.psi) / 2
		f, e := incomplete(beta, m, rest)
		sin, cos := math.Sincos(beta)
		part := powers(2*end.sign, f, e, sin*cos, math.Sqrt(cos*cos+rest*sin*sin), m, rest, sum)
		for i := range even {
			even[i] += part[i]
		}
	}
	distance := func(psi float64) float64 {
		return math.Hypot(q.radius-q.k, 2*math.Sqrt(q.radius*q.k)*math.Sin(psi/2))
	}
	odd := poly{}
	d1, d2 := distance(from), distance(to)
	p1, p2 := 1/d1, 1/d2
	for i := range odd {
		odd[i] = (p2 - p1) / (float64(2*i-1) * q.k)
		p1, p2 = p1*d1*d1, p2*d2*d2
	}
	q.collect(even, odd)
}

// incomplete gives the elliptic integrals of the first and second kind for an
// angle in [0, pi] and parameter m = 1 − rest, by Carlson's symmetric forms.
func incomplete(beta, m, rest float64) (f, e float64) {
	if beta > math.Pi/2 {
		f, e = incomplete(math.Pi-beta, m, rest)
		kf, ke := incomplete(math.Pi/2, m, rest)
		return 2*kf - f, 2*ke - e
	}
	sin, cos := math.Sincos(beta)
	if sin == 0 {
		return 0, 0
	}
	x, y := cos*cos, cos*cos+rest*sin*sin
	f = sin * mathext.EllipticRF(x, y, 1)
	return f, f - m/3*sin*sin*sin*mathext.EllipticRD(x, y, 1)
}

// powers gives scale·Int_0^beta S^(n/2) dbeta for n = -3, -1, 1, 3, 5 from the
// elliptic integrals f and e; sc = sin·cos of beta, d = sqrt(1 − m·sin² beta).
// The recurrences are the derivatives of sin·cos·d^n, read backwards.
func powers(scale, f, e, sc, d, m, rest, sum float64) poly {
	k3 := (m*sc*d + 2*(2-m)*e - rest*f) / 3
	k5 := (m*sc*d*d*d + 4*(2-m)*k3 - 3*rest*e) / 5
	low := (e - m*sc/d) / rest
	s2 := sum * sum
	return poly{scale * low / (s2 * sum), scale * f / sum, scale * e * sum, scale * k3 * s2 * sum, scale * k5 * s2 * s2 * sum}
}

// poly holds coefficients of S^0 ... S^4.
type poly [5]float64

func (a poly) times(b poly) (c poly) {
	for i, x := range a {
		if x == 0 {
			continue
		}
		for j := 0; i+j < len(c); j++ {
			c[i+j] += x * b[j]
		}
	}
	return c
}

// up multiplies by S^n.
func (a poly) up(n int) (c poly) {
	copy(c[n:], a[:len(a)-n])
	return c
}

// on sums the coefficients over the integrals of S^(i − 3/2).
func (a poly) on(integrals poly) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * integrals[i]
	}
	return sum
}

// collect adds the boundary integrals from those of the powers of S.
func (q *seen) collect(even, odd poly) {
	d0 := (q.radius - q.k) * (q.radius + q.k)
	sr := poly{d0 / (2 * q.k), -1 / (2 * q.k)}
	cross := poly{d0 / 2, 0.5}
	sr2 := sr.times(sr)
	st2 := poly{-sr2[0], 1 - sr2[1], -sr2[2]}
	pressure := func(c, g float64) poly { return poly{c*q.pc + g*q.gr*sr[0], g * q.gr * sr[1]} }
	// Each even product times S^(-3/2) after the shift given by up.
	srq, st2q, sr2q := sr.times(cross), st2.times(cross), sr2.times(cross)
	p := pressure(1.0/3, 1.0/4)
	q.w += p.times(cross).up(2).on(even) + q.gt/4*cross.up(2).on(odd)
	p = pressure(1.0/2, 1.0/3)
	q.ir += p.times(srq).up(1).on(even) + q.gt/3*srq.up(1).on(odd)
	q.it += p.times(cross).up(1).on(odd) + q.gt/3*st2q.up(1).on(even)
	p = pressure(1, 1.0/2)
	q.mrr += p.times(sr2q).on(even) + q.gt/2*sr2q.on(odd)
	q.mrt += p.times(srq).on(odd) + q.gt/2*sr.times(st2q).on(even)
	q.mtt += p.times(st2q).on(even) + q.gt/2*st2q.on(odd)
}
