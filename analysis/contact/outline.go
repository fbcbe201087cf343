package contact

import "math"

// Outline is the shape of a patch for a drawing, in m from its geometric
// centre.
type Outline struct {
	Whole [][]Point // closed curves round what presses, or the two ends of a line
	Hole  []Point   // of a ring
	// Touching is what stays in contact where the contact opens; nil where all does.
	Touching []Point
}

// Outline gives the patch as polygons; circles have 96 corners.
func (p Patch) Outline() Outline {
	var o Outline
	box := func(c Point, w, h float64) []Point {
		return []Point{{c.X - w/2, c.Y - h/2}, {c.X + w/2, c.Y - h/2}, {c.X + w/2, c.Y + h/2}, {c.X - w/2, c.Y + h/2}}
	}
	switch p.kind {
	case rectangle:
		o.Whole = [][]Point{box(Point{}, p.a, p.b)}
		if q := planeOnRectangle(p.a, p.b, p.centre); q.fraction < 1 {
			for _, v := range q.outline {
				o.Touching = append(o.Touching, shift(v, p.centre))
			}
		}
	case disc, ring:
		o.Whole = [][]Point{circlePolygon(p.a / 2)}
		if p.kind == ring {
			o.Hole = circlePolygon(p.b / 2)
		}
		if q := planeOnRound(p.a/2, p.b/2, p.centre); q.fraction < 1 {
			o.Touching = clip(o.Whole[0], plane{q.p0, q.g * q.ux, q.g * q.uy})
		}
	case line:
		o.Whole = [][]Point{{{-p.a / 2, 0}, {p.a / 2, 0}}}
		if q := wedge(p.a, p.centre.X); q.fraction < 1 {
			o.Touching = []Point{shift(q.outline[0], p.centre), shift(q.outline[1], p.centre)}
		}
	case pads:
		for _, pad := range p.pads {
			o.Whole = append(o.Whole, box(pad.At, pad.Width, pad.Height))
		}
	}
	return o
}

func circlePolygon(radius float64) []Point {
	list := make([]Point, 96)
	for i := range list {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(len(list)))
		list[i] = Point{radius * cos, radius * sin}
	}
	return list
}
