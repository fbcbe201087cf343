package document

import (
	"fmt"
	"io"

	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/report"
	"griptrial/report/figure"
)

// Write writes the document.
func Write(w io.Writer, in report.Input) error {
	title := report.Brief(in.Title(), 200)
	s := newSheet(in, title+": validation of a grip trial")
	s.front(in, title)
	s.claims(in)
	s.warnings(in)
	s.pictures(in)
	s.numbers(in)
	s.window(in)
	s.rig(in)
	s.pulls(in)
	s.traces(in)
	s.limits()
	s.files(in)
	if err := s.pdf.Output(w); err != nil {
		return fmt.Errorf("write the document: %w", err)
	}
	return nil
}

// pictureScale is how much of its own size a figure gets.
const pictureScale = 0.95

// front sets the title and the verdict.
func (s *sheet) front(in report.Input, title string) {
	s.paragraph("Validation of a grip trial", textSize, false, true)
	s.pdf.Bookmark(figure.Spell(title), 0, -1)
	s.paragraph(title, 20, true, false)
	if in.Study.Question != "" {
		s.paragraph(in.Study.Question, 11, false, false)
	}
	s.paragraph(in.Date()+" · "+in.Ended(), textSize, false, true)
	if in.Remark != "" {
		s.paragraph(in.Remark, textSize, true, false)
	}
	s.space(14)
	top := s.pdf.GetY() - 10
	v := in.Verdict()
	s.pdf.Bookmark("Verdict", 0, -1)
	s.paragraph(report.Sentence(v.Headline), 15, true, false)
	for _, text := range []string{v.Squeeze, v.Sure, v.Rivals} {
		if text != "" {
			s.paragraph(text, 11, false, false)
		}
	}
	s.box(top, s.pdf.GetY()+4)
	s.space(10)
}

func (s *sheet) claims(in report.Input) {
	if len(in.Results.Claims) == 0 {
		return
	}
	s.heading(0, "Claims")
	var rows []row
	for _, c := range in.Results.Claims {
		bounds := report.Dash
		if c.Lower.Known() && c.Upper.Known() {
			bounds = report.Short(float64(c.Lower), 3) + " to " + report.Short(float64(c.Upper), 3)
		}
		rows = append(rows, row{cells: []string{report.Sentence(c.Text), c.Verdict, c.Reason, bounds}})
	}
	s.table([]column{{"claim", 5, false}, {"verdict", 1.5, false}, {"why", 4, false}, {"interval", 2, true}}, rows)
}

func (s *sheet) warnings(in report.Input) {
	grave, _ := in.Warnings()
	if len(grave) == 0 {
		return
	}
	s.heading(0, "Remarks on the data")
	for _, w := range grave {
		s.item(fmt.Sprintf("%s [%s]", w.Text, w.Code))
	}
}

func (s *sheet) pictures(in report.Input) {
	figures := figure.All(in)
	if len(figures) == 0 || figures[0].Name == "traces" {
		return
	}
	s.headingWith(0, "What the pulls showed", 60+figures[0].Height*pictureScale)
	for _, f := range figures {
		if f.Name != "traces" {
			s.picture(f, pictureScale)
		}
	}
}

func (s *sheet) numbers(in report.Input) {
	r := in.Results
	if len(r.Facings) == 0 {
		return
	}
	s.heading(0, "Results")
	name, unitName, toUnit := in.Grip()
	if unitName != "" {
		name += " [" + unitName + "]"
	}
	columns := []column{{"facing", 4.2, false}, {"slipped", 1.2, true}, {"held", 1, true}, {"void", 1, true}, {"samples", 1.3, true},
		{name + ", mean (" + report.Given(r.Confidence*100) + " % interval)", 3.8, true}, {"tolerance bounds", 3, true}, {"scatter", 1.4, true}}
	var rows []row
	for _, f := range r.Facings {
		samples, scatter := report.Dash, report.Dash
		if f.Samples > 0 {
			samples = fmt.Sprint(f.Samples)
		}
		if f.CV.Known() {
			scatter = report.Short(float64(f.CV)*100, 2) + " %"
		}
		rows = append(rows, row{cells: []string{report.Brief(f.Facing, 120), fmt.Sprint(f.Slipped), fmt.Sprint(f.Held), fmt.Sprint(f.Void), samples,
			report.Write(f.Grip, toUnit).String(), bounds(f, toUnit), scatter}})
	}
	s.table(columns, rows)
	if len(r.AgainstControl) > 0 {
		s.heading(1, "Against "+report.Brief(r.Control, 60))
		rows = nil
		for _, x := range r.AgainstControl {
			rows = append(rows, comparison(x.Facing, x.Ratio, x.Lower, x.Upper, x.P, x.Adjusted))
		}
		s.table([]column{{"facing", 4, false}, {"ratio (interval)", 3, true}, {"p", 2, true}, {"adjusted", 2, false}}, rows)
	}
	if len(r.Pairs) > 0 {
		s.heading(1, "Every facing against every other")
		rows = nil
		for _, p := range r.Pairs {
			rows = append(rows, comparison(report.Brief(p.B, 60)+" / "+report.Brief(p.A, 60), p.Ratio, p.Lower, p.Upper, p.P, p.Adjusted))
		}
		s.table([]column{{"facings", 5, false}, {"ratio (interval)", 3, true}, {"p", 2, true}, {"adjusted", 2, false}}, rows)
	}
}

func comparison(name string, ratio, lower, upper, p analysis.Number, adjusted string) row {
	value := report.Dash
	if p.Known() {
		value = report.P(float64(p))
	}
	return row{cells: []string{report.Brief(name, 130),
		report.Write(analysis.Estimate{Estimate: ratio, Lower: lower, Upper: upper}, report.Same).String(), value, adjusted}}
}

// bounds lists the tolerance bounds of a facing.
func bounds(f analysis.FacingResult, toUnit func(float64) float64) string {
	text := ""
	for _, t := range f.Tolerance {
		if !t.Lower.Known() {
			continue
		}
		if text != "" {
			text += "; "
		}
		text += report.Given(t.Coverage*100) + " %: " + report.Short(toUnit(float64(t.Lower)), 3)
	}
	if text == "" {
		return report.Dash
	}
	return text
}

// rig sets how the trial was made.
func (s *sheet) rig(in report.Input) {
	s.heading(0, "Set-up and plan")
	var rows []row
	for _, f := range in.Setup() {
		rows = append(rows, row{cells: []string{f[0], f[1]}})
	}
	if len(rows) == 0 {
		s.text("The set-up was not recorded.")
	} else {
		s.table([]column{{"what", 1, false}, {"as recorded", 4, false}}, rows)
	}
	s.heading(0, "Method")
	for _, m := range in.Methods() {
		s.text(m)
	}
	if _, unchecked := in.Warnings(); len(unchecked) > 0 {
		s.heading(1, "What could not be checked")
		for _, w := range unchecked {
			s.item(fmt.Sprintf("%s [%s]", w.Text, w.Code))
		}
	}
}

// pulls sets the table of every pull.
func (s *sheet) pulls(in report.Input) {
	l := in.Ledger()
	s.heading(0, "Every pull")
	if len(l.Rows) == 0 {
		s.text("Nothing was pulled yet.")
		return
	}
	shares := map[string]float64{"pull": 0.8, "facing": 3.2, "note": 2.8, "sample": 1, "block": 1, "level": 1, "outcome": 1.4}
	var columns []column
	for _, c := range l.Columns {
		share, ok := shares[c.Name]
		if !ok {
			share = 1.5
		}
		columns = append(columns, column{c.Name, share, c.Number})
	}
	var rows []row
	for _, r := range l.Rows {
		rows = append(rows, row{cells: r.Cells, struck: r.Superseded, quiet: r.Superseded || r.Outcome == "void"})
	}
	s.table(columns, rows)
}

// traces sets every record small.
func (s *sheet) traces(in report.Input) {
	if len(in.Traces) == 0 {
		return
	}
	s.heading(0, "Every trace")
	s.text("Force against time, each to its own scale. The ring marks where the part slipped; an arrow, how far a pull that held was taken.")
	const across = 4
	const gap = 10.0
	for i := 0; i < len(in.Traces); i += across {
		wide := (s.width - (across-1)*gap) / across
		first := figure.Trace(in, in.Traces[i])
		scale := wide / first.Width
		s.room(first.Height*scale + 8)
		top := s.pdf.GetY()
		for k, tr := range in.Traces[i:min(i+across, len(in.Traces))] {
			for _, shape := range figure.Trace(in, tr).Shapes() {
				s.shape(shape, margin+float64(k)*(wide+gap), top, scale)
			}
		}
		s.pdf.SetXY(margin, top+first.Height*scale+8)
	}
}

func (s *sheet) limits() {
	s.heading(0, "Cautions and limits")
	for _, c := range trial.Cautions {
		s.item(c)
	}
}

func (s *sheet) files(in report.Input) {
	if in.Command == "" && len(in.Files) == 0 {
		return
	}
	s.heading(0, "Raw data")
	if in.Command != "" {
		s.text("This document is made again, to the byte, by")
		s.pdf.SetFont(mono, "", 8.5)
		s.ink(false)
		for rest := figure.Spell(in.Again("document")); rest != ""; {
			part := s.start(rest, s.width-4)
			s.line(part, lead)
			rest = rest[len(part):]
		}
	}
	if len(in.Files) == 0 {
		return
	}
	s.space(4)
	s.text("SHA-256 of every raw file:")
	for _, f := range in.Files {
		s.room(11)
		y := s.pdf.GetY()
		s.ink(false)
		s.pdf.SetXY(margin, y)
		s.pdf.CellFormat(120, 11, s.cut(figure.Spell(f.Name), 8, 120), "", 0, "L", false, 0, "")
		s.pdf.SetFont(mono, "", 7.6)
		s.pdf.SetXY(margin+125, y)
		s.pdf.CellFormat(s.width-125, 11, f.SHA256, "", 0, "L", false, 0, "")
		s.pdf.SetXY(margin, y+11)
	}
}
