package contact

import "math"

// body is everything that slides at once, ready for the search: total share 1,
// origin at the common centre of pressure, lengths in units of scale.
type body struct {
	origin   Point   // m
	scale    float64 // m
	elements []element
}

// build lays the faces out. Each face carries the share mu of all mu.
func build(faces []Face) body {
	var b body
	total := 0.0
	for _, f := range faces {
		total += f.Mu
	}
	for _, f := range faces {
		share := f.Mu / total
		b.origin.X += share * (f.Offset.X + f.Patch.centre.X)
		b.origin.Y += share * (f.Offset.Y + f.Patch.centre.Y)
	}
	square := 0.0
	for _, f := range faces {
		x, y := f.Offset.X+f.Patch.centre.X-b.origin.X, f.Offset.Y+f.Patch.centre.Y-b.origin.Y
		square += f.Mu / total * (x*x + y*y + f.Patch.spread())
	}
	b.scale = math.Sqrt(square)
	for _, f := range faces {
		c := f.Patch.centre
		at := Point{(f.Offset.X + c.X - b.origin.X) / b.scale, (f.Offset.Y + c.Y - b.origin.Y) / b.scale}
		b.elements = append(b.elements, f.Patch.elements(at, b.scale, f.Mu/total)...)
	}
	return b
}

// spread is about the mean squared distance of the pressure from its centre, in
// m². It only sets the scale of the search.
func (p Patch) spread() float64 {
	switch p.kind {
	case rectangle:
		lx, ly := math.Min(p.a, 3*(p.a/2-math.Abs(p.centre.X))), math.Min(p.b, 3*(p.b/2-math.Abs(p.centre.Y)))
		return (lx*lx + ly*ly) / 12
	case disc, ring:
		return (p.a*p.a + p.b*p.b) / 8
	case line:
		l := math.Min(p.a, 3*(p.a/2-math.Abs(p.centre.X)))
		return l * l / 12
	}
	sum := 0.0
	for _, pad := range p.pads {
		x, y := pad.At.X-p.centre.X, pad.At.Y-p.centre.Y
		sum += pad.Share * (x*x + y*y + (pad.Width*pad.Width+pad.Height*pad.Height)/12)
	}
	return sum
}

// elements lays out the patch with its centre of pressure at the given place,
// lengths divided by scale and forces times share.
func (p Patch) elements(at Point, scale, share float64) []element {
	a, b := p.a/scale, p.b/scale
	c := Point{p.centre.X / scale, p.centre.Y / scale}
	switch p.kind {
	case rectangle:
		q := planeOnRectangle(a, b, c)
		return []element{polygon(q.outline, q.plane, at, share)}
	case disc, ring:
		return roundElements(a/2, b/2, planeOnRound(a/2, b/2, c), Point{at.X - c.X, at.Y - c.Y}, share)
	case line:
		q := wedge(a, c.X)
		s := stick{a: shift(q.outline[0], at), b: shift(q.outline[1], at)}
		s.pa, s.pb = share*q.at(q.outline[0].X, 0), share*q.at(q.outline[1].X, 0)
		return []element{s}
	}
	var list []element
	for _, pad := range p.pads {
		place := Point{at.X + pad.At.X/scale - c.X, at.Y + pad.At.Y/scale - c.Y}
		w, h := pad.Width/scale, pad.Height/scale
		if pad.Width == 0 {
			list = append(list, spot{place.X, place.Y, share * pad.Share})
			continue
		}
		q := planeOnRectangle(w, h, Point{})
		list = append(list, polygon(q.outline, q.plane, place, share*pad.Share))
	}
	return list
}

func shift(p, by Point) Point { return Point{p.X + by.X, p.Y + by.Y} }

// moved is the plane in coordinates shifted by at, times share.
func (p plane) moved(at Point, share float64) plane {
	return plane{share * (p.p0 - p.gx*at.X - p.gy*at.Y), share * p.gx, share * p.gy}
}

// polygon makes a region of a convex outline, given from the place at.
func polygon(outline []Point, p plane, at Point, share float64) *region {
	r := &region{pressure: p.moved(at, share)}
	lo, hi := outline[0], outline[0]
	for _, q := range outline {
		r.outline = append(r.outline, shift(q, at))
		lo = Point{math.Min(lo.X, q.X), math.Min(lo.Y, q.Y)}
		hi = Point{math.Max(hi.X, q.X), math.Max(hi.Y, q.Y)}
	}
	r.middle = shift(Point{(lo.X + hi.X) / 2, (lo.Y + hi.Y) / 2}, at)
	r.radius = math.Hypot(hi.X-lo.X, hi.Y-lo.Y) / 2
	if p.gx != 0 || p.gy != 0 {
		r.sliver = sliverOf(r.outline, r.pressure)
	}
	return r
}

// roundElements lays out what touches of a disc (inner 0) or ring.
func roundElements(outer, inner float64, q round, at Point, share float64) []element {
	if q.fraction < 1 {
		list := []element{newCap(at, outer, q.open, q.ux, q.uy, share*q.g, 1)}
		if inner > 0 && q.open < inner {
			list = append(list, newCap(at, inner, q.open, q.ux, q.uy, share*q.g, -1))
		}
		return list
	}
	r := &region{
		pressure: plane{q.p0, q.g * q.ux, q.g * q.uy}.moved(at, share),
		circles:  []circle{{at, outer, 1}},
		middle:   at,
		radius:   outer,
	}
	if inner > 0 {
		r.circles = append(r.circles, circle{at, inner, -1})
	}
	return []element{r}
}
