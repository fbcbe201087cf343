package document

import (
	"fmt"
	"strings"

	"codeberg.org/go-fonts/liberation/liberationmonoregular"
	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"

	"griptrial/report"
	"griptrial/report/figure"
)

// Sizes in points.
const (
	margin   = 54.0
	textSize = 9.5
	lead     = 13.5 // from line to line
	family   = "text"
	mono     = "mono"
)

// sheet lays out running text, tables and figures on pages.
type sheet struct {
	pdf    *fpdf.Fpdf
	width  float64 // of the text
	bottom float64 // where a page ends
}

// newSheet starts a document with its typefaces, dates and page numbers.
func newSheet(in report.Input) *sheet {
	paper := "A4"
	if in.Force.Name == "lbf" || in.Force.Name == "ozf" {
		paper = "Letter"
	}
	pdf := fpdf.New("P", "pt", paper, "")
	pdf.SetCatalogSort(true)
	made := in.Made.UTC()
	if in.Made.IsZero() {
		made = made.AddDate(1999, 0, 0) // a fixed date stands for none
	}
	pdf.SetCreationDate(made)
	pdf.SetModificationDate(made)
	pdf.SetCreator("griptrial", true)
	pdf.SetProducer("griptrial", true)
	pdf.SetLang("en")
	pdf.AddUTF8FontFromBytes(family, "", liberationsansregular.TTF)
	pdf.AddUTF8FontFromBytes(family, "B", liberationsansbold.TTF)
	pdf.AddUTF8FontFromBytes(mono, "", liberationmonoregular.TTF)
	pdf.SetMargins(margin, margin, margin)
	pdf.SetAutoPageBreak(false, margin)
	w, h := pdf.GetPageSize()
	s := &sheet{pdf: pdf, width: w - 2*margin, bottom: h - margin}
	pdf.AliasNbPages("{pages}")
	return s
}

// named gives the file its title, and every page its foot; then the first page
// begins.
func (s *sheet) named(d document) {
	pdf := s.pdf
	pdf.SetTitle(d.Title, true)
	pdf.SetSubject(d.Subject, true)
	pdf.SetFooterFunc(func() {
		y := s.bottom + margin - 36
		pdf.SetFont(family, "", 8)
		pdf.SetTextColor(0x56, 0x62, 0x6b)
		pdf.SetXY(margin, y)
		pdf.CellFormat(s.width, 10, s.cut(figure.Spell(d.Title), 8, s.width*0.7), "", 0, "L", false, 0, "")
		// The number of pages is put in later and narrower than its place, so it
		// stands at the left of it.
		const last = 17
		pdf.SetXY(margin, y)
		pdf.CellFormat(s.width-last, 10, fmt.Sprintf("page %d of", pdf.PageNo()), "", 0, "R", false, 0, "")
		pdf.SetXY(margin+s.width-last-2, y)
		pdf.CellFormat(last, 10, "{pages}", "", 0, "L", false, 0, "")
	})
	pdf.AddPage()
}

// room starts a new page unless h points are left on this one.
func (s *sheet) room(h float64) {
	if s.pdf.GetY()+h > s.bottom {
		s.pdf.AddPage()
		s.pdf.SetXY(margin, margin)
	}
}

func (s *sheet) ink(quiet bool) {
	if quiet {
		s.pdf.SetTextColor(0x56, 0x62, 0x6b)
		return
	}
	s.pdf.SetTextColor(0x1d, 0x25, 0x2b)
}

// headingWith sets a heading with its bookmark, together with the given height
// below it. Level 0 is a section.
func (s *sheet) headingWith(level int, text string, below float64) {
	size := 13.0
	if level > 0 {
		size = 10.5
	}
	text = figure.Spell(text)
	s.space(10)
	s.pdf.SetFont(family, "B", size)
	lines := s.lines(text, size, true, s.width)
	s.room(float64(len(lines))*size*1.3 + below)
	if level == 0 {
		s.pdf.SetDrawColor(0x1d, 0x25, 0x2b)
		s.pdf.SetLineWidth(1)
		y := s.pdf.GetY()
		s.pdf.Line(margin, y, margin+s.width, y)
		s.space(5)
	}
	s.pdf.Bookmark(text, level, -1)
	s.ink(false)
	s.pdf.SetFont(family, "B", size)
	for _, l := range lines {
		s.line(l, size*1.3)
	}
	s.space(3)
}

func (s *sheet) paragraph(text string, size float64, bold, quiet bool) {
	for _, l := range s.lines(figure.Spell(text), size, bold, s.width) {
		s.room(size * 1.42)
		s.font(size, bold)
		s.ink(quiet)
		s.line(l, size*1.42)
	}
	s.space(3)
}

func (s *sheet) font(size float64, bold bool) {
	style := ""
	if bold {
		style = "B"
	}
	s.pdf.SetFont(family, style, size)
}

// item sets a paragraph with a dash before it, its head bold on a line of its
// own.
func (s *sheet) item(it item) {
	words := it.Text
	if it.Code != "" {
		words += " [" + it.Code + "]"
	}
	var head []string
	if it.Head != "" {
		head = s.lines(figure.Spell(it.Head), textSize, true, s.width-12)
	}
	for i, l := range append(head, s.lines(figure.Spell(words), textSize, false, s.width-12)...) {
		s.room(lead)
		s.font(textSize, i < len(head))
		s.ink(false)
		y := s.pdf.GetY()
		if i == 0 {
			s.pdf.SetXY(margin, y)
			s.pdf.CellFormat(12, lead, "–", "", 0, "L", false, 0, "")
		}
		s.pdf.SetXY(margin+12, y)
		s.pdf.CellFormat(s.width-12, lead, l, "", 0, "L", false, 0, "")
		s.pdf.SetXY(margin, y+lead)
	}
	s.space(2)
}

// line sets one line of the current font and goes on below it.
func (s *sheet) line(text string, height float64) {
	s.pdf.SetX(margin)
	s.pdf.CellFormat(s.width, height, text, "", 2, "L", false, 0, "")
	s.pdf.SetX(margin)
}

func (s *sheet) space(h float64) { s.pdf.SetXY(margin, s.pdf.GetY()+h) }

// lines breaks a text at blanks, and a word that is too wide within.
func (s *sheet) lines(text string, size float64, bold bool, w float64) []string {
	s.font(size, bold)
	var out []string
	line := ""
	for _, word := range strings.Fields(text) {
		for word != "" {
			try := word
			if line != "" {
				try = line + " " + word
			}
			if s.pdf.GetStringWidth(try) <= w-4 {
				line = try
				break
			}
			if line != "" {
				out, line = append(out, line), ""
				continue
			}
			head := s.start(word, w-4)
			out, word = append(out, head), word[len(head):]
		}
	}
	if line != "" || len(out) == 0 {
		out = append(out, line)
	}
	return out
}

// start is the longest start of a word no wider than w in the current font.
func (s *sheet) start(word string, w float64) string {
	end := 0
	for i, r := range word {
		next := i + len(string(r))
		if end > 0 && s.pdf.GetStringWidth(word[:next]) > w {
			break
		}
		end = next
	}
	return word[:end]
}

// cut shortens a text to one line.
func (s *sheet) cut(text string, size float64, w float64) string {
	l := s.lines(text, size, false, w-10)
	if len(l) == 1 {
		return l[0]
	}
	return l[0] + "…"
}
