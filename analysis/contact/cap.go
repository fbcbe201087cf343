package contact

import "math"

// cap is what touches of a disc that has opened along a chord: the part beyond
// open in the direction u, under the pressure g·(s − open) at s along u. It is
// summed over chords square to u, each of one pressure and closed. sign is -1
// for a hole in a ring.
type cap struct {
	centre           Point
	radius           float64
	ux, uy           float64
	open             float64
	g                float64
	half             float64 // angle from u to the end of the chord; pi when all is beyond
	sinHalf, cosHalf float64 // of half of it
	sign             float64
	mid              []node
	coarse           bool // fewer chords, for the first steps of a search
}

func newCap(centre Point, radius, open, ux, uy, g, sign float64) *cap {
	c := &cap{centre: centre, radius: radius, ux: ux, uy: uy, open: open, g: g, half: math.Pi, sign: sign}
	if open > -radius {
		c.half = math.Acos(open / radius)
	}
	c.sinHalf, c.cosHalf = math.Sincos(c.half / 2)
	return c
}

// chord is at the angle phi from u: its place s, half its length, and the
// pressure on it times ds/dphi.
func (c *cap) chord(phi float64) (s, half, weight float64) {
	sin, cos := math.Sincos(phi / 2)
	s, half = c.radius*(1-2*sin*sin), c.radius*2*sin*cos
	above := s - c.open
	if c.half < math.Pi { // the same without cancellation
		above = 2 * c.radius * (c.sinHalf*cos - c.cosHalf*sin) * (c.sinHalf*cos + c.cosHalf*sin)
	}
	return s, half, c.sign * c.g * above * half
}

func (c *cap) add(m motion, s *sums) {
	mx := c.centre.X + c.ux*c.radius*math.Cos(c.half/2)
	my := c.centre.Y + c.uy*c.radius*math.Cos(c.half/2)
	if math.Hypot(m.vx-m.w*my, m.vy+m.w*mx) >= 6*math.Abs(m.w)*c.radius*math.Sin(math.Min(c.half, math.Pi/2)) {
		if c.mid == nil {
			c.mid = c.nodes()
		}
		s.addNodes(m, c.mid)
		return
	}
	at := centreOf(m)
	x, y := at.X-c.centre.X, at.Y-c.centre.Y
	sc, tc := x*c.ux+y*c.uy, y*c.ux-x*c.uy
	var a about
	k := math.Hypot(sc, tc)
	near := k > 0.6*c.radius && k < 1.4*c.radius
	n := gauss16
	switch {
	case c.coarse:
		n = gauss6
	case near:
		n = gauss20
	}
	if k >= 1.4*c.radius {
		c.piece(&a, sc, tc, 0, c.half/2, n, false)
		c.piece(&a, sc, tc, c.half/2, c.half, n, false)
		s.addTurning(m, at, a)
		return
	}
	b := c.breaks(sc, tc, near)
	c.piece(&a, sc, tc, b[0], 0, n, true)
	if b[1] > b[0] {
		middle := (b[0] + b[1]) / 2
		c.piece(&a, sc, tc, b[0], middle, n, true)
		c.piece(&a, sc, tc, b[1], middle, n, true)
	}
	c.piece(&a, sc, tc, b[1], c.half, n, true)
	s.addTurning(m, at, a)
}

// breaks gives the two angles, in order, near which the chords change sharply:
// where they pass the turning centre and, if it is near the rim, where their
// ends do.
func (c *cap) breaks(sc, tc float64, near bool) [2]float64 {
	pass := math.Acos(math.Max(-1, math.Min(1, sc/c.radius)))
	ends := math.Abs(math.Atan2(tc, sc))
	if !near {
		ends = pass
	} else if math.Hypot(sc, tc) > c.radius {
		pass = ends
	}
	pass, ends = math.Min(pass, c.half), math.Min(ends, c.half)
	return [2]float64{math.Min(pass, ends), math.Max(pass, ends)}
}

// piece sums the chords from one angle to another, if asked with the points
// crowded towards the first.
func (c *cap) piece(a *about, sc, tc, from, to float64, n rule, crowd bool) {
	d := to - from
	if d == 0 {
		return
	}
	var it, in, mtt, mtn, mnn float64
	for i, v := range n.x {
		v = (1 + v) / 2
		share := n.w[i] / 2 * math.Abs(d)
		if crowd {
			share *= 3 * v * v
			v *= v * v
		}
		pos, half, weight := c.chord(from + d*v)
		h := pos - sc
		h = math.Copysign(math.Max(math.Abs(h), 1e-30*c.radius), h)
		weight *= share
		q := integrateAlong(-half-tc, half-tc, h)
		a.w += weight * q.r0
		it += weight * q.a1
		in += weight * h * q.a0
		mtt += weight * q.b2
		mtn += weight * h * q.b1
		mnn += weight * q.b0
	}
	a.addTurned(-c.uy, c.ux, c.ux, c.uy, it, in, mtt, mtn, mnn)
}

// nodes covers the cap with points, for c far away.
func (c *cap) nodes() []node {
	var list []node
	for i, v := range gauss16.x {
		s, half, weight := c.chord(c.half / 2 * (1 + v))
		for j, t := range gauss8.x {
			q := half * t
			list = append(list, node{
				c.centre.X + s*c.ux - q*c.uy, c.centre.Y + s*c.uy + q*c.ux,
				gauss16.w[i] * c.half / 2 * gauss8.w[j] * half * weight,
			})
		}
	}
	return list
}
