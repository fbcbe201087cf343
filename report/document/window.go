package document

import "griptrial/report"

// window sets the clamp window of the study's cut, with its cautions beside it;
// nothing where the study describes none.
func (d *document) window(in report.Input) {
	w, ok := in.Window()
	if !ok {
		return
	}
	d.heading(1, "window", w.Answer)
	d.say(w.Lead + ". " + w.Caution)
	var rows []row
	for _, cells := range w.Rows {
		rows = append(rows, row{Cells: cells})
	}
	d.table([]column{{Name: w.Head[0], Share: 3, Typed: true}, {Name: w.Head[1], Share: 1.3, Number: true}, {Name: w.Head[2], Share: 2, Number: true},
		{Name: w.Head[3], Share: 2, Number: true}, {Name: w.Head[4], Share: 3, Number: true}}, rows)
	for _, list := range [][]report.WindowItem{w.Facings, w.Stages} {
		for _, i := range list {
			d.add(part{Kind: text, Style: strong, Text: i.Name})
			d.list(items(i.Lines))
		}
	}
	d.add(part{Kind: text, Style: strong, Text: "Notes on the window"})
	d.list(items(w.Notes))
	d.list(items(w.Cautions))
}
