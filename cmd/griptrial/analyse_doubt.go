package main

import (
	"fmt"
	"strconv"
	"strings"

	"griptrial/analysis"
)

// doubt says what of the uncertainty cancels in ratios at one squeeze and what
// stays, with its size where a study states one. Where clamp forces were
// measured --json has it.
func (p *resultsPrinter) doubt() {
	r := p.r
	if r.Doubt == nil || len(r.Facings) < 2 || len(r.LessSqueeze) == 0 || !r.Usual.Known() {
		return
	}
	lists := map[string][]string{}
	for _, t := range r.Doubt.Terms {
		text := t.Term
		if t.U.Known() {
			text += " (" + percent2(t.U) + " of mu)"
		}
		lists[t.Ratio] = append(lists[t.Ratio], text)
	}
	if r.Doubt.Clamp == nil {
		p.head("What is uncertain in a ratio of facings at one handle weight")
	} else {
		p.head("What is uncertain in mu, and in a ratio of facings at one handle weight")
	}
	p.b.WriteString(p.look.wrap("  cancels: ", strings.Join(lists[analysis.Cancels], ", ")))
	p.b.WriteString(p.look.wrap("  stays:   ", strings.Join(lists[analysis.Stays], ", ")))
	if r.Doubt.Clamp == nil || len(r.Budgets) == 0 {
		return
	}
	own := map[string]analysis.Budget{}
	for _, x := range r.Budgets {
		if x.Against == "" {
			own[x.Facing] = x
		}
	}
	p.b.WriteString("  Standard uncertainties:\n")
	t := textTable{columns: []textColumn{{head: "facing", breaks: true}, {head: "of mu", right: true}, {head: "of its ratio", right: true},
		{head: "if nothing cancelled", right: true}, {head: "correlation with the control", right: true}}}
	for _, x := range r.Budgets {
		if x.Against != "" && x.Apart.Known() {
			t.add(x.Facing, percent2(own[x.Facing].U), percent2(x.U), percent2(x.Apart), fmt.Sprintf("%.2f", float64(x.Correlation)))
		}
	}
	p.b.WriteString(t.text(p.look, 2))
}

func percent2(u analysis.Number) string {
	return strconv.FormatFloat(100*float64(u), 'g', 2, 64) + " %"
}
