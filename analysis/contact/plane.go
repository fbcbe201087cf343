package contact

import "math"

// plane is a pressure p0 + gx·x + gy·y.
type plane struct{ p0, gx, gy float64 }

func (p plane) at(x, y float64) float64 { return p.p0 + p.gx*x + p.gy*y }

// pressed is a pressure of total 1 on what stays in contact, in coordinates from
// the centre of pressure: a narrow contact would lose digits from farther off.
type pressed struct {
	plane
	outline  []Point // convex polygon in contact, counter-clockwise; ends of a line
	fraction float64 // area in contact over the whole area
	peak     float64 // greatest pressure times the whole area
}

// planeOnRectangle finds the plane pressure of total 1 on the rectangle a x b
// whose centre of pressure is c. Inside the kern, 6|x|/a + 6|y|/b <= 1, all of
// it touches; beyond, the plane is cut off at zero.
//
// The problem is affine, so it is solved in coordinates that run from the most
// loaded corner in units of the sides.
func planeOnRectangle(a, b float64, c Point) pressed {
	ux, uy := c.X/a, c.Y/b
	if 6*math.Abs(ux)+6*math.Abs(uy) <= 1 {
		return pressed{
			plane:    plane{(1 + 12*ux*ux + 12*uy*uy) / (a * b), 12 * ux / (a * a * b), 12 * uy / (a * b * b)},
			outline:  []Point{{-a/2 - c.X, -b/2 - c.Y}, {a/2 - c.X, -b/2 - c.Y}, {a/2 - c.X, b/2 - c.Y}, {-a/2 - c.X, b/2 - c.Y}},
			fraction: 1,
			peak:     1 + 6*math.Abs(ux) + 6*math.Abs(uy),
		}
	}
	cx, cy := 0.5-math.Abs(ux), 0.5-math.Abs(uy)
	corner, outline := cornerPlane(cx, cy)
	r := pressed{fraction: math.Min(momentsOf(outline).a, 1), peak: corner.p0}
	// Back to the rectangle, whose x falls as the corner's rises.
	sx, sy := math.Copysign(1, ux), math.Copysign(1, uy)
	r.p0 = corner.at(cx, cy) / (a * b)
	r.gx, r.gy = -sx*corner.gx/(a*a*b), -sy*corner.gy/(a*b*b)
	for _, q := range outline {
		r.outline = append(r.outline, Point{sx * a * (cx - q.X), sy * b * (cy - q.Y)})
	}
	if sx*sy < 0 { // mirrored once: turn it round again
		for i, j := 0, len(r.outline)-1; i < j; i, j = i+1, j-1 {
			r.outline[i], r.outline[j] = r.outline[j], r.outline[i]
		}
	}
	return r
}

// cornerPlane solves for the pressure p = max(0, p0 + gx·x + gy·y) of total 1 on
// the unit square with its centre of pressure at (cx, cy), both in (0, 1/2] and
// outside the kern, so that the corner (0, 0) is the most loaded.
//
// Where the contact is a triangle in the corner it is closed: the centre lies
// at a quarter of each leg. Otherwise Newton steps minimise the convex function
// ½·Int max(0, λ·(1,x,y))² − λ·(1, cx, cy), whose gradient is the error of the
// total and of the moments.
func cornerPlane(cx, cy float64) (plane, []Point) {
	if cx <= 0.25 && cy <= 0.25 {
		p0 := 6 / (16 * cx * cy)
		return plane{p0, -p0 / (4 * cx), -p0 / (4 * cy)}, []Point{{0, 0}, {4 * cx, 0}, {0, 4 * cy}}
	}
	// Stretch a narrow contact to unit size.
	kx, ky := math.Min(1, 4*cx), math.Min(1, 4*cy)
	lx, ly, tx, ty := 1/kx, 1/ky, cx/kx, cy/ky
	square := []Point{{0, 0}, {lx, 0}, {lx, ly}, {0, ly}}
	p0 := 2 / (16 * tx * ty)
	at := plane{p0, -p0 / (4 * tx), -p0 / (4 * ty)}
	value := dual(square, at, tx, ty)
	for range 100 {
		m := momentsOf(clip(square, at))
		g := [3]float64{
			at.p0*m.a + at.gx*m.x + at.gy*m.y - 1,
			at.p0*m.x + at.gx*m.xx + at.gy*m.xy - tx,
			at.p0*m.y + at.gx*m.xy + at.gy*m.yy - ty,
		}
		step := solve3([3][3]float64{{m.a, m.x, m.y}, {m.x, m.xx, m.xy}, {m.y, m.xy, m.yy}}, g)
		decrement := g[0]*step[0] + g[1]*step[1] + g[2]*step[2]
		next, nextValue, full := at, value, false
		for t := 1.0; t > 1e-12; t /= 2 {
			next = plane{at.p0 - t*step[0], at.gx - t*step[1], at.gy - t*step[2]}
			nextValue = dual(square, next, tx, ty)
			if nextValue <= value-0.1*t*decrement || decrement < 1e-9 {
				full = t == 1
				break
			}
		}
		at, value = next, nextValue
		if full && decrement < 1e-24 || !(decrement > 0) {
			break
		}
	}
	outline := clip(square, at)
	for i := range outline {
		outline[i].X *= kx
		outline[i].Y *= ky
	}
	s := kx * ky // density per unit area of the unit square
	return plane{at.p0 / s, at.gx / (s * kx), at.gy / (s * ky)}, outline
}

// dual is the convex function that cornerPlane minimises.
func dual(square []Point, p plane, tx, ty float64) float64 {
	m := momentsOf(clip(square, p))
	q := p.p0*p.p0*m.a + p.gx*p.gx*m.xx + p.gy*p.gy*m.yy + 2*(p.p0*p.gx*m.x+p.p0*p.gy*m.y+p.gx*p.gy*m.xy)
	return q/2 - p.p0 - p.gx*tx - p.gy*ty
}

// clip keeps the part of a convex polygon where the plane is above zero.
func clip(poly []Point, p plane) []Point {
	kept := make([]Point, 0, len(poly)+1)
	for i, a := range poly {
		b := poly[(i+1)%len(poly)]
		fa, fb := p.at(a.X, a.Y), p.at(b.X, b.Y)
		if fa > 0 {
			kept = append(kept, a)
		}
		if fa > 0 != (fb > 0) {
			t := fa / (fa - fb)
			kept = append(kept, Point{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)})
		}
	}
	return kept
}

// moments are the integrals of 1, x, y, xx, xy and yy over a polygon.
type moments struct{ a, x, y, xx, xy, yy float64 }

func momentsOf(poly []Point) moments {
	var m moments
	for i, p := range poly {
		q := poly[(i+1)%len(poly)]
		w := p.X*q.Y - q.X*p.Y
		m.a += w / 2
		m.x += w * (p.X + q.X) / 6
		m.y += w * (p.Y + q.Y) / 6
		m.xx += w * (p.X*p.X + p.X*q.X + q.X*q.X) / 12
		m.yy += w * (p.Y*p.Y + p.Y*q.Y + q.Y*q.Y) / 12
		m.xy += w * (p.X*q.Y + 2*p.X*p.Y + 2*q.X*q.Y + q.X*p.Y) / 24
	}
	return m
}

// solve3 solves a symmetric positive definite 3 x 3 system by Cholesky; a
// pivot that vanishes is lifted, which only shortens the Newton step.
func solve3(h [3][3]float64, g [3]float64) [3]float64 {
	var l [3][3]float64
	for j := range 3 {
		d := h[j][j]
		for k := range j {
			d -= l[j][k] * l[j][k]
		}
		l[j][j] = math.Sqrt(math.Max(d, 1e-14*(h[j][j]+1e-14)))
		for i := j + 1; i < 3; i++ {
			v := h[i][j]
			for k := range j {
				v -= l[i][k] * l[j][k]
			}
			l[i][j] = v / l[j][j]
		}
	}
	var y, x [3]float64
	for i := range 3 {
		y[i] = g[i]
		for k := range i {
			y[i] -= l[i][k] * y[k]
		}
		y[i] /= l[i][i]
	}
	for i := 2; i >= 0; i-- {
		x[i] = y[i]
		for k := i + 1; k < 3; k++ {
			x[i] -= l[k][i] * x[k]
		}
		x[i] /= l[i][i]
	}
	return x
}

// wedge is the pressure of total 1 on a line of length l along x whose centre of
// pressure is at c: linear, and beyond l/6 a triangle of length 3(l/2 − |c|).
func wedge(l, c float64) pressed {
	if 6*math.Abs(c) <= l {
		u := c / l
		return pressed{plane{(1 + 12*u*u) / l, 12 * u / (l * l), 0}, []Point{{-l/2 - c, 0}, {l/2 - c, 0}}, 1, 1 + 6*math.Abs(u)}
	}
	w := 3 * (l/2 - math.Abs(c))
	// The centre of a triangle lies at a third of its length from the thick end.
	open, thick := -2*w/3, w/3
	p := pressed{plane{4 / (3 * w), 2 / (w * w), 0}, []Point{{open, 0}, {thick, 0}}, w / l, 2 * l / w}
	if c < 0 {
		p.gx, p.outline = -p.gx, []Point{{-thick, 0}, {-open, 0}}
	}
	return p
}

// round is a plane pressure of total 1 on a disc or ring: p0 + g·s along the
// direction of the centre of pressure, in contact where s > open.
type round struct {
	p0, g    float64
	ux, uy   float64 // direction of the centre of pressure
	open     float64 // −outer radius or less when all of it touches
	fraction float64
	peak     float64
}

// planeOnRound finds the pressure on a disc (inner 0) or ring of the given
// radii whose centre of pressure is at c. Beyond the kern, |c| = (R² + r²)/(4R),
// the contact opens along a chord.
func planeOnRound(outer, inner float64, c Point) round {
	d := math.Hypot(c.X, c.Y)
	area := math.Pi * (outer - inner) * (outer + inner)
	r := round{p0: 1 / area, ux: 1, open: -2 * outer, fraction: 1, peak: 1}
	if d == 0 {
		return r
	}
	r.ux, r.uy = c.X/d, c.Y/d
	second := (outer*outer + inner*inner) / 4 // mean of s² over the ring
	r.g = d / (second * area)
	r.peak = 1 + r.g*outer*area
	if r.g*outer <= r.p0 {
		return r
	}
	// The centre of pressure of max(0, s − open), open + m/n, increases with open:
	// Newton steps, halved into the bracket where they leave it.
	lo, hi := -outer, outer
	open := 2*d - outer // a guess: the centre amid what touches
	var total, touching float64
	for range 100 {
		n, m, t := segment(outer, open)
		if inner > 0 {
			ni, mi, ti := segment(inner, open)
			n, m, t = n-ni, m-mi, t-ti
		}
		total, touching = n, t
		e := open + m/n - d
		if e < 0 {
			lo = open
		} else {
			hi = open
		}
		next := open - e/(m*t/(n*n)-1)
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(e) < 4e-16*outer || next == open {
			break
		}
		open = next
	}
	r.open, r.g = open, 1/total
	r.p0 = -open * r.g
	r.fraction = touching / area
	r.peak = (outer - open) * r.g * area
	return r
}

// segment integrates over the part of a disc of the given radius where
// s > open: n of (s − open), m of (s − open)², t of 1. With h the angle from the
// middle to the end of the chord, in units of the radius,
//
//	t = h − cos h·sin h,  n = 2/3·sin³h − cos h·t,
//	m = h/4 − sin(4h)/16 − 4/3·cos h·sin³h + cos²h·t;
//
// where the segment is small these cancel, and Gauss points in the angle keep
// every digit.
func segment(radius, open float64) (n, m, t float64) {
	c := open / radius
	if c >= 1 {
		return 0, 0, 0
	}
	half := math.Pi
	if c > -1 {
		half = math.Acos(c)
	}
	if half > 0.8 && c > -1 {
		sin := math.Sqrt((1 - c) * (1 + c))
		cube := sin * sin * sin
		t = half - c*sin
		n = 2*cube/3 - c*t
		m = half/4 - sin*c*(1-2*sin*sin)/4 - 4*c*cube/3 + c*c*t
		r2 := radius * radius
		return n * r2 * radius, m * r2 * r2, t * r2
	}
	for i, x := range gauss24.x {
		phi := half / 2 * (1 + x)
		sin, cos := math.Sincos(phi)
		w := gauss24.w[i] * half / 2 * 2 * radius * radius * sin * sin
		above := radius * (cos - c)
		if c > -1 {
			above = radius * 2 * math.Sin((half+phi)/2) * math.Sin((half-phi)/2)
		}
		n += w * above
		m += w * above * above
		t += w
	}
	return n, m, t
}
