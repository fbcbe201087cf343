package document

import (
	"griptrial/report/figure"
)

// picture draws a figure with its title, as vectors and text, no wider than
// the text and no wider than most times its own size.
func (s *sheet) picture(f figure.Figure, most float64) {
	scale := min(s.width/f.Width, most)
	title := s.lines(figure.Spell(f.Title), textSize, true, s.width)
	s.room(min(float64(len(title))*lead+f.Height*scale+18, s.bottom-margin))
	s.font(textSize, true)
	s.ink(false)
	for _, l := range title {
		s.line(l, lead)
	}
	s.space(6)
	top := s.pdf.GetY()
	scale = min(scale, (s.bottom-top)/f.Height)
	for _, shape := range f.Shapes() {
		s.shape(shape, margin, top, scale)
	}
	s.pdf.SetXY(margin, top+f.Height*scale+12)
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
