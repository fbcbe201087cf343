package figure

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// pen draws on a canvas in points, with the origin at the top left and y
// pointing down. The canvases of gonum/plot point y up.
type pen struct {
	c        vg.Canvas
	height   float64
	dx, dy   float64 // added to every position
	outline  bool    // draw text as outlines
	plain    bool    // the font must carry every letter: others are spelled out
	grounded bool    // the canvas is paper already
}

func (p *pen) point(x, y float64) vg.Point {
	return vg.Point{X: vg.Length(x + p.dx), Y: vg.Length(p.height - y - p.dy)}
}

type pt struct{ x, y float64 }

// path starts at the first point and joins the others with straight lines.
func (p *pen) path(pts []pt, closed bool) vg.Path {
	out := make(vg.Path, 0, len(pts)+1)
	for i, q := range pts {
		if i == 0 {
			out.Move(p.point(q.x, q.y))
			continue
		}
		out.Line(p.point(q.x, q.y))
	}
	if closed {
		out.Close()
	}
	return out
}

// line strokes a polyline; dash is a pattern in points, nil for a full line.
func (p *pen) line(ink color.Color, width float64, dash []float64, pts ...pt) {
	if len(pts) < 2 {
		return
	}
	p.stroke(ink, width, dash, p.path(pts, false))
}

func (p *pen) stroke(ink color.Color, width float64, dash []float64, path vg.Path) {
	p.c.SetColor(ink)
	p.c.SetLineWidth(vg.Length(width))
	lengths := make([]vg.Length, len(dash))
	for i, d := range dash {
		lengths[i] = vg.Length(d)
	}
	p.c.SetLineDash(lengths, 0)
	p.c.Stroke(path)
}

// area fills a polygon.
func (p *pen) area(ink color.Color, pts ...pt) {
	p.c.SetColor(ink)
	p.c.Fill(p.path(pts, true))
}

// rect fills an upright rectangle.
func (p *pen) rect(ink color.Color, x, y, w, h float64) {
	p.area(ink, pt{x, y}, pt{x + w, y}, pt{x + w, y + h}, pt{x, y + h})
}

// mark draws the marker of a shape number at a place; r is its radius.
func (p *pen) mark(shape int, ink color.Color, hollow bool, x, y, r float64) {
	path := p.shape(shape, x, y, r)
	if hollow {
		p.c.SetColor(paper)
		p.c.Fill(path)
		p.stroke(ink, 0.9, nil, path)
		return
	}
	p.c.SetColor(ink)
	p.c.Fill(path)
}

// shapes is how many marker shapes there are.
const shapes = 7

// shape outlines a marker: circle, square, triangle, diamond, triangle down,
// hexagon, four-pointed star. The areas look alike at one radius.
func (p *pen) shape(shape int, x, y, r float64) vg.Path {
	switch shape % shapes {
	case 0:
		var c vg.Path
		c.Move(p.point(x+r, y))
		c.Arc(p.point(x, y), vg.Length(r), 0, 2*math.Pi)
		c.Close()
		return c
	case 1:
		return p.polygon(x, y, r*1.25, 4, math.Pi/4)
	case 2:
		return p.polygon(x, y+r*0.15, r*1.4, 3, -math.Pi/2)
	case 3:
		return p.polygon(x, y, r*1.35, 4, 0)
	case 4:
		return p.polygon(x, y-r*0.15, r*1.4, 3, math.Pi/2)
	case 5:
		return p.polygon(x, y, r*1.1, 6, 0)
	}
	var pts []pt
	for i := range 8 {
		s, c := math.Sincos(float64(i) * math.Pi / 4)
		q := r * 1.6
		if i%2 == 1 {
			q = r * 0.6
		}
		pts = append(pts, pt{x + q*c, y + q*s})
	}
	return p.path(pts, true)
}

func (p *pen) polygon(x, y, r float64, n int, start float64) vg.Path {
	pts := make([]pt, n)
	for i := range pts {
		s, c := math.Sincos(start + 2*math.Pi*float64(i)/float64(n))
		pts[i] = pt{x + r*c, y + r*s}
	}
	return p.path(pts, true)
}

// arrow draws what a held pull is: a bar at the lower bound and an arrow from
// there toward more. (ux, uy) is the direction, of length 1.
func (p *pen) arrow(ink color.Color, x, y, ux, uy, length float64) {
	tx, ty := x+ux*length, y+uy*length
	px, py := -uy, ux
	p.line(ink, 1.1, nil, pt{x - px*2.6, y - py*2.6}, pt{x + px*2.6, y + py*2.6})
	p.line(ink, 1.1, nil, pt{x, y}, pt{tx - ux*2, ty - uy*2})
	p.area(ink, pt{tx, ty}, pt{tx - ux*4 + px*2.4, ty - uy*4 + py*2.4}, pt{tx - ux*4 - px*2.4, ty - uy*4 - py*2.4})
}
