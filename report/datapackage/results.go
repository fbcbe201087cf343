package datapackage

import (
	"fmt"
	"strconv"

	"griptrial/analysis"
	"griptrial/report"
)

// Pulls is the table of every pull as it was analysed, in SI units.
func Pulls(r analysis.Results) Table {
	t := Table{
		Name: "pulls", Title: "Every pull as it was analysed, in SI units; value is " + string(r.Quantity),
		Fields: Described([]string{"pull", "facing", "sample", "block", "level", "outcome", "force [N]", "clamp [N]", "weight [kg]",
			"value", "fitted", "order", "clampings", "note"}),
	}
	t.Fields[0].Of = "readings"
	for _, p := range r.Pulls {
		t.Rows = append(t.Rows, []string{strconv.Itoa(p.Pull), p.Facing, p.Sample, p.Block, p.Level, p.Outcome, number(p.Force), number(p.Clamp),
			number(p.Weight), number(p.Value), number(p.Fitted), number(p.Order), number(p.Clampings), p.Note})
	}
	return t
}

// Facings is the table of the facings with what was learned of each: one row
// for every facing of the study, pulled or not, in SI units.
func Facings(in report.Input) Table {
	r := in.Results
	grip, what := "grip", "geometric mean of the friction coefficient"
	unitOf := ""
	switch r.Quantity {
	case analysis.PerWeight:
		what = "geometric mean of the force over the handle weight's own force"
	case analysis.Force:
		what, unitOf = "geometric mean of the force", " [N]"
	}
	percent := report.Given(100 * r.Confidence)
	n := func(name, description string) Field {
		return Field{Name: name, Type: "number", Description: description}
	}
	t := Table{Name: "facings", Title: "What was learned of each facing", Key: "facing", Fields: []Field{
		{Name: "facing", Type: "string", Description: "what faced the jaws"},
		{Name: "control", Type: "boolean", Description: "the others are compared with it", Required: true},
		{Name: "slipped", Type: "integer", Description: "pulls that slipped", Required: true},
		{Name: "held", Type: "integer", Description: "pulls that held", Required: true},
		{Name: "void", Type: "integer", Description: "pulls that say nothing", Required: true},
		{Name: "samples", Type: "integer", Description: "specimens told apart"},
		n(grip+unitOf, what),
		n(grip+" lower"+unitOf, "lower end of its "+percent+" % interval"),
		n(grip+" upper"+unitOf, "upper end of it"),
		n("cv", "coefficient of variation of the grip, pull to pull"),
		n("exceeded by 95 of 100"+unitOf, "grip that 95 of 100 clampings exceed, with 95 % confidence"),
		n("exceeded by 99 of 100"+unitOf, "grip that 99 of 100 clampings exceed, with 95 % confidence"),
		n("ratio", "grip over that of the control"),
		n("ratio lower", "lower end of its "+percent+" % interval, which holds for all facings together"),
		n("ratio upper", "upper end of it"),
		n("p", "p-value of a ratio of 1, adjusted likewise"),
		n("ratio at least", "lower bound from held pulls, without a statement of confidence"),
		n("share", "squeeze that holds what the control holds, as a share of the usual one"),
		n("share lower", "lower end of its interval"),
		n("share upper", "upper end of it"),
		n("handle weight [kg]", "the same as a weight on the handle"),
		n("handle weight lower [kg]", "lower end of its interval"),
		n("handle weight upper [kg]", "upper end of it"),
	}}
	done := map[string]bool{}
	for _, f := range r.Facings {
		done[f.Facing] = true
		t.Rows = append(t.Rows, facingRow(r, f))
	}
	for _, f := range in.Study.Facings {
		if !done[f.Name] {
			row := make([]string, len(t.Fields))
			copy(row, []string{f.Name, strconv.FormatBool(f.Control), "0", "0", "0"})
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

// facingRow is one row of Facings.
func facingRow(r analysis.Results, f analysis.FacingResult) []string {
	samples := ""
	if f.Samples > 0 {
		samples = strconv.Itoa(f.Samples)
	}
	bound := map[float64]string{}
	for _, t := range f.Tolerance {
		bound[t.Coverage] = number(t.Lower)
	}
	ratio, atLeast, squeeze := make([]string, 4), "", make([]string, 6)
	for _, x := range r.AgainstControl {
		if x.Facing == f.Facing {
			ratio = []string{number(x.Ratio), number(x.Lower), number(x.Upper), number(x.P)}
		}
	}
	for _, b := range r.Bounds {
		if b.A == r.Control && b.B == f.Facing {
			atLeast = number(b.AtLeast)
		}
	}
	for _, s := range r.LessSqueeze {
		if s.Facing == f.Facing {
			squeeze = append(three(s.Share), three(s.Weight)...)
		}
	}
	row := []string{f.Facing, strconv.FormatBool(f.Facing == r.Control), strconv.Itoa(f.Slipped), strconv.Itoa(f.Held), strconv.Itoa(f.Void), samples}
	row = append(append(row, three(f.Grip)...), number(f.CV), bound[0.95], bound[0.99])
	return append(append(append(row, ratio...), atLeast), squeeze...)
}

// Pairs is the table of every comparison of two facings.
func Pairs(r analysis.Results) Table {
	t := Table{Name: "pairs", Title: "Every pair of facings compared", Fields: []Field{
		{Name: "facing", Type: "string", Description: "what faced the jaws", Required: true, Of: "facings"},
		{Name: "compared with", Type: "string", Description: "the other facing", Required: true},
		{Name: "ratio", Type: "number", Description: "grip of the facing over that of the other"},
		{Name: "lower", Type: "number", Description: fmt.Sprintf("lower end of its %s %% interval, adjusted for all pairs", report.Given(100*r.Confidence))},
		{Name: "upper", Type: "number", Description: "upper end of it"},
		{Name: "p", Type: "number", Description: "p-value of a ratio of 1, adjusted likewise"},
		{Name: "adjusted", Type: "string", Description: "how"},
	}}
	for _, p := range r.Pairs {
		t.Rows = append(t.Rows, []string{p.B, p.A, number(p.Ratio), number(p.Lower), number(p.Upper), number(p.P), p.Adjusted})
	}
	return t
}

// Remarks is the table of what to keep in mind: the verdict, the model, claims
// and warnings, one sentence a row.
func Remarks(in report.Input) Table {
	t := Table{Name: "remarks", Title: "What to keep in mind", Fields: []Field{
		{Name: "kind", Type: "string", Description: "what the sentence is about", Required: true},
		{Name: "text", Type: "string"},
	}}
	add := func(kind, text string) {
		if text != "" {
			t.Rows = append(t.Rows, []string{kind, text})
		}
	}
	add("study", in.Title())
	add("remark", in.Remark)
	add("question", in.Study.Question)
	for _, s := range in.Verdict().Lines() {
		add("verdict", s)
	}
	for _, c := range in.Results.Claims {
		add("claim", c.Text+": "+c.Verdict+"; "+c.Reason)
	}
	for _, m := range in.Methods() {
		add("method", m)
	}
	for _, w := range in.Results.Warnings {
		add("warning "+w.Code, w.Text)
	}
	return t
}

func three(e analysis.Estimate) []string {
	return []string{number(e.Estimate), number(e.Lower), number(e.Upper)}
}

// number writes a number by the fewest digits that read back as the same.
func number(n analysis.Number) string {
	if !n.Known() {
		return ""
	}
	return strconv.FormatFloat(float64(n), 'f', -1, 64)
}
