package main

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"griptrial/analysis"
	"griptrial/analysis/unit"
	"griptrial/report"
)

// printResults prints what a person reads in ten seconds: the verdict, the
// squeeze, the facings, what to beware of; then what a second look wants.
func printResults(out io.Writer, r analysis.Results, force unit.Unit) error {
	p := resultsPrinter{look: lookOf(out), r: r, in: report.Input{Results: r, Force: force}}
	held := p.verdict()
	p.facings()
	p.warnings()
	p.resampled()
	p.pairs()
	p.doubt()
	p.claims()
	p.lasting()
	if held {
		p.say("\n", "A trial is evidence about these facings on this vise, not a licence to cut. Spindle locked out and hands clear of the line of pull; guarding, local rules and qualified people come first.")
	}
	_, err := io.WriteString(out, p.b.String())
	return err
}

// resultsPrinter writes results for people. Their numbers are written as in
// every report.
type resultsPrinter struct {
	b    strings.Builder
	look look
	r    analysis.Results
	in   report.Input
}

// say writes a sentence behind a text that starts new lines.
func (p *resultsPrinter) say(before, text string) { p.b.WriteString(before + p.look.wrap("", text)) }

// head writes a heading with a blank line before it.
func (p *resultsPrinter) head(text string) {
	p.b.WriteString("\n" + p.look.boldLines(p.look.wrap("", text)))
}

// verdict leads with less squeeze for the same hold where that is known. It
// reports whether it said anything about holding.
func (p *resultsPrinter) verdict() bool {
	r, mass := p.r, p.in.WeightUnit()
	v := p.in.Verdict()
	p.b.WriteString(p.look.boldLines(p.look.wrap("", v.Lines()[0])))
	if v.Squeeze != "" {
		p.say("", report.Sentence(v.Headline))
	}
	if len(r.LessSqueeze) == 0 {
		if len(r.Facings) > 1 {
			p.say("", "No comparison with "+r.Control+" can be made from these pulls.")
		}
		return false
	}
	lead := "To hold what " + r.Control + " holds"
	if usual := r.LessSqueeze[0].Usual; usual.Known() {
		lead += fmt.Sprintf(" at %s %s on the handle", report.Given(mass.FromSI(float64(usual))), mass.Name)
	}
	p.say("", fmt.Sprintf("%s (%s %% intervals):", lead, report.Given(100*r.Confidence)))
	ratio, bounds := map[string]analysis.Ratio{}, map[string]analysis.BoundRatio{}
	for _, a := range r.AgainstControl {
		ratio[a.Facing] = a
	}
	for _, bound := range r.Bounds {
		if bound.A == r.Control {
			bounds[bound.B] = bound
		}
	}
	safe, enough := "hang", "is enough"
	if !r.LessSqueeze[0].Weight.Estimate.Known() {
		safe, enough = "use", "is enough [% of the squeeze]"
	}
	t := textTable{columns: []textColumn{{head: "facing", breaks: true}, {head: safe}, {head: enough, breaks: true}, {head: "holds times as much"}}}
	beyond := false
	for _, s := range r.LessSqueeze {
		if s.Bound {
			t.add(s.Facing, p.safe(s), "at most "+p.squeeze(s), "at least "+report.Short(float64(bounds[s.Facing].AtLeast), 2))
			continue
		}
		mark := ""
		if s.Beyond {
			mark, beyond = " *", true
		}
		a := ratio[s.Facing]
		t.add(s.Facing, p.safe(s), p.squeeze(s)+mark, measured(analysis.Estimate{Estimate: a.Ratio, Lower: a.Lower, Upper: a.Upper}, report.Same))
	}
	p.b.WriteString(t.text(p.look, 2))
	if beyond {
		p.b.WriteString(p.look.wrap("  ", "* outside the levels tried"))
	}
	return true
}

// squeeze is the weight where weights are known, else the share in percent.
func (p *resultsPrinter) squeeze(s analysis.Squeeze) string {
	if mass := p.in.WeightUnit(); s.Weight.Estimate.Known() {
		return measured(s.Weight, mass.FromSI) + " " + mass.Name
	}
	return measured(s.Share, func(v float64) float64 { return 100 * v })
}

// safe is the squeeze to work with, as the verdict and the card say it.
func (p *resultsPrinter) safe(s analysis.Squeeze) string {
	text, unsure := p.in.Hang(s)
	if unsure != "" {
		return unsure
	}
	return question(text)
}

// facings is the table of facings, each on its own.
func (p *resultsPrinter) facings() {
	r := p.r
	_, unitName, scale := p.in.Grip()
	head := "mu"
	switch r.Quantity {
	case analysis.PerWeight:
		head = "grip [" + unitName + "]"
	case analysis.Force:
		head = "force [" + unitName + "]"
	}
	t := textTable{columns: []textColumn{{head: "facing", breaks: true}, {head: "slipped", right: true}, {head: "held", right: true}, {head: "void", right: true},
		{head: "samples", right: true}, {head: head}, {head: "with the clamp force's doubt"}, {head: "scatter"}, {head: "95 of 100 exceed"}, {head: "99 of 100"}}}
	for _, f := range r.Facings {
		samples, total := "", ""
		if f.Samples > 0 {
			samples = strconv.Itoa(f.Samples)
		}
		if f.MuTotal != nil {
			total = "?"
			if x := report.Write(*f.MuTotal, report.Same); x.Known {
				total = x.Lower + " to " + x.Upper
			}
		}
		row := []string{f.Facing, strconv.Itoa(f.Slipped), strconv.Itoa(f.Held), strconv.Itoa(f.Void), samples, measured(f.Grip, scale), total, scatter(f.CV)}
		for _, tol := range f.Tolerance {
			row = append(row, question(report.Short(scale(float64(tol.Lower)), 2)))
		}
		t.add(row...)
	}
	p.b.WriteString("\n" + t.text(p.look, 0))
	if r.Model.Method == "none" {
		p.say("", "Geometric means as read; no model could be fitted.")
		return
	}
	own := ""
	if r.Model.Spread == analysis.SpreadsByFacing {
		own = " Ratios and bounds take the scatter of each facing."
	}
	p.say("", fmt.Sprintf("Geometric means; %d pulls in the model %s (%s).%s", r.Model.Pulls, r.Model.Formula, r.Model.Method, own))
	if v := r.Variance; v.ReproducibilitySD.Known() {
		p.say("", fmt.Sprintf("Pulls scatter by %s %% within a block (repeatability) and by %s %% from block to block and all (reproducibility).",
			report.Short(100*float64(v.ResidualSD), 2), report.Short(100*float64(v.ReproducibilitySD), 2)))
	}
}

// measured is an estimate as every report writes it; without an interval to two
// digits, for what it is worth.
func measured(e analysis.Estimate, scale func(float64) float64) string {
	if x := report.Write(e, scale); x.Known {
		return x.String()
	}
	return question(report.Short(scale(float64(e.Estimate)), 2))
}

// question stands where a number could not be estimated.
func question(text string) string {
	if text == report.Dash {
		return "?"
	}
	return text
}

// mostPairs is how many comparisons a person looks through.
const mostPairs = 15

// pairs lists all pairs where there are more than the control's.
func (p *resultsPrinter) pairs() {
	pairs := p.r.Pairs
	if len(pairs) < 2 {
		return
	}
	head := "Every pair"
	for _, x := range pairs { // one that cannot be had names no adjustment
		if x.Adjusted != "none" {
			head = fmt.Sprintf("Every pair, adjusted for %d comparisons (%s)", len(pairs), x.Adjusted)
		}
	}
	p.head(head)
	if len(pairs) > mostPairs {
		p.say("", fmt.Sprintf("--json lists all %d; the report shows them.", len(pairs)))
		return
	}
	t := textTable{columns: []textColumn{{head: "facing against another", breaks: true}, {head: "holds times as much"}, {}}}
	for _, x := range pairs {
		ratio := measured(analysis.Estimate{Estimate: x.Ratio, Lower: x.Lower, Upper: x.Upper}, report.Same)
		t.add(x.B+" against "+x.A, ratio, pText(x.P))
	}
	p.b.WriteString(t.text(p.look, 2))
}

// resampled lists the ratios' intervals by resampling beside the model's, each
// on its own.
func (p *resultsPrinter) resampled() {
	t := textTable{columns: []textColumn{{head: "facing", breaks: true}, {head: "by the model"}, {head: "resampled"}, {head: "corrected for bias"}}}
	var last *analysis.Bootstrap
	for _, a := range p.r.AgainstControl {
		if a.Bootstrap == nil {
			continue
		}
		last = a.Bootstrap
		with := func(lower, upper analysis.Number) string {
			return measured(analysis.Estimate{Estimate: a.Ratio, Lower: lower, Upper: upper}, report.Same)
		}
		t.add(a.Facing, with(a.Single.Lower, a.Single.Upper), with(last.Percentile.Lower, last.Percentile.Upper), with(last.BCa.Lower, last.BCa.Upper))
	}
	if last == nil {
		return
	}
	p.head(fmt.Sprintf("Times what %s holds, each facing alone: by the model, and by %d resamples (seed %d)", p.r.Control, last.Draws, last.Seed))
	p.b.WriteString(t.text(p.look, 2))
}

// unchecked names the checks that a warning code says could not be made.
var unchecked = map[string]string{
	"no-group-tests": "tests of groups", "no-welch": "Welch's test", "no-kruskal-wallis": "Kruskal and Wallis's test",
	"no-brown-forsythe": "equal spread", "no-shapiro-wilk": "normality", "no-proportionality": "force against squeeze",
	"no-permutation": "permutation test", "no-drift": "drift", "no-wear": "wear",
}

// warnings lists the remarks; checks that could not be made share a line.
func (p *resultsPrinter) warnings() {
	var missing []string
	first := true
	for _, w := range p.r.Warnings {
		if what, ok := unchecked[w.Code]; ok {
			missing = append(missing, what)
			continue
		}
		if first {
			p.head("Beware")
			first = false
		}
		p.b.WriteString(p.look.wrap("  - ", w.Text))
	}
	if len(missing) > 0 {
		p.say("\n", "Not checked (--json says why): "+strings.Join(missing, ", ")+".")
	}
}

// claims lists the verdicts on the study's claims.
func (p *resultsPrinter) claims() {
	if len(p.r.Claims) == 0 {
		return
	}
	p.head("Claims")
	for _, c := range p.r.Claims {
		p.b.WriteString(p.look.wrap("  - ", c.Text+": "+c.Verdict+"; "+c.Reason+"."))
	}
}

// lasting says how many clampings each facing lasts.
func (p *resultsPrinter) lasting() {
	wear := p.r.Checks.Wear
	if wear == nil || len(wear.Lasts) == 0 {
		return
	}
	p.head("Clampings until the grip that 99 of 100 exceed falls below the need")
	t := textTable{columns: []textColumn{{breaks: true}, {breaks: true}}}
	for _, l := range wear.Lasts {
		switch {
		case l.Clampings.Known():
			t.add(l.Facing, fmt.Sprintf("about %.0f, at least %.0f", float64(l.Clampings), float64(l.AtLeast)))
		case l.AtLeast.Known():
			t.add(l.Facing, fmt.Sprintf("not in sight, at least %.0f", float64(l.AtLeast)))
		default:
			t.add(l.Facing, "not in sight")
		}
	}
	p.b.WriteString(t.text(p.look, 2))
}

func pText(p analysis.Number) string {
	switch {
	case !p.Known():
		return ""
	case p < 0.0001:
		return "p < 0.0001"
	}
	return "p = " + strconv.FormatFloat(float64(p), 'g', 2, 64)
}

func scatter(cv analysis.Number) string {
	if !cv.Known() {
		return "?"
	}
	return report.Short(100*float64(cv), 2) + " %"
}
