package document

import (
	"griptrial/report/figure"
)

// scaleOf is how large a figure is drawn: at its own size, which is that of the
// page, unless it is wider.
func (s *sheet) scaleOf(f figure.Figure) float64 { return min(s.width/f.Width, 1) }

// heightOf is what a figure takes with its title.
func (s *sheet) heightOf(f figure.Figure) float64 {
	lines := s.lines(figure.Spell(f.Title), textSize+0.5, true, s.width)
	return float64(len(lines))*lead + 10 + f.Height*s.scaleOf(f)
}

// picture draws a figure with its title, as vectors and text. One that is taller
// than a page goes on over the next ones, cut where it says that it may be.
func (s *sheet) picture(f figure.Figure) {
	scale := s.scaleOf(f)
	lines := s.lines(figure.Spell(f.Title), textSize+0.5, true, s.width)
	head := float64(len(lines))*lead + 10
	page := s.bottom - margin
	first := f.Height * scale
	if head+first > page && len(f.Breaks) > 0 {
		first = f.Breaks[0] * scale
	}
	s.room(min(head+first, page))
	s.font(textSize+0.5, true)
	s.ink(false)
	s.space(4)
	for _, l := range lines {
		s.font(textSize+0.5, true)
		s.line(l, lead)
	}
	s.space(6)
	if left := (s.bottom - s.pdf.GetY()) / f.Height; len(f.Breaks) == 0 || scale <= left {
		s.slice(f, 0, f.Height, min(scale, left))
		return
	}
	for from := 0.0; from < f.Height; {
		to := f.Cut(from, (s.bottom-s.pdf.GetY())/scale)
		s.slice(f, from, to, scale)
		if from = to; from < f.Height {
			s.pdf.AddPage()
			s.pdf.SetXY(margin, margin)
		}
	}
}

// slice draws what of a figure lies between two heights.
func (s *sheet) slice(f figure.Figure, from, to, scale float64) {
	top := s.pdf.GetY()
	whole := from == 0 && to == f.Height
	if !whole {
		s.pdf.ClipRect(margin-4, top, s.width+8, (to-from)*scale, false)
	}
	for _, shape := range f.Shapes() {
		if lo, hi := shape.Reach(); whole || hi > from && lo < to {
			s.shape(shape, margin, top-from*scale, scale)
		}
	}
	if !whole {
		s.pdf.ClipEnd()
	}
	s.pdf.SetXY(margin, top+(to-from)*scale+14)
}

// shape draws one shape of a figure that starts at (left, top).
func (s *sheet) shape(p figure.Shape, left, top, scale float64) {
	x := func(v float64) float64 { return left + v*scale }
	y := func(v float64) float64 { return top + v*scale }
	r, g, b := int(p.Color.R), int(p.Color.G), int(p.Color.B)
	if p.Text != "" {
		s.font(p.Size*scale, p.Bold)
		s.pdf.SetTextColor(r, g, b)
		s.pdf.Text(x(p.X), y(p.Y), p.Text)
		return
	}
	for _, q := range p.Path {
		switch q.Op {
		case 'M':
			s.pdf.MoveTo(x(q.X), y(q.Y))
		case 'L':
			s.pdf.LineTo(x(q.X), y(q.Y))
		case 'C':
			s.pdf.CurveBezierCubicTo(x(q.X1), y(q.Y1), x(q.X2), y(q.Y2), x(q.X), y(q.Y))
		case 'Z':
			s.pdf.ClosePath()
		}
	}
	if p.Fill {
		s.pdf.SetFillColor(r, g, b)
		s.pdf.DrawPath("F")
		return
	}
	s.pdf.SetDrawColor(r, g, b)
	s.pdf.SetLineWidth(p.Width * scale)
	dash := make([]float64, len(p.Dash))
	for i, d := range p.Dash {
		dash[i] = d * scale
	}
	s.pdf.SetDashPattern(dash, 0)
	s.pdf.DrawPath("D")
	s.pdf.SetDashPattern(nil, 0)
}

// box draws a rule around what stands between two heights.
func (s *sheet) box(top, bottom float64) {
	s.pdf.SetDrawColor(0x1d, 0x25, 0x2b)
	s.pdf.SetLineWidth(1.2)
	s.pdf.RoundedRectExt(margin-10, top, s.width+20, bottom-top, 14, 14, 3, 3, "D")
}
