package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"

	"griptrial/analysis"
	"griptrial/analysis/unit"
	"griptrial/report"
)

// printResults prints what a person reads in ten seconds: the verdict, the
// facings, what to beware of.
func printResults(out io.Writer, r analysis.Results, force unit.Unit) error {
	var b strings.Builder
	held := printVerdict(&b, r, report.Input{Force: force}.WeightUnit())
	printFacings(&b, r, force)
	printPairs(&b, r)
	printDoubt(&b, r)
	printClaimVerdicts(&b, r.Claims)
	printLasting(&b, r.Checks.Wear)
	printWarnings(&b, r.Warnings)
	if held {
		b.WriteString("\n" + wrap("", "A trial is evidence about these facings on this vise, not a licence to cut. Spindle locked out and hands clear of the line of pull; guarding, local rules and qualified people come first.", 78))
	}
	_, err := io.WriteString(out, b.String())
	return err
}

// printVerdict leads with less squeeze for the same hold. It reports whether
// it said anything about holding.
func printVerdict(b *strings.Builder, r analysis.Results, mass unit.Unit) bool {
	percent := strconv.FormatFloat(100*r.Confidence, 'g', 4, 64)
	if len(r.LessSqueeze) == 0 {
		fmt.Fprintf(b, "No comparison with %s can be made from these pulls.\n", r.Control)
		return false
	}
	usual := r.LessSqueeze[0].Usual
	fmt.Fprintf(b, "To hold what %s holds", r.Control)
	if usual.Known() {
		fmt.Fprintf(b, " at %s %s on the handle", shortest(mass.FromSI(float64(usual))), mass.Name)
	}
	fmt.Fprintf(b, " (%s %% intervals):\n", percent)
	t := tabwriter.NewWriter(b, 0, 8, 2, ' ', 0)
	ratio := map[string]analysis.Ratio{}
	for _, a := range r.AgainstControl {
		ratio[a.Facing] = a
	}
	bounds := map[string]analysis.BoundRatio{}
	for _, bound := range r.Bounds {
		bounds[bound.B] = bound
	}
	for _, s := range r.LessSqueeze {
		if s.Bound {
			fmt.Fprintf(t, "  %s\tat most %s\tholds at least %s times as much\n", s.Facing, squeezeText(s, mass), shortest2(float64(bounds[s.Facing].AtLeast)))
			continue
		}
		note := ""
		if s.Beyond {
			note = "\toutside the levels tried"
		}
		a := ratio[s.Facing]
		fmt.Fprintf(t, "  %s\t%s\tholds %s times as much%s\n", s.Facing, squeezeText(s, mass), interval(a.Ratio, a.Lower, a.Upper, 1), note)
	}
	t.Flush()
	return true
}

// squeezeText is the weight where weights are known, else the share.
func squeezeText(s analysis.Squeeze, mass unit.Unit) string {
	if s.Weight.Estimate.Known() {
		return interval(s.Weight.Estimate, s.Weight.Lower, s.Weight.Upper, mass.FromSI(1)) + " " + mass.Name
	}
	return interval(s.Share.Estimate, s.Share.Lower, s.Share.Upper, 100) + " % of the squeeze"
}

// printFacings is the table of facings, each on its own.
func printFacings(b *strings.Builder, r analysis.Results, force unit.Unit) {
	factor, head := 1.0, "mu"
	switch r.Quantity {
	case analysis.PerWeight:
		head = "force per handle weight"
	case analysis.Force:
		factor, head = force.FromSI(1), "force ["+force.Name+"]"
	}
	b.WriteString("\n")
	total := false
	for _, f := range r.Facings {
		total = total || f.MuTotal != nil
	}
	if total {
		head += "\twith the clamp force's doubt"
	}
	t := tabwriter.NewWriter(b, 0, 8, 2, ' ', 0)
	fmt.Fprintf(t, "facing\tslipped\theld\tvoid\tsamples\t%s\tscatter\t95 of 100 exceed\t99 of 100\n", head)
	for _, f := range r.Facings {
		samples := "-"
		if f.Samples > 0 {
			samples = strconv.Itoa(f.Samples)
		}
		grip := interval(f.Grip.Estimate, f.Grip.Lower, f.Grip.Upper, factor)
		if f.MuTotal != nil {
			grip += "\t" + rangeOf(f.MuTotal.Lower, f.MuTotal.Upper)
		} else if total {
			grip += "\t"
		}
		fmt.Fprintf(t, "%s\t%d\t%d\t%d\t%s\t%s\t%s", f.Facing, f.Slipped, f.Held, f.Void, samples, grip, scatter(f.CV))
		for _, tol := range f.Tolerance {
			fmt.Fprintf(t, "\t%s", bare(tol.Lower, factor))
		}
		fmt.Fprintln(t)
	}
	t.Flush()
	if r.Model.Method == "none" {
		b.WriteString("Geometric means as read; no model could be fitted.\n")
		return
	}
	fmt.Fprintf(b, "Geometric means; %d pulls in the model %s (%s).\n", r.Model.Pulls, r.Model.Formula, r.Model.Method)
}

// printPairs lists all pairs where there are more than the control's.
func printPairs(b *strings.Builder, r analysis.Results) {
	if len(r.Pairs) < 2 {
		return
	}
	fmt.Fprintf(b, "\nEvery pair, adjusted for %d comparisons (%s)\n", len(r.Pairs), r.Pairs[0].Adjusted)
	t := tabwriter.NewWriter(b, 0, 8, 2, ' ', 0)
	for _, p := range r.Pairs {
		fmt.Fprintf(t, "  %s\tto %s\t%s\t%s\n", p.B, p.A, interval(p.Ratio, p.Lower, p.Upper, 1), pText(p.P))
	}
	t.Flush()
}

// unchecked names the checks that a warning code says could not be made.
var unchecked = map[string]string{
	"no-group-tests": "tests of groups", "no-welch": "Welch's test", "no-kruskal-wallis": "Kruskal and Wallis's test",
	"no-brown-forsythe": "equal spread", "no-shapiro-wilk": "normality", "no-proportionality": "force against squeeze",
	"one-level": "force against squeeze", "no-permutation": "permutation test", "no-drift": "drift", "no-wear": "wear",
}

// printWarnings lists the remarks; checks that could not be made share a line.
func printWarnings(b *strings.Builder, warnings []analysis.Warning) {
	var missing []string
	head := "\nBeware\n"
	for _, w := range warnings {
		if what, ok := unchecked[w.Code]; ok {
			missing = append(missing, what)
			continue
		}
		b.WriteString(head + wrap("  - ", w.Text, 78))
		head = ""
	}
	if len(missing) > 0 {
		b.WriteString("\n" + wrap("", "Not checked (--json says why): "+strings.Join(missing, ", ")+".", 78))
	}
}

// printClaimVerdicts lists the verdicts on the study's claims.
func printClaimVerdicts(b *strings.Builder, claims []analysis.ClaimVerdict) {
	if len(claims) == 0 {
		return
	}
	b.WriteString("\nClaims\n")
	for _, c := range claims {
		b.WriteString(wrap("  - ", c.Text+": "+c.Verdict+"; "+c.Reason+".", 78))
	}
}

// printLasting says how many clampings each facing lasts.
func printLasting(b *strings.Builder, wear *analysis.WearTest) {
	if wear == nil || len(wear.Lasts) == 0 {
		return
	}
	b.WriteString("\nClampings until the grip that 99 of 100 exceed falls below the need\n")
	t := tabwriter.NewWriter(b, 0, 8, 2, ' ', 0)
	for _, l := range wear.Lasts {
		switch {
		case l.Clampings.Known():
			fmt.Fprintf(t, "  %s\tabout %.0f, at least %.0f\n", l.Facing, float64(l.Clampings), float64(l.AtLeast))
		case l.AtLeast.Known():
			fmt.Fprintf(t, "  %s\tnot in sight, at least %.0f\n", l.Facing, float64(l.AtLeast))
		default:
			fmt.Fprintf(t, "  %s\tnot in sight\n", l.Facing)
		}
	}
	t.Flush()
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
	return strconv.FormatFloat(100*float64(cv), 'g', 2, 64) + " %"
}

// interval writes an estimate with its interval, times factor, to two digits of
// the uncertainty; without an interval to two digits of itself.
func interval(est, lo, hi analysis.Number, factor float64) string {
	if !est.Known() {
		return "?"
	}
	e, l, h := float64(est)*factor, float64(lo)*factor, float64(hi)*factor
	if !lo.Known() || !hi.Known() {
		return shortest2(e)
	}
	d := decimals((h - l) / 2)
	f := func(v float64) string { return strconv.FormatFloat(v, 'f', d, 64) }
	return fmt.Sprintf("%s (%s to %s)", f(e), f(l), f(h))
}

// rangeOf writes the two ends of an interval.
func rangeOf(lo, hi analysis.Number) string {
	if !lo.Known() || !hi.Known() {
		return "?"
	}
	d := decimals(float64(hi-lo) / 2)
	return strconv.FormatFloat(float64(lo), 'f', d, 64) + " to " + strconv.FormatFloat(float64(hi), 'f', d, 64)
}

// decimals is how many places show two digits of an uncertainty u.
func decimals(u float64) int {
	if !(u > 0) {
		return 2
	}
	return max(0, 1-int(math.Floor(math.Log10(u))))
}

// bare writes a bound that has no interval of its own, to two digits.
func bare(n analysis.Number, factor float64) string {
	if !n.Known() {
		return "?"
	}
	return shortest2(float64(n) * factor)
}

// shortest2 writes a number to two digits, without exponent.
func shortest2(v float64) string {
	return strconv.FormatFloat(v, 'f', max(0, 1-int(math.Floor(math.Log10(math.Abs(v))))), 64)
}

// shortest writes a weight as a person would: what was typed in pounds has
// many digits in kilograms, and four are enough.
func shortest(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }

// wrap breaks a text into lines of at most width characters, the first one
// behind a mark, the others indented to it.
func wrap(mark, text string, width int) string {
	var b strings.Builder
	b.WriteString(mark)
	at, indent := len(mark), strings.Repeat(" ", len(mark))
	for i, word := range strings.Fields(text) {
		n := len([]rune(word))
		switch {
		case i == 0:
		case at+1+n > width:
			b.WriteString("\n" + indent)
			at = len(mark)
		default:
			b.WriteString(" ")
			at++
		}
		b.WriteString(word)
		at += n
	}
	b.WriteString("\n")
	return b.String()
}
