package document

import (
	"fmt"

	"griptrial/analysis"
	"griptrial/report"
	"griptrial/report/figure"
)

func (d *document) results(in report.Input, wide float64) {
	r := in.Results
	d.section("results")
	if len(r.Facings) == 0 {
		d.say("There are no results yet.")
		return
	}
	d.pictures(figure.Answers(in, wide))
	name, unitName, toUnit := in.Grip()
	if unitName != "" {
		name += " [" + unitName + "]"
	}
	d.heading(1, "facings", "Each facing")
	columns := []column{{Name: "facing", Share: 3.6, Typed: true}, {Name: "slipped", Share: 1.2, Number: true}, {Name: "held", Share: 1, Number: true}, {Name: "void", Share: 1, Number: true},
		{Name: "samples", Share: 1.3, Number: true}, {Name: name + ", mean (" + report.Given(r.Confidence*100) + " % interval)", Share: 3.4, Number: true}}
	total := false
	for _, f := range r.Facings {
		total = total || f.MuTotal != nil
	}
	if total {
		columns = append(columns, column{Name: "with the doubt in the clamp force", Share: 2.8, Number: true})
	}
	columns = append(columns, column{Name: "tolerance bounds", Share: 2.4, Number: true}, column{Name: "scatter", Share: 1.4, Number: true})
	var rows []row
	for _, f := range r.Facings {
		samples, scatter := report.Dash, report.Dash
		if f.Samples > 0 {
			samples = fmt.Sprint(f.Samples)
		}
		if f.CV.Known() {
			scatter = report.Short(float64(f.CV)*100, 2) + " %"
		}
		cells := []string{report.Brief(f.Facing, 120), fmt.Sprint(f.Slipped), fmt.Sprint(f.Held), fmt.Sprint(f.Void), samples, report.Write(f.Grip, toUnit).String()}
		if total {
			with := report.Dash
			if f.MuTotal != nil {
				with = report.Write(*f.MuTotal, report.Same).String()
			}
			cells = append(cells, with)
		}
		rows = append(rows, row{Cells: append(cells, bounds(f, toUnit), scatter)})
	}
	d.table(columns, rows)
	if len(r.AgainstControl) > 0 {
		d.heading(1, "against", "Against "+report.Brief(r.Control, 60))
		rows = nil
		for _, x := range r.AgainstControl {
			rows = append(rows, comparison(report.Brief(x.Facing, 120), x.Ratio, x.Lower, x.Upper, x.P, x.Adjusted))
		}
		d.table(comparisons("facing"), rows)
	}
	if len(r.Bounds) > 0 {
		d.heading(1, "bounds", "Lower bounds from pulls that held")
		rows = nil
		for _, b := range r.Bounds {
			rows = append(rows, row{Cells: []string{report.Brief(b.B, 60) + " / " + report.Brief(b.A, 60), "at least " + report.Short(float64(b.AtLeast), 2), fmt.Sprint(b.PullsB), fmt.Sprint(b.PullsA)}})
		}
		d.table([]column{{Name: "facings", Share: 5, Typed: true}, {Name: "ratio", Share: 2, Number: true}, {Name: "pulls of the first", Share: 2, Number: true}, {Name: "pulls of the other", Share: 2, Number: true}}, rows)
	}
	if len(r.Pairs) > 0 {
		d.heading(1, "pairs", "Every facing against every other")
		rows = nil
		for _, p := range r.Pairs {
			rows = append(rows, comparison(report.Brief(p.B, 60)+" / "+report.Brief(p.A, 60), p.Ratio, p.Lower, p.Upper, p.P, p.Adjusted))
		}
		d.table(comparisons("facings"), rows)
	}
	d.squeeze(in)
	d.window(in)
}

func comparisons(name string) []column {
	return []column{{Name: name, Share: 5, Typed: true}, {Name: "ratio (interval)", Share: 3, Number: true}, {Name: "p", Share: 2, Number: true}, {Name: "adjusted", Share: 2}}
}

func comparison(name string, ratio, lower, upper, p analysis.Number, adjusted string) row {
	value := report.Dash
	if p.Known() {
		value = report.P(float64(p))
	}
	return row{Cells: []string{name, report.Write(analysis.Estimate{Estimate: ratio, Lower: lower, Upper: upper}, report.Same).String(), value, adjusted}}
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

// squeeze sets what does the same hold.
func (d *document) squeeze(in report.Input) {
	u := in.WeightUnit()
	var rows []row
	for _, s := range in.Results.LessSqueeze {
		safe, unsure := in.Hang(s)
		if unsure != "" {
			safe = unsure
		}
		cells := []string{report.Brief(s.Facing, 120), safe, report.Write(s.Share, func(v float64) float64 { return 100 * v }).String() + " %", report.Dash, ""}
		if s.Weight.Estimate.Known() {
			cells[3] = report.Write(s.Weight, u.FromSI).String() + " " + u.Name
		}
		switch {
		case s.Bound:
			cells[4] = "at most: from pulls that held"
		case s.Beyond:
			cells[4] = "outside what was tried"
		}
		rows = append(rows, row{Cells: cells})
	}
	if len(rows) == 0 {
		return
	}
	d.heading(1, "squeeze", "Squeeze that does what "+report.Brief(in.Results.Control, 60)+" does today")
	safe := "use"
	if in.Results.LessSqueeze[0].Weight.Estimate.Known() {
		safe = "hang"
	}
	d.say("The first number is the one to work with: the upper end of the interval, rounded up, where there is one.")
	d.table([]column{{Name: "facing", Share: 3.4, Typed: true}, {Name: safe, Share: 1.7, Number: true}, {Name: "share of today's squeeze", Share: 2.8, Number: true}, {Name: "weight on the handle", Share: 2.8, Number: true}, {Name: "note", Share: 2.2}}, rows)
}

// pulls sets the table of every pull.
func (d *document) pulls(in report.Input) {
	l := in.Ledger()
	d.section("pulls")
	if len(l.Rows) == 0 {
		d.say("Nothing was pulled yet.")
		return
	}
	d.say(in.Ended() + ". A row struck through was superseded by the one below it.")
	shares := map[string]float64{"pull": 0.8, "facing": 3.2, "note": 2.8, "sample": 1, "block": 1, "level": 1, "outcome": 1.4}
	var columns []column
	for _, c := range l.Columns {
		share, ok := shares[c.Name]
		if !ok {
			share = 1.5
		}
		columns = append(columns, column{Name: c.Name, Share: share, Number: c.Number, Typed: c.FromFile})
	}
	var rows []row
	for _, r := range l.Rows {
		rows = append(rows, row{Cells: r.Cells, Struck: r.Superseded, Quiet: r.Superseded || r.Outcome == "void"})
	}
	d.table(columns, rows)
}

// models sets what was fitted, its checks, and the figures to judge them by.
func (d *document) models(in report.Input, wide float64) {
	d.section("models")
	words := in.ModelWords()
	if len(words) == 0 {
		d.say("No model could be fitted to these pulls.")
	}
	d.say(words...)
	if m := in.Results.Model; m.LogLikelihood.Known() {
		d.say(fmt.Sprintf("Log-likelihood at its maximum, of the density of log values: %s.", report.Short(float64(m.LogLikelihood), 5)))
	}
	v := in.Results.Variance
	var rows []row
	for _, s := range []struct {
		name string
		sd   analysis.Number
	}{{"pull to pull (residual)", v.ResidualSD}, {"sample to sample", v.SampleSD}, {"block to block", v.BlockSD}, {"single pulls in different blocks and on different samples", v.ReproducibilitySD}} {
		if s.sd.Known() && len(in.Results.Pulls) > 0 {
			rows = append(rows, row{Cells: []string{s.name, report.Short(float64(s.sd), 2)}})
		}
	}
	d.table([]column{{Name: "scatter", Share: 4}, {Name: "standard deviation of log values", Share: 2, Number: true}}, rows)
	if checks := in.CheckWords(); len(checks) > 0 {
		d.heading(1, "checks", "Checks")
		d.list(items(checks))
	}
	d.tests(in)
	for _, f := range figure.Checks(in, wide) {
		if f.Name != "budget" {
			d.pictures([]figure.Figure{f})
		}
	}
}

// budget sets where the doubt in each result comes from.
func (d *document) budget(in report.Input, wide float64) {
	d.section("budget")
	if len(in.Results.Budgets) == 0 {
		d.say("The scatter is not known, so there is no budget.")
		return
	}
	d.say(fmt.Sprintf("Relative standard uncertainties (JCGM 100). The last two columns give the factor k for %s %% confidence and the expanded uncertainty. What was not stated is not in the sum.", report.Given(in.Results.Confidence*100)))
	if f, ok := figure.Budget(in, wide); ok {
		d.pictures([]figure.Figure{f})
	}
	d.say(in.DoubtWords()...)
	var rows []row
	for _, b := range in.Results.Budgets {
		name, _, toUnit := in.Grip()
		what, value := report.Sentence(name)+" of "+report.Brief(b.Facing, 60), report.Short(toUnit(float64(b.Value)), 3)
		if b.Against != "" {
			what, value = report.Brief(b.Facing, 60)+" / "+report.Brief(b.Against, 60), report.Short(float64(b.Value), 3)
		}
		for i, t := range b.Terms {
			u := "not stated"
			switch {
			case t.Cancels:
				u = "cancels"
			case t.U.Known():
				u = percent(t.U)
			}
			r := row{Cells: []string{"", "", t.Source, u, "", ""}}
			if i == 0 {
				r.Cells[0], r.Cells[1] = what, value
			}
			rows = append(rows, r)
		}
		k := report.Dash
		if b.K.Known() {
			k = report.Short(float64(b.K), 3)
		}
		rows = append(rows, row{Cells: []string{"", "", "together", percent(b.U), k, percent(b.Expanded)}})
	}
	d.table([]column{{Name: "result", Share: 3.6, Typed: true}, {Name: "value", Share: 1.2, Number: true}, {Name: "source", Share: 3.4}, {Name: "u", Share: 1.5, Number: true}, {Name: "k", Share: 0.9, Number: true}, {Name: "expanded", Share: 1.4, Number: true}}, rows)
}

func percent(u analysis.Number) string {
	if !u.Known() {
		return report.Dash
	}
	return report.Short(100*float64(u), 2) + " %"
}
