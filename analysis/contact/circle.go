package contact

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// circle is a circular boundary; sign is -1 where it bounds a hole.
type circle struct {
	centre Point
	radius float64
	sign   float64
}

// directions are equally spaced on a circle; a sum over them converges like
// (k/R)^n for a boundary seen from c.
var directions = func() (list [32][2]float64) {
	for i := range list {
		list[i][1], list[i][0] = math.Sincos(2 * math.Pi * (float64(i) + 0.5) / float64(len(list)))
	}
	return list
}()

// addCircle adds a circular boundary of radius R, for c at the distance k from
// its centre. Near the middle and far outside the integrand is smooth and is
// summed; between, where c may come close to the circle, it is closed.
func (s *about) addCircle(a circle, c Point, pc, gx, gy float64) {
	cx, cy := c.X-a.centre.X, c.Y-a.centre.Y
	k := math.Hypot(cx, cy)
	if k < 0.3*a.radius || k > 4*a.radius {
		s.sumCircle(a, cx, cy, pc, gx, gy)
		return
	}
	ex, ey := cx/k, cy/k
	if math.Abs(k-a.radius) < 1e-14*a.radius {
		k = a.radius * (1 - 1e-14) // beside the circle, not on it
	}
	q := seen{radius: a.radius, k: k, pc: a.sign * pc, gr: a.sign * (gx*ex + gy*ey), gt: a.sign * (-gx*ey + gy*ex)}
	q.collect()
	s.w += q.w
	s.addTurned(ex, ey, -ey, ex, q.ir, q.it, q.mrr, q.mrt, q.mtt)
}

// sumCircle integrates numerically.
func (s *about) sumCircle(a circle, cx, cy, pc, gx, gy float64) {
	for _, p := range directions {
		cos, sin := p[0], p[1]
		x, y := a.radius*cos-cx, a.radius*sin-cy
		r := math.Sqrt(x*x + y*y)
		g := gx*x + gy*y
		w := a.sign * 2 * math.Pi / float64(len(directions)) * a.radius * (a.radius - cx*cos - cy*sin)
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

// seen collects the integrals over a circle in the frame whose first axis points
// from its centre to c. With psi the angle from that axis and
// S = |s|² = R² + k² − 2Rk·cos psi, everything even in psi is a polynomial in S:
//
//	s_r = R·cos psi − k = (R² − k² − S)/(2k)
//	s × ds/dpsi = R² − Rk·cos psi = (R² − k² + S)/2
//	s_t² = R²·sin² psi = S − s_r²
//
// and what is odd cancels. So the integrals of S^(n/2) for n = -3, -1, 1, 3, 5,
// which are complete elliptic integrals, are enough.
type seen struct {
	radius, k, pc, gr, gt float64
	w, ir, it             float64
	mrr, mrt, mtt         float64
}

// powers gives Int S^(n/2) dpsi over the circle for n = -3, -1, 1, 3, 5.
// With psi = pi − 2·beta, S = (R + k)²·(1 − m·sin² beta); the recurrences are the
// derivatives of sin·cos·(1 − m·sin²)^(n/2), read backwards.
func (q *seen) powers() poly {
	sum := q.radius + q.k
	m := 4 * q.radius * q.k / (sum * sum)
	rest := (q.radius - q.k) / sum
	rest *= rest                             // 1 − m without cancellation
	f, e := math.Log(4/math.Sqrt(rest)), 1.0 // leading terms as m → 1
	if m < 1 {
		f, e = mathext.CompleteK(m), mathext.CompleteE(m)
	}
	k3 := (2*(2-m)*e - rest*f) / 3
	k5 := (4*(2-m)*k3 - 3*rest*e) / 5
	s2 := sum * sum
	return poly{4 * e / rest / (s2 * sum), 4 * f / sum, 4 * e * sum, 4 * k3 * s2 * sum, 4 * k5 * s2 * s2 * sum}
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

// collect sums the boundary integrals.
func (q *seen) collect() {
	integrals := q.powers()
	d0 := (q.radius - q.k) * (q.radius + q.k)
	sr := poly{d0 / (2 * q.k), -1 / (2 * q.k)}
	cross := poly{d0 / 2, 0.5}
	sr2 := sr.times(sr)
	st2q := poly{-sr2[0], 1 - sr2[1], -sr2[2]}.times(cross)
	srq, sr2q := sr.times(cross), sr2.times(cross)
	pressure := func(c, g float64) poly { return poly{c*q.pc + g*q.gr*sr[0], g * q.gr * sr[1]} }
	// Each product times S^(-3/2) after the shift given by up.
	q.w = pressure(1.0/3, 1.0/4).times(cross).up(2).on(integrals)
	p := pressure(1.0/2, 1.0/3)
	q.ir = p.times(srq).up(1).on(integrals)
	q.it = q.gt / 3 * st2q.up(1).on(integrals)
	p = pressure(1, 1.0/2)
	q.mrr = p.times(sr2q).on(integrals)
	q.mrt = q.gt / 2 * sr.times(st2q).on(integrals)
	q.mtt = p.times(st2q).on(integrals)
}
