package document

import (
	"fmt"
	"io"

	"griptrial/report"
	"griptrial/report/figure"
)

// Write writes the document as PDF.
func Write(w io.Writer, in report.Input) error {
	s := newSheet(in)
	d := build(in, s.width)
	s.named(d)
	for i := 0; i < len(d.Parts); i++ {
		run := i
		for run < len(d.Parts) && d.Parts[run].Kind == picture {
			run++
		}
		if run > i {
			s.pictures(d.Parts[i:run])
			i = run - 1
			continue
		}
		below := 60.0
		if i+1 < len(d.Parts) {
			below = s.needs(d.Parts[i+1])
		}
		s.part(d.Parts[i], below)
	}
	if err := s.pdf.Output(w); err != nil {
		return fmt.Errorf("write the document: %w", err)
	}
	return nil
}

// pictures sets figures one after the other; where the next one needs a new page
// a later one that still fits on this page comes first.
func (s *sheet) pictures(list []part) {
	list = append([]part(nil), list...)
	for len(list) > 0 {
		next := 0
		for i, p := range list {
			if s.pdf.GetY()+s.heightOf(p.Pictures[0]) <= s.bottom {
				next = i
				break
			}
		}
		s.picture(list[next].Pictures[0])
		list = append(list[:next], list[next+1:]...)
	}
}

// needs is the height that a heading keeps free below it for what follows.
func (s *sheet) needs(next part) float64 {
	if next.Kind == picture {
		return min(s.heightOf(next.Pictures[0]), 0.8*(s.bottom-margin))
	}
	return 60
}

// part sets one part; below is what a heading keeps free.
func (s *sheet) part(p part, below float64) {
	switch p.Kind {
	case heading:
		s.headingWith(p.Level, p.Text, below)
	case text:
		s.styled(p)
	case list:
		for _, i := range p.Items {
			s.item(i)
		}
	case table:
		s.table(p.Columns, p.Rows)
	case small:
		s.small(p.Pictures)
	case command:
		s.command(p.Text)
	case framed:
		s.space(14)
		top := s.pdf.GetY() - 10
		for _, q := range p.Parts {
			s.part(q, 0)
		}
		s.box(top, s.pdf.GetY()+4)
		s.space(16)
	}
}

func (s *sheet) styled(p part) {
	switch p.Style {
	case title:
		s.pdf.Bookmark(figure.Spell(p.Text), 0, -1)
		s.paragraph(p.Text, 20, true, false)
	case answer:
		s.paragraph(p.Text, 15, true, false)
	case strong:
		s.paragraph(p.Text, textSize, true, false)
	case quiet:
		s.paragraph(p.Text, textSize, false, true)
	case plain:
		s.paragraph(p.Text, textSize, false, false)
	}
}

// command sets a command line, broken where it is too long.
func (s *sheet) command(text string) {
	s.ink(false)
	for rest := figure.Spell(text); rest != ""; {
		s.pdf.SetFont(mono, "", 8.5)
		part := s.start(rest, s.width-4)
		s.room(lead)
		s.pdf.SetFont(mono, "", 8.5)
		s.line(part, lead)
		rest = rest[len(part):]
	}
	s.space(4)
}

// small sets pictures in a row of four.
func (s *sheet) small(pictures []figure.Figure) {
	const across, gap = 4, 10.0
	wide := (s.width - (across-1)*gap) / across
	for i := 0; i < len(pictures); i += across {
		scale := wide / pictures[i].Width
		high := pictures[i].Height * scale
		s.room(high + 8)
		top := s.pdf.GetY()
		for k, f := range pictures[i:min(i+across, len(pictures))] {
			for _, shape := range f.Shapes() {
				s.shape(shape, margin+float64(k)*(wide+gap), top, scale)
			}
		}
		s.pdf.SetXY(margin, top+high+8)
	}
}
