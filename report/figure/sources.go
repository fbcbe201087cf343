package figure

import (
	"fmt"
	"math"

	"griptrial/analysis"
	"griptrial/report"
)

// bar is one row of a figure of bars.
type bar struct {
	name, value string
	size        float64 // NaN: nothing to draw
	strong      bool    // a sum
	head        bool    // a line of text over the bars that follow
}

// height is what a bar takes: less where there is nothing to draw below the text.
func (b bar) height() float64 {
	switch {
	case b.head:
		return 26
	case !(b.size > 0):
		return 18
	}
	return 33
}

// barsHeight is the height of a figure of bars.
func barsHeight(bars []bar) float64 {
	h := 38.0
	for _, b := range bars {
		h += b.height()
	}
	return h
}

// drawBars draws bars from zero under each other, name and value over each.
func drawBars(p *pen, bars []bar, full float64, axis string) {
	most := 0.0
	for _, b := range bars {
		if b.size > most {
			most = b.size
		}
	}
	sc := fromZero(most, 2, full-6)
	bottom := barsHeight(bars) - 34
	values, d := sc.ticks(5)
	for _, v := range values {
		x := sc.at(v)
		p.line(faint, 0.5, nil, pt{x, 4}, pt{x, bottom})
		p.line(ink, 0.7, nil, pt{x, bottom}, pt{x, bottom + 3})
		p.text(mid, small, false, math.Min(0.5, (x-2)/20), x, bottom+4+small, report.Number(v, d))
	}
	p.line(ink, 0.9, nil, pt{sc.from, bottom}, pt{sc.to, bottom})
	p.text(mid, small, false, 1, full-2, bottom+8+2*small, axis)
	top := 0.0
	for _, b := range bars {
		bold := b.strong || b.head
		text := top + body + 3
		if b.head {
			text += 8
		}
		name := shorten(b.name, body, bold, full-8-width(b.value, body, b.strong)-8)
		p.rect(paper, 0, text-body, full, body+5)
		p.text(ink, body, bold, 0, 2, text, name)
		p.text(ink, body, b.strong, 1, full-2, text, b.value)
		if b.size > 0 {
			ground := shade(1)
			if b.strong {
				ground = ink
			}
			p.rect(ground, sc.at(0), top+20, math.Max(0.8, sc.at(b.size)-sc.at(0)), 8)
		}
		top += b.height()
	}
}

// Scatter draws how much pulls, samples and sessions scatter. ok is false where
// not even the pulls' own scatter is known.
func Scatter(in report.Input, full float64) (f Figure, ok bool) {
	v := in.Results.Variance
	if !v.ResidualSD.Known() || v.ResidualSD == 0 {
		return Figure{}, false
	}
	samples := 0
	for _, x := range in.Results.Facings {
		samples += x.Samples
	}
	total := 0.0
	for _, sd := range []analysis.Number{v.ResidualSD, v.SampleSD, v.BlockSD} {
		if sd.Known() {
			total += float64(sd * sd)
		}
	}
	var bars []bar
	add := func(name string, sd analysis.Number, unknown string) {
		if !sd.Known() {
			bars = append(bars, bar{name: name, value: unknown, size: math.NaN()})
			return
		}
		if sd == 0 {
			bars = append(bars, bar{name: name, value: "none seen beyond the pulls' own", size: math.NaN()})
			return
		}
		s := 100 * asCV(sd)
		share := ""
		if total > 0 {
			share = fmt.Sprintf(" (%.0f %% of the whole)", 100*float64(sd*sd)/total)
			if float64(sd*sd) < 0.005*total {
				share = " (under 1 % of the whole)"
			}
		}
		bars = append(bars, bar{name: name, value: report.Short(s, 2) + " %" + share, size: s})
	}
	add("pull to pull", v.ResidualSD, "")
	add(counted("sample to sample", samples, "sample"), v.SampleSD, "not told apart")
	add(counted("session to session", len(in.Results.Blocks), "session"), v.BlockSD, "not told apart")
	f = Figure{Name: "scatter", Title: scatterTitle(in, total), Width: full, Height: barsHeight(bars)}
	f.Desc = "Scatter of the grip by its source."
	for _, b := range bars {
		f.Desc += fmt.Sprintf(" From %s: %s.", b.name, b.value)
	}
	f.draw = func(p *pen) { drawBars(p, bars, full, "scatter of the grip, one standard deviation [%]") }
	return f, true
}

// asCV is the coefficient of variation of a value whose log has a spread.
func asCV(sd analysis.Number) float64 { return math.Sqrt(math.Expm1(float64(sd * sd))) }

func counted(name string, n int, noun string) string {
	switch n {
	case 0:
		return name
	case 1:
		return name + " (1 " + noun + ")"
	}
	return fmt.Sprintf("%s (%d %ss)", name, n, noun)
}

func scatterTitle(in report.Input, total float64) string {
	v := in.Results.Variance
	if !v.SampleSD.Known() && !v.BlockSD.Known() {
		return fmt.Sprintf("Pulls scatter by %s %%; what samples and sessions add was not told apart", report.Short(100*asCV(v.ResidualSD), 2))
	}
	name, most := "pull to pull", v.ResidualSD
	for _, x := range []struct {
		name string
		sd   analysis.Number
	}{{"sample to sample", v.SampleSD}, {"session to session", v.BlockSD}} {
		if x.sd.Known() && x.sd > most {
			name, most = x.name, x.sd
		}
	}
	share := float64(most*most) / total
	if share > 0.5 {
		return fmt.Sprintf("Most of the scatter is from %s: %.0f %% of the variance", name, 100*share)
	}
	return fmt.Sprintf("No one source makes most of the scatter; the largest is from %s, %.0f %% of the variance", name, 100*share)
}

// Budget draws where the doubt in the best facing's grip comes from, and what of
// it is left in its ratio to the control. ok is false without a budget.
func Budget(in report.Input, full float64) (f Figure, ok bool) {
	own, ratio := budgetsOf(in)
	if own == nil {
		return Figure{}, false
	}
	name, _, _ := in.Grip()
	facing := report.Brief(own.Facing, 48)
	bars := budgetBars(own, fmt.Sprintf("%s of %s", report.Sentence(name), facing))
	if ratio != nil {
		bars = append(bars, budgetBars(ratio, fmt.Sprintf("Its ratio to %s", report.Brief(ratio.Against, 48)))...)
	}
	f = Figure{Name: "budget", Title: budgetTitle(in, own, ratio), Width: full, Height: barsHeight(bars)}
	f.Desc = "Relative standard uncertainty by source."
	for _, b := range bars {
		if b.head {
			f.Desc += " " + b.name + "."
			continue
		}
		f.Desc += fmt.Sprintf(" %s: %s.", report.Sentence(b.name), b.value)
	}
	f.draw = func(p *pen) { drawBars(p, bars, full, "relative standard uncertainty [%]") }
	return f, true
}

// budgetBars are the rows of one budget.
func budgetBars(b *analysis.Budget, head string) []bar {
	percent := func(u analysis.Number) string { return report.Short(100*float64(u), 2) + " %" }
	bars := []bar{{name: head, head: true}}
	for _, t := range b.Terms {
		r := bar{name: t.Source, value: "not stated, left out", size: math.NaN()}
		switch {
		case t.Cancels:
			r.value = "cancels"
		case t.U.Known():
			r.value, r.size = percent(t.U), 100*float64(t.U)
		}
		bars = append(bars, r)
	}
	return append(bars, bar{name: "together", value: percent(b.U), size: 100 * float64(b.U), strong: true})
}

// budgetsOf finds the budgets of the facing that the verdict names, or of the
// first that has one.
func budgetsOf(in report.Input) (own, ratio *analysis.Budget) {
	best := in.Verdict().Best
	for i := range in.Results.Budgets {
		b := &in.Results.Budgets[i]
		if b.Against == "" && (own == nil || b.Facing == best) {
			own = b
		}
	}
	for i := range in.Results.Budgets {
		b := &in.Results.Budgets[i]
		if own != nil && b.Against != "" && b.Facing == own.Facing {
			ratio = b
		}
	}
	return own, ratio
}

func budgetTitle(in report.Input, own, ratio *analysis.Budget) string {
	name, _, _ := in.Grip()
	var most *analysis.BudgetTerm
	for i := range own.Terms {
		if t := &own.Terms[i]; t.Share.Known() && (most == nil || t.Share > most.Share) {
			most = t
		}
	}
	if most == nil || len(own.Terms) == 1 {
		return fmt.Sprintf("The %s is known to a standard uncertainty of %s %%", name, report.Short(100*float64(own.U), 2))
	}
	title := fmt.Sprintf("%s makes %.0f %% of the doubt in the %s", report.Sentence(most.Source), 100*float64(most.Share), name)
	if ratio != nil {
		for _, t := range ratio.Terms {
			if t.Cancels && t.Source == most.Source {
				title += "; in the ratio it cancels"
			}
		}
	}
	return title
}
