package main

import (
	"fmt"
	"strconv"
	"strings"
	"text/tabwriter"

	"griptrial/analysis"
)

// printDoubt says what of the uncertainty cancels in ratios at one squeeze and
// what stays, with its size where a study states one. Where clamp forces were
// measured --json has it.
func printDoubt(b *strings.Builder, r analysis.Results) {
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
	b.WriteString("\nWhat makes mu uncertain, in a ratio of facings at one handle weight\n")
	b.WriteString(wrap("  cancels: ", strings.Join(lists[analysis.Cancels], ", "), 78))
	b.WriteString(wrap("  stays:   ", strings.Join(lists[analysis.Stays], ", "), 78))
	if r.Doubt.Clamp == nil || len(r.Budgets) == 0 {
		return
	}
	own := map[string]analysis.Budget{}
	for _, x := range r.Budgets {
		if x.Against == "" {
			own[x.Facing] = x
		}
	}
	b.WriteString("  Standard uncertainties:\n")
	t := tabwriter.NewWriter(b, 0, 8, 2, ' ', 0)
	fmt.Fprintf(t, "  facing\tof mu\tof its ratio\tif nothing cancelled\tcorrelation with the control\n")
	for _, x := range r.Budgets {
		if x.Against != "" && x.Apart.Known() {
			fmt.Fprintf(t, "  %s\t%s\t%s\t%s\t%.2f\n", x.Facing, percent2(own[x.Facing].U), percent2(x.U), percent2(x.Apart), float64(x.Correlation))
		}
	}
	t.Flush()
}

func percent2(u analysis.Number) string {
	return strconv.FormatFloat(100*float64(u), 'g', 2, 64) + " %"
}
