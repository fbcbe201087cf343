package document

import (
	"strings"

	"griptrial/report/figure"
)

const (
	cellSize = 8.0
	cellLead = 10.5
	apart    = 7 // between a number and words at its right
)

// table sets rows under a head that returns on every page. A cell breaks into
// as many lines as it needs.
func (s *sheet) table(columns []column, rows []row) {
	total := 0.0
	for _, c := range columns {
		total += c.Share
	}
	widths := make([]float64, len(columns))
	names := make([]string, len(columns))
	for i, c := range columns {
		widths[i] = c.Share / total * s.width
		names[i] = c.Name
	}
	s.fit(columns, widths, names)
	head := func() { s.row(plainly(columns), widths, row{Cells: names, Quiet: true}, true) }
	s.room(4 * cellLead)
	head()
	for _, r := range rows {
		if s.pdf.GetY()+s.height(columns, widths, r.Cells) > s.bottom {
			s.pdf.AddPage()
			s.pdf.SetXY(margin, margin)
			head()
		}
		s.row(columns, widths, r, false)
	}
	s.space(6)
}

// beside is what words right of a number keep free.
func beside(columns []column, i int) float64 {
	if i > 0 && columns[i-1].Number && !columns[i].Number {
		return apart
	}
	return 0
}

// plainly are the columns for a head, whose words are no checksums.
func plainly(columns []column) []column {
	out := append([]column(nil), columns...)
	for i := range out {
		out[i].Mono = false
	}
	return out
}

// fit widens the columns too narrow for a word of their name, and takes that
// from those with room to spare, as far as they have it.
func (s *sheet) fit(columns []column, widths []float64, names []string) {
	s.font(cellSize, false)
	need := make([]float64, len(widths))
	lack, spare := 0.0, 0.0
	for i, name := range names {
		for _, word := range strings.Fields(figure.Spell(name)) {
			need[i] = max(need[i], s.pdf.GetStringWidth(word)+4.1+beside(columns, i)) // lines keeps 4 free
		}
		lack += max(0, need[i]-widths[i])
		spare += max(0, widths[i]-need[i])
	}
	if lack > spare {
		return
	}
	for i := range widths {
		if widths[i] < need[i] {
			widths[i] = need[i]
		} else if spare > 0 {
			widths[i] -= lack * (widths[i] - need[i]) / spare
		}
	}
}

// cellFont sets the font of a cell: that of a checksum, or bold.
func (s *sheet) cellFont(c column, bold bool) {
	if c.Mono {
		s.pdf.SetFont(mono, "", cellSize-0.6)
		return
	}
	s.font(cellSize, bold)
}

// cell breaks the text of a cell into lines; a checksum stands on one.
func (s *sheet) cell(c column, text string, w float64) []string {
	if c.Mono {
		return []string{text}
	}
	return s.lines(figure.Spell(text), cellSize, false, w)
}

// height is that of a row.
func (s *sheet) height(columns []column, widths []float64, cells []string) float64 {
	most := 1
	for i, c := range cells {
		most = max(most, len(s.cell(columns[i], c, widths[i]-beside(columns, i))))
	}
	return float64(most)*cellLead + 4
}

func (s *sheet) row(columns []column, widths []float64, r row, head bool) {
	top := s.pdf.GetY()
	h := s.height(columns, widths, r.Cells)
	x := margin
	if r.Missing {
		s.pdf.SetFillColor(0xe9, 0xee, 0xf0)
		s.pdf.Rect(margin, top, s.width, h, "F")
	}
	for i, c := range r.Cells {
		align, off := "L", beside(columns, i)
		if columns[i].Number {
			align = "R"
		}
		for k, l := range s.cell(columns[i], c, widths[i]-off) {
			s.cellFont(columns[i], r.Missing && i == len(r.Cells)-1)
			s.ink(r.Quiet)
			s.pdf.SetXY(x+off, top+2+float64(k)*cellLead)
			s.pdf.CellFormat(widths[i]-off, cellLead, l, "", 0, align, false, 0, "")
			if r.Struck && l != "" && i < len(r.Cells)-1 {
				s.strike(x+off, top+2+float64(k)*cellLead+cellLead/2, widths[i]-off, s.pdf.GetStringWidth(l), columns[i].Number)
			}
		}
		x += widths[i]
	}
	s.pdf.SetDrawColor(0xc6, 0xce, 0xd2)
	s.pdf.SetLineWidth(0.5)
	if head {
		s.pdf.SetDrawColor(0x1d, 0x25, 0x2b)
		s.pdf.SetLineWidth(0.8)
	}
	s.pdf.Line(margin, top+h, margin+s.width, top+h)
	s.pdf.SetXY(margin, top+h)
}

// strike draws a line through a text in its cell.
func (s *sheet) strike(x, y, cell, text float64, right bool) {
	pad := s.pdf.GetCellMargin()
	from := x + pad
	if right {
		from = x + cell - pad - text
	}
	s.pdf.SetDrawColor(0x56, 0x62, 0x6b)
	s.pdf.SetLineWidth(0.6)
	s.pdf.Line(from, y, from+text, y)
}
