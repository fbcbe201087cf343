package document

import "griptrial/report"

// window sets the clamp window of the study's cut, with its cautions beside it;
// nothing where the study describes none.
func (s *sheet) window(in report.Input) {
	w, ok := in.Window()
	if !ok {
		return
	}
	s.headingWith(0, w.Answer, 120)
	s.text(w.Lead + ". " + w.Caution)
	var rows []row
	for _, cells := range w.Rows {
		rows = append(rows, row{cells: cells})
	}
	s.table([]column{{w.Head[0], 3, false}, {w.Head[1], 1.3, true}, {w.Head[2], 2, true}, {w.Head[3], 2, true}, {w.Head[4], 3, true}}, rows)
	for _, items := range [][]report.WindowItem{w.Facings, w.Stages} {
		for _, i := range items {
			s.heading(1, i.Name)
			for _, line := range i.Lines {
				s.item(line)
			}
		}
	}
	s.heading(1, "Notes on the window")
	for _, list := range [][]string{w.Notes, w.Cautions} {
		for _, line := range list {
			s.item(line)
		}
	}
}
