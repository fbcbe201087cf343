package contact

import "math"

// motion is a rigid velocity field: (vx, vy) at the origin and turning w.
type motion struct{ vx, vy, w float64 }

// sums collects the dissipation Int p·|v| of a motion with its gradient (the
// force and moment of friction) and second derivatives.
type sums struct {
	d                            float64
	gx, gy, gw                   float64
	hxx, hxy, hyy, hxw, hyw, hww float64
}

// element is a part of a patch that knows its dissipation.
type element interface{ add(m motion, s *sums) }

// addNodes adds many points.
func (s *sums) addNodes(m motion, list []node) {
	for _, n := range list {
		s.addNode(m, n)
	}
}

// addNode adds one point that carries the share n.w.
func (s *sums) addNode(m motion, n node) {
	vx, vy := m.vx-m.w*n.y, m.vy+m.w*n.x
	v := math.Sqrt(vx*vx + vy*vy)
	if v == 0 {
		return
	}
	vx, vy = vx/v, vy/v
	s.d += n.w * v
	s.gx += n.w * vx
	s.gy += n.w * vy
	s.gw += n.w * (n.x*vy - n.y*vx)
	// Second derivatives act across the velocity only.
	ax, ay := -vy, vx
	aw := n.x*ay - n.y*ax
	k := n.w / v
	s.hxx += k * ax * ax
	s.hxy += k * ax * ay
	s.hyy += k * ay * ay
	s.hxw += k * ax * aw
	s.hyw += k * ay * aw
	s.hww += k * aw * aw
}

// about are the integrals over a patch as seen from the turning centre c, with
// n the unit vector from c to the place and r its distance:
//
//	w = Int p·r,  i = Int p·n,  m = Int p·n⊗n/r
type about struct{ w, ix, iy, mxx, mxy, myy float64 }

// addTurning adds the motion m, which turns about c, from the integrals there.
func (s *sums) addTurning(m motion, c Point, a about) {
	size, sign := math.Abs(m.w), math.Copysign(1, m.w)
	s.d += size * a.w
	s.gx -= sign * a.iy
	s.gy += sign * a.ix
	s.gw += sign * (a.w + c.X*a.ix + c.Y*a.iy)
	// A velocity across n is along it in the second derivatives.
	mx, my := -c.Y*a.mxx+c.X*a.mxy, -c.Y*a.mxy+c.X*a.myy
	s.hxx += a.mxx / size
	s.hxy += a.mxy / size
	s.hyy += a.myy / size
	s.hxw += mx / size
	s.hyw += my / size
	s.hww += (-c.Y*mx + c.X*my) / size
}

// centreOf is the turning centre of a motion with w other than 0.
func centreOf(m motion) Point { return Point{-m.vy / m.w, m.vx / m.w} }

// region is a flat piece with a plane pressure, bounded by straight edges or by
// whole circles.
//
// Seen from the turning centre c in polar coordinates the integrals over the
// region become integrals along its boundary, counter-clockwise, for s the place
// from c, p_c the plane's value at c and g its slope:
//
//	Int p·r        = ∮ (p_c/3 + g·s/4)·|s|·(s × ds)
//	Int p·n        = ∮ (p_c/2 + g·s/3)·s/|s|·(s × ds)
//	Int p·n⊗n/r    = ∮ (p_c   + g·s/2)·s⊗s/|s|³·(s × ds)
//
// They hold for c inside and outside. Along an edge they are elementary
// (addEdge), along a circle elliptic (addCircle). They lose digits where c is far
// away, so there Gauss points take over, and for a sliver with a steep pressure.
type region struct {
	pressure plane
	outline  []Point // convex polygon, counter-clockwise; or
	circles  []circle
	middle   Point   // of a circle round the region
	radius   float64 // of that circle
	mid, far []node  // Gauss points for c beyond 6 and beyond 60 radii
	sliver   *sliver // of a thin polygon with a slope; nil otherwise
}

func (r *region) add(m motion, s *sums) {
	vx, vy := m.vx-m.w*r.middle.Y, m.vy+m.w*r.middle.X
	distance, reach := math.Hypot(vx, vy), math.Abs(m.w)*r.radius
	switch {
	case distance >= 60*reach:
		if r.far == nil {
			r.far = r.nodes(gauss4)
		}
		s.addNodes(m, r.far)
		return
	case distance >= 6*reach:
		if r.mid == nil {
			r.mid = r.nodes(gauss8)
		}
		s.addNodes(m, r.mid)
		return
	}
	if r.sliver != nil {
		r.sliver.add(m, s)
		return
	}
	c := centreOf(m)
	s.addTurning(m, c, r.about(c))
}

// about evaluates the boundary integrals.
func (r *region) about(c Point) about {
	var a about
	pc := r.pressure.at(c.X, c.Y)
	for i, p := range r.outline {
		a.addEdge(p, r.outline[(i+1)%len(r.outline)], c, pc, r.pressure.gx, r.pressure.gy)
	}
	for _, o := range r.circles {
		a.addCircle(o, c, pc, r.pressure.gx, r.pressure.gy)
	}
	return a
}

// nodes covers the region with Gauss points.
func (r *region) nodes(n rule) []node {
	var list []node
	for _, o := range r.circles {
		list = append(list, discNodes(o, r.pressure, n)...)
	}
	if len(r.outline) > 0 {
		list = append(list, polygonNodes(r.outline, r.pressure, n)...)
	}
	return list
}

// along are the integrals of t^k/r and t^k/r³ over an edge that runs from t1 to
// t2 at the distance h from c, r = sqrt(t² + h²).
type along struct {
	r0     float64 // Int r
	r1     float64 // Int t·r
	a0     float64 // Int 1/r
	a1, a2 float64 // Int t/r, Int t²/r
	b0     float64 // h²·Int 1/r³
	b1     float64 // Int t/r³
	b2, b3 float64 // Int t²/r³, Int t³/r³
}

func integrateAlong(t1, t2, h float64) along {
	h2 := h * h
	r1, r2 := math.Sqrt(t1*t1+h2), math.Sqrt(t2*t2+h2)
	var v along
	dr := (t2 - t1) * (t2 + t1) / (r1 + r2)
	switch {
	case t1 >= 0:
		v.a0 = logRatio(t2-t1+dr, t1+r1)
	case t2 <= 0:
		v.a0 = logRatio(t2-t1-dr, r2-t2)
	default:
		v.a0 = math.Log((t2 + r2) * (r1 - t1) / h2)
	}
	v.a1 = dr
	half := (t2*r2 - t1*r1) / 2
	v.r0 = half + h2*v.a0/2
	v.a2 = half - h2*v.a0/2
	v.r1 = dr * (r1*r1 + r1*r2 + r2*r2) / 3
	inverse := 1 / (r1 * r2)
	v.b0 = (t2*r1 - t1*r2) * inverse
	v.b1 = dr * inverse
	v.b2 = v.a0 - v.b0
	v.b3 = dr * (1 - h2*inverse)
	return v
}

// logRatio is ln(1 + more/base) with every digit for small and large more.
func logRatio(more, base float64) float64 {
	if more > 0.5*base {
		return math.Log((base + more) / base)
	}
	return math.Log1p(more / base)
}

// addEdge adds the straight edge from a to b.
func (s *about) addEdge(a, b, c Point, pc, gx, gy float64) {
	tx, ty := b.X-a.X, b.Y-a.Y
	length := math.Hypot(tx, ty)
	tx, ty = tx/length, ty/length
	ax, ay := a.X-c.X, a.Y-c.Y
	h := ax*ty - ay*tx // along the outward normal (ty, -tx)
	if h == 0 {
		return
	}
	t1 := ax*tx + ay*ty
	v := integrateAlong(t1, t1+length, h)
	gt, gn := gx*tx+gy*ty, gx*ty-gy*tx
	s.w += h * ((pc/3+gn*h/4)*v.r0 + gt/4*v.r1)
	p := pc/2 + gn*h/3
	it, in := h*(p*v.a1+gt/3*v.a2), h*h*(p*v.a0+gt/3*v.a1)
	p = pc + gn*h/2
	mtt := h * (p*v.b2 + gt/2*v.b3)
	mtn := h * h * (p*v.b1 + gt/2*v.b2)
	mnn := h * (p*v.b0 + gt/2*h*h*v.b1)
	s.addTurned(tx, ty, ty, -tx, it, in, mtt, mtn, mnn)
}

// addTurned adds a vector and a tensor given along the unit vectors t and n.
func (s *about) addTurned(tx, ty, nx, ny, it, in, mtt, mtn, mnn float64) {
	s.ix += tx*it + nx*in
	s.iy += ty*it + ny*in
	s.mxx += tx*tx*mtt + 2*tx*nx*mtn + nx*nx*mnn
	s.mxy += tx*ty*mtt + (tx*ny+ty*nx)*mtn + nx*ny*mnn
	s.myy += ty*ty*mtt + 2*ty*ny*mtn + ny*ny*mnn
}
