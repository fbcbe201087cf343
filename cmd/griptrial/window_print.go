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

// printWindow prints one band a facing, what would open a closed one, what was
// assumed, and the cautions.
func printWindow(out io.Writer, r analysis.Window, force unit.Unit) error {
	var b strings.Builder
	p := windowPrinter{&b, r, force, report.Input{Force: force}.WeightUnit()}
	p.table()
	p.facings()
	p.stages()
	b.WriteString("\nNotes\n")
	for _, w := range r.Warnings {
		b.WriteString(wrap("  - ", w.Text, 78))
	}
	b.WriteString("\nEstimates for comparing facings, not proof that a part is safely held.\n")
	for _, c := range r.Cautions {
		b.WriteString(wrap("  - ", c, 78))
	}
	_, err := io.WriteString(out, b.String())
	return err
}

// windowPrinter writes a window in the units of a study.
type windowPrinter struct {
	b     *strings.Builder
	r     analysis.Window
	force unit.Unit
	mass  unit.Unit
}

// band writes "430 to 1250 N".
func (p windowPrinter) band(low, high analysis.Number) string { return bandText(low, high, p.force, 3) }

// bandText writes a band of SI values in a unit, to so many digits of the
// greater end.
func bandText(low, high analysis.Number, u unit.Unit, digits int) string {
	places, most := 0, analysis.Number(0)
	for _, n := range []analysis.Number{low, high} {
		if n.Known() {
			most = max(most, n)
		}
	}
	if most > 0 {
		places = max(0, digits-1-int(math.Floor(math.Log10(u.FromSI(float64(most))))))
	}
	end := func(n analysis.Number) string {
		if !n.Known() {
			return "?"
		}
		return strconv.FormatFloat(u.FromSI(float64(n)), 'f', places, 64)
	}
	return end(low) + " to " + end(high) + " " + u.Name
}

// table has a line for each facing.
func (p windowPrinter) table() {
	b, r := p.b, p.r
	fmt.Fprintf(b, "Clamp force on each jaw face that holds the cut and spares the part\n(%.0f of 100 clampings, %.0f %% confidence):\n\n", 100*r.Coverage, 100*r.Confidence)
	t := tabwriter.NewWriter(b, 0, 8, 2, ' ', 0)
	fmt.Fprintf(t, "facing\tmu at least\tleast to most\ton the handle\twindow\n")
	for _, f := range r.Facings {
		mu, kg := "-", "-"
		if f.Mu.Known() {
			mu = fmt.Sprintf("%.2g", float64(f.Mu))
		}
		if f.LeastWeight.Known() {
			kg = bandText(f.LeastWeight, f.MostWeight, p.mass, 3)
		}
		state := "cannot be said"
		switch {
		case f.Open != nil && *f.Open:
			state = fmt.Sprintf("open, margin %.2f", float64(f.Margin))
		case f.Open != nil:
			state = fmt.Sprintf("CLOSED, %.2f of what is needed", float64(f.Margin))
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\n", f.Facing, mu, p.band(f.Least, f.Most), kg, state)
	}
	t.Flush()
	b.WriteString("\n")
}

// stages tells what bounds each stage, and what each facing needs in it.
func (p windowPrinter) stages() {
	for _, s := range p.r.Stages {
		fmt.Fprintf(p.b, "%s\n", s.Stage)
		for _, l := range s.Limits {
			p.b.WriteString(wrap("  - ", fmt.Sprintf("bears %s by %s: %s", p.force.Format(float64(l.Force), 3), l.Kind, l.Text), 78))
		}
		if len(p.r.Stages) > 1 {
			var needs []string
			for _, f := range p.r.Facings {
				for _, x := range f.Stages {
					if x.Stage == s.Stage {
						needs = append(needs, fmt.Sprintf("%s %s", f.Facing, p.force.Format(float64(x.Least), 3)))
					}
				}
			}
			if len(needs) > 0 {
				p.b.WriteString(wrap("  - ", "needs at least: "+strings.Join(needs, ", "), 78))
			}
		}
		if len(s.Assumed) > 0 {
			p.b.WriteString(wrap("  - ", "assumed, as not given: "+strings.Join(s.Assumed, "; "), 78))
		}
	}
}

// facings says what the table cannot: reasons, the usual weight, the stages that
// decide, ways out.
func (p windowPrinter) facings() {
	b, r := p.b, p.r
	usual := ""
	if r.Usual.Known() {
		usual = shortest(p.mass.FromSI(float64(r.Usual))) + " " + p.mass.Name
	}
	for _, f := range r.Facings {
		var lines []string
		if f.Reason != "" {
			lines = append(lines, f.Reason)
		}
		switch f.Usual {
		case "slips":
			lines = append(lines, "the usual "+usual+" may let go")
		case "crushes":
			lines = append(lines, "the usual "+usual+" may be more than the part bears")
		case "holds":
			lines = append(lines, "the usual "+usual+" lies inside")
		}
		if len(r.Stages) > 1 && f.LeastStage != "" {
			text := "stage " + f.LeastStage + " asks for the most"
			if f.MostStage != "" {
				text += ", stage " + f.MostStage + " bears the least"
			}
			lines = append(lines, text)
		}
		if f.Open != nil && !*f.Open {
			if len(f.Ways) == 0 {
				lines = append(lines, "nothing that was tried opens it alone: support the part, or change several things")
			}
			for _, w := range f.Ways {
				text := "would open it: " + w.Text
				if w.Least.Known() {
					text += " (" + p.band(w.Least, w.Most) + ")"
				}
				lines = append(lines, text)
			}
		}
		if len(lines) == 0 {
			continue
		}
		fmt.Fprintf(b, "%s\n", f.Facing)
		for _, l := range lines {
			b.WriteString(wrap("  - ", l, 78))
		}
	}
	b.WriteString("\n")
}
