package page

import (
	"fmt"
	"html/template"
	"sort"

	"griptrial/analysis"
	"griptrial/report"
)

type facingRow struct {
	Mark                 template.HTML
	Facing               string
	Control              bool
	Slipped, Held, Void  int
	Samples              string
	Grip, Total, Scatter string
	Bounds               []string
}

type pairRow struct{ A, B, Ratio, P, Adjusted string }

type claimRow struct{ Text, Verdict, Reason, Range string }

type fact struct{ Name, Value string }

type head struct {
	Text   string
	Number bool
}

type pullRow struct {
	Class string
	Cells []cell
}

type cell struct {
	Text, Class string
	Name        bool // a name from a file, which may run the other way
}

// tables fills everything that stands in rows.
func (v *view) tables(in report.Input) {
	name, unitName, toUnit := in.Grip()
	v.GripName = report.Sentence(name)
	if unitName != "" {
		v.GripName += " [" + unitName + "]"
	}
	covers := coverages(in.Results)
	for _, c := range covers {
		v.Bounds = append(v.Bounds, report.Given(c*100))
	}
	for i, f := range in.Results.Facings {
		row := facingRow{
			Mark: mark(i), Facing: brief(f.Facing), Control: f.Facing == in.Results.Control && len(in.Results.Facings) > 1,
			Slipped: f.Slipped, Held: f.Held, Void: f.Void, Samples: report.Dash,
			Grip: report.Write(f.Grip, toUnit).String(), Total: report.Dash, Scatter: report.Dash,
		}
		if f.Samples > 0 {
			row.Samples = fmt.Sprint(f.Samples)
		}
		if f.MuTotal != nil {
			v.HasTotal = true
			row.Total = report.Write(*f.MuTotal, report.Same).String()
		}
		if f.CV.Known() {
			row.Scatter = report.Short(float64(f.CV)*100, 2) + " %"
		}
		for _, c := range covers {
			row.Bounds = append(row.Bounds, boundText(f, c, toUnit))
		}
		v.Facings = append(v.Facings, row)
	}
	for _, p := range in.Results.Pairs {
		row := pairRow{A: brief(p.A), B: brief(p.B), Adjusted: p.Adjusted, P: report.Dash}
		row.Ratio = report.Write(analysis.Estimate{Estimate: p.Ratio, Lower: p.Lower, Upper: p.Upper}, report.Same).String()
		if p.P.Known() {
			row.P = report.P(float64(p.P))
		}
		v.Pairs = append(v.Pairs, row)
	}
	for _, c := range in.Results.Claims {
		row := claimRow{Text: report.Sentence(plain(c.Text)), Verdict: c.Verdict, Reason: plain(c.Reason), Range: report.Dash}
		if c.Lower.Known() && c.Upper.Known() {
			row.Range = report.Short(float64(c.Lower), 3) + " to " + report.Short(float64(c.Upper), 3)
		}
		v.Claims = append(v.Claims, row)
	}
	v.Warnings, v.Unchecked = in.Remarks()
	for _, f := range in.Setup() {
		v.Setup = append(v.Setup, fact{f[0], f[1]})
	}
	v.pulls(in)
}

// coverages lists the coverages of the tolerance bounds, each once.
func coverages(r analysis.Results) []float64 {
	seen := make(map[float64]bool)
	var out []float64
	for _, f := range r.Facings {
		for _, t := range f.Tolerance {
			if t.Lower.Known() && !seen[t.Coverage] {
				seen[t.Coverage] = true
				out = append(out, t.Coverage)
			}
		}
	}
	sort.Float64s(out)
	return out
}

func boundText(f analysis.FacingResult, coverage float64, toUnit func(float64) float64) string {
	for _, t := range f.Tolerance {
		if t.Coverage == coverage && t.Lower.Known() {
			return report.Short(toUnit(float64(t.Lower)), 3)
		}
	}
	return report.Dash
}

// pulls fills the table of every pull, void and superseded ones among them.
func (v *view) pulls(in report.Input) {
	l := in.Ledger()
	for _, c := range l.Columns {
		v.PullHeads = append(v.PullHeads, head{c.Name, c.Number})
	}
	for _, r := range l.Rows {
		row := pullRow{}
		switch {
		case r.Superseded:
			row.Class = "gone"
		case r.Outcome == "void":
			row.Class = "void"
		}
		for i, text := range r.Cells {
			c := cell{Text: text, Name: l.Columns[i].FromFile && text != ""}
			switch {
			case l.Columns[i].Number:
				c.Class = "n"
			case i == len(r.Cells)-1:
				c.Class = "note"
			}
			row.Cells = append(row.Cells, c)
		}
		v.Pulls = append(v.Pulls, row)
	}
}
