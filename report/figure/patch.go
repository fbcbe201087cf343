package figure

import (
	"fmt"
	"math"
	"strconv"

	"griptrial/analysis/contact"
	"griptrial/analysis/unit"
)

// Patch draws a contact patch with the pull, the centre of pressure and the
// point about which the part turns, lengths in a unit. What lies far outside is
// only pointed at.
func Patch(p contact.Patch, pull contact.Pull, g contact.Grip, length unit.Unit) Figure {
	f := Figure{Name: "contact", Width: fullWidth, Height: 250}
	f.Title = fmt.Sprintf("This face can use %.0f %% of its friction against the pull", 100*g.Factor)
	turn := "The part shifts without turning."
	if !g.Shift {
		turn = fmt.Sprintf("The part turns about (%s, %s) from the centre of the patch.", tidy(g.Centre.X, length), tidy(g.Centre.Y, length))
	}
	f.Desc = fmt.Sprintf("Patch: %v. The pull runs at %.3g degrees with an arm of %.3g %s. Grip factor %.4f. %s", p, pull.Direction*180/math.Pi, length.FromSI(pull.Arm), length.Name, g.Factor, turn)
	f.draw = func(pen *pen) { newPatchView(p, pull, g, length, f.Height).draw(pen) }
	return f
}

// tidy writes a length in m in a unit with three digits, and what is below a
// micrometre as 0.
func tidy(m float64, u unit.Unit) string {
	if math.Abs(m) < 0.5e-6 {
		m = 0
	}
	return strconv.FormatFloat(u.FromSI(m), 'g', 3, 64) + " " + u.Name
}

// patchView maps the plane of the face onto the paper.
type patchView struct {
	patch  contact.Patch
	out    contact.Outline
	pull   contact.Pull
	grip   contact.Grip
	length unit.Unit
	foot   contact.Point // nearest to the centre on the line of the pull
	scale  float64       // points per m
	x0, y0 float64       // of the patch's centre on the paper
	height float64
}

func newPatchView(p contact.Patch, pull contact.Pull, g contact.Grip, length unit.Unit, height float64) *patchView {
	v := &patchView{patch: p, out: p.Outline(), pull: pull, grip: g, length: length, height: height}
	sin, cos := math.Sincos(pull.Direction)
	v.foot = contact.Point{X: pull.Arm * sin, Y: -pull.Arm * cos}
	var lo, hi contact.Point
	grow := func(q contact.Point) {
		lo = contact.Point{X: math.Min(lo.X, q.X), Y: math.Min(lo.Y, q.Y)}
		hi = contact.Point{X: math.Max(hi.X, q.X), Y: math.Max(hi.Y, q.Y)}
	}
	for _, w := range v.out.Whole {
		for _, q := range w {
			grow(q)
		}
	}
	size := math.Max(hi.X-lo.X, hi.Y-lo.Y)
	for _, q := range []contact.Point{v.foot, g.Centre} {
		if math.Hypot(q.X, q.Y) < 1.5*size {
			grow(q)
		}
	}
	const side, foot = 46.0, 64.0
	v.scale = math.Min((fullWidth-2*side)/math.Max(hi.X-lo.X, size/10), (height-side-foot)/math.Max(hi.Y-lo.Y, size/10))
	v.x0 = fullWidth/2 - v.scale*(lo.X+hi.X)/2
	v.y0 = (height-foot+side/2)/2 + v.scale*(lo.Y+hi.Y)/2
	return v
}

func (v *patchView) at(q contact.Point) pt { return pt{v.x0 + v.scale*q.X, v.y0 - v.scale*q.Y} }

func (v *patchView) curve(list []contact.Point) []pt {
	out := make([]pt, 0, len(list)+1)
	for _, q := range list {
		out = append(out, v.at(q))
	}
	return append(out, out[0])
}

// inside reports whether a place can be drawn on the paper.
func (v *patchView) inside(q pt) bool {
	return q.x > 8 && q.x < fullWidth-8 && q.y > 8 && q.y < v.height-50
}

func (v *patchView) draw(p *pen) {
	// What presses is filled, what has opened is only outlined.
	for _, w := range v.out.Whole {
		if v.out.Touching == nil {
			p.area(faint, v.curve(w)...)
		}
	}
	if v.out.Touching != nil {
		p.area(faint, v.curve(v.out.Touching)...)
	}
	if v.out.Hole != nil {
		p.area(paper, v.curve(v.out.Hole)...)
		p.line(ink, 0.9, nil, v.curve(v.out.Hole)...)
	}
	for _, w := range v.out.Whole {
		p.line(ink, 1.1, nil, v.curve(w)...)
	}
	v.drawPull(p)
	v.drawCentres(p)
	v.drawFoot(p)
}

// drawPull draws the arm and the arrow of the pull, or at the edge of the paper
// that it runs farther out.
func (v *patchView) drawPull(p *pen) {
	sin, cos := math.Sincos(v.pull.Direction)
	from := v.at(v.foot)
	col := shade(1)
	if !v.inside(from) {
		d := math.Hypot(v.foot.X, v.foot.Y)
		ux, uy := v.foot.X/d, -v.foot.Y/d
		centre := v.at(contact.Point{})
		reach := math.Inf(1)
		for _, limit := range []float64{edge(centre.x, ux, fullWidth-40, 40), edge(centre.y, uy, v.height-80, 30)} {
			reach = math.Min(reach, limit)
		}
		from = pt{centre.x + ux*reach, centre.y + uy*reach}
		p.line(col, 0.8, []float64{1, 3}, centre, from)
	} else if v.pull.Arm != 0 {
		p.line(col, 0.8, []float64{3, 2}, v.at(contact.Point{}), from)
	}
	const length = 44.0
	tip := pt{from.x + cos*length, from.y - sin*length}
	p.line(col, 2, nil, from, pt{tip.x - cos*5, tip.y + sin*5})
	p.area(col, tip, pt{tip.x - cos*9 - sin*4, tip.y + sin*9 - cos*4}, pt{tip.x - cos*9 + sin*4, tip.y + sin*9 + cos*4})
	word := "pull"
	if !v.inside(v.at(v.foot)) {
		word = "pull, farther out"
	}
	anchor, x := 0.0, tip.x+6
	if cos < 0 {
		anchor, x = 1, tip.x-6
	}
	room := width(word, small, true)
	x = math.Max(anchor*room, math.Min(fullWidth-(1-anchor)*room, x))
	p.text(col, small, true, anchor, x, math.Max(small, math.Min(v.height-54, tip.y-sin*6+small/3)), word)
}

// edge is how far one may go from a along u before lo or hi.
func edge(a, u, hi, lo float64) float64 {
	switch {
	case u > 1e-9:
		return math.Max(0, (hi-a)/u)
	case u < -1e-9:
		return math.Max(0, (lo-a)/u)
	}
	return math.Inf(1)
}

// drawCentres marks the centre of pressure with a cross and the turning centre
// with a hollow ring.
func (v *patchView) drawCentres(p *pen) {
	c := v.at(v.patch.PressureCentre())
	p.line(ink, 1.1, nil, pt{c.x - 4, c.y}, pt{c.x + 4, c.y})
	p.line(ink, 1.1, nil, pt{c.x, c.y - 4}, pt{c.x, c.y + 4})
	if v.grip.Shift {
		return
	}
	if q := v.at(v.grip.Centre); v.inside(q) {
		p.mark(0, shade(2), true, q.x, q.y, 4.5)
		p.mark(0, shade(2), false, q.x, q.y, 1.2)
	}
}

// drawFoot explains the marks and gives the scale.
func (v *patchView) drawFoot(p *pen) {
	y := v.height - 34
	p.line(ink, 1.1, nil, pt{4, y - 3}, pt{12, y - 3})
	p.line(ink, 1.1, nil, pt{8, y - 7}, pt{8, y + 1})
	p.text(ink, small, false, 0, 18, y, "centre of pressure")
	text := "the part shifts without turning"
	if !v.grip.Shift {
		p.mark(0, shade(2), true, 8, y+14, 4.5)
		p.mark(0, shade(2), false, 8, y+14, 1.2)
		text = fmt.Sprintf("turns about (%s, %s)", tidy(v.grip.Centre.X, v.length), tidy(v.grip.Centre.Y, v.length))
		if !v.inside(v.at(v.grip.Centre)) {
			text += ", outside the drawing"
		}
	}
	p.text(ink, small, false, 0, 18, y+17, text)
	step, decimals := roundStep(v.length.FromSI(60 / v.scale))
	w := v.length.ToSI(step) * v.scale
	x := fullWidth - 10 - w
	p.line(ink, 0.9, nil, pt{x, y - 6}, pt{x, y}, pt{x + w, y}, pt{x + w, y - 6})
	p.text(mid, small, false, 0.5, x+w/2, y+small+2, fmt.Sprintf("%.*f %s", decimals, step, v.length.Name))
	touch := fmt.Sprintf("%.0f %% touches", 100*v.patch.Touching())
	if v.patch.Touching() < 1 {
		p.text(mid, small, false, 1, x-10, y, touch)
	}
}
