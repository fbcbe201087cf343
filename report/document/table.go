package document

import (
	"strings"

	"griptrial/report/figure"
)

// column is one column of a table. Share is its part of the width.
type column struct {
	name   string
	share  float64
	number bool
}

// row is one row of a table.
type row struct {
	cells  []string
	struck bool // superseded: struck through
	quiet  bool
}

const (
	cellSize = 8.0
	cellLead = 10.5
)

// table sets rows under a head that returns on every page. A cell breaks into
// as many lines as it needs.
func (s *sheet) table(columns []column, rows []row) {
	total := 0.0
	for _, c := range columns {
		total += c.share
	}
	widths := make([]float64, len(columns))
	names := make([]string, len(columns))
	for i, c := range columns {
		widths[i] = c.share / total * s.width
		names[i] = c.name
	}
	s.fit(widths, names)
	head := func() { s.row(columns, widths, row{cells: names, quiet: true}, true) }
	s.room(4 * cellLead)
	head()
	for _, r := range rows {
		if s.pdf.GetY()+s.height(widths, r.cells) > s.bottom {
			s.pdf.AddPage()
			s.pdf.SetXY(margin, margin)
			head()
		}
		s.row(columns, widths, r, false)
	}
	s.space(6)
}

// fit widens the columns too narrow for a word of their name, and takes that
// from those with room to spare, as far as they have it.
func (s *sheet) fit(widths []float64, names []string) {
	s.font(cellSize, false)
	need := make([]float64, len(widths))
	lack, spare := 0.0, 0.0
	for i, name := range names {
		for _, word := range strings.Fields(figure.Spell(name)) {
			need[i] = max(need[i], s.pdf.GetStringWidth(word)+4.1) // lines keeps 4 free
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

// height is that of a row.
func (s *sheet) height(widths []float64, cells []string) float64 {
	most := 1
	for i, c := range cells {
		most = max(most, len(s.lines(figure.Spell(c), cellSize, false, widths[i])))
	}
	return float64(most)*cellLead + 4
}

func (s *sheet) row(columns []column, widths []float64, r row, head bool) {
	top := s.pdf.GetY()
	h := s.height(widths, r.cells)
	x := margin
	for i, c := range r.cells {
		align := "L"
		if columns[i].number {
			align = "R"
		}
		for k, l := range s.lines(figure.Spell(c), cellSize, false, widths[i]) {
			s.font(cellSize, false)
			s.ink(r.quiet)
			s.pdf.SetXY(x, top+2+float64(k)*cellLead)
			s.pdf.CellFormat(widths[i], cellLead, l, "", 0, align, false, 0, "")
			if r.struck && l != "" && i < len(r.cells)-1 {
				s.strike(x, top+2+float64(k)*cellLead+cellLead/2, widths[i], s.pdf.GetStringWidth(l), columns[i].number)
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
