package contact

import (
	"math"
)

// stick is a line contact from a to b whose pressure per length runs linearly
// from pa to pb.
type stick struct {
	a, b   Point
	pa, pb float64
}

func (l stick) add(m motion, s *sums) {
	tx, ty := l.b.X-l.a.X, l.b.Y-l.a.Y
	length := math.Hypot(tx, ty)
	if length == 0 {
		return
	}
	mx, my := (l.a.X+l.b.X)/2, (l.a.Y+l.b.Y)/2
	distance := math.Hypot(m.vx-m.w*my, m.vy+m.w*mx)
	if reach := math.Abs(m.w) * length / 2; distance >= 6*reach {
		n := gauss8
		if distance >= 60*reach {
			n = gauss4
		}
		for i, x := range n.x {
			s.addNode(m, node{mx + x*tx/2, my + x*ty/2, n.w[i] / 2 * length * (l.pa + (1+x)/2*(l.pb-l.pa))})
		}
		return
	}
	c := centreOf(m)
	tx, ty = tx/length, ty/length
	ax, ay := l.a.X-c.X, l.a.Y-c.Y
	h := ax*ty - ay*tx
	// On the line itself the second derivatives are infinite; a hair's breadth
	// beside it they are large enough and nothing else changes.
	h = math.Copysign(math.Max(math.Abs(h), 1e-30*length), h)
	t1 := ax*tx + ay*ty
	v := integrateAlong(t1, t1+length, h)
	g := (l.pb - l.pa) / length
	p := l.pa - g*t1
	var a about
	a.w = p*v.r0 + g*v.r1
	a.addTurned(tx, ty, ty, -tx, p*v.a1+g*v.a2, h*(p*v.a0+g*v.a1),
		p*v.b2+g*v.b3, h*(p*v.b1+g*v.b2), p*v.b0+g*h*h*v.b1)
	s.addTurning(m, c, a)
}

// spot is a single point.
type spot node

func (p spot) add(m motion, s *sums) { s.addNode(m, node(p)) }
