package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
)

// printWindow prints one band a facing, what would open a closed one, what was
// assumed, and the cautions.
func printWindow(out io.Writer, r windowJSON) error {
	var b strings.Builder
	fmt.Fprintf(&b, "Clamp force on each jaw face that holds the cut and spares the part\n(%.0f of 100 clampings, %.0f %% confidence):\n\n", 100*r.Coverage, 100*r.Confidence)
	t := tabwriter.NewWriter(&b, 0, 8, 2, ' ', 0)
	fmt.Fprintf(t, "facing\tmu at least\tleast to most\ton the handle\twindow\n")
	for _, f := range r.Facings {
		mu, kg := "-", "-"
		if f.Mu.Known() {
			mu = fmt.Sprintf("%.2g", float64(f.Mu))
		}
		if f.LeastWeight.Known() {
			kg = bandText(f.LeastWeight, f.MostWeight, "kg", "%.2f")
		}
		state := "cannot be said"
		switch {
		case f.Open != nil && *f.Open:
			state = fmt.Sprintf("open, margin %.2f", float64(f.Margin))
		case f.Open != nil:
			state = fmt.Sprintf("CLOSED, %.2f of what is needed", float64(f.Margin))
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\n", f.Facing, mu, bandText(f.Least, f.Most, "N", "%.0f"), kg, state)
	}
	t.Flush()
	b.WriteString("\n")
	printWindowFacings(&b, r)
	for _, s := range r.Stages {
		fmt.Fprintf(&b, "%s\n", s.Stage)
		for _, l := range s.Limits {
			b.WriteString(wrap("  - ", fmt.Sprintf("bears %.0f N by %s: %s", float64(l.Force), l.Kind, l.Text), 78))
		}
		if len(s.Assumed) > 0 {
			b.WriteString(wrap("  - ", "assumed, as not given: "+strings.Join(s.Assumed, "; "), 78))
		}
	}
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

// printWindowFacings says what the table cannot: reasons, the usual weight,
// ways out.
func printWindowFacings(b *strings.Builder, r windowJSON) {
	for _, f := range r.Facings {
		var lines []string
		if f.Reason != "" {
			lines = append(lines, f.Reason)
		}
		switch f.Usual {
		case "slips":
			lines = append(lines, fmt.Sprintf("the usual %.3g kg may let go", float64(r.Usual)))
		case "crushes":
			lines = append(lines, fmt.Sprintf("the usual %.3g kg may be more than the part bears", float64(r.Usual)))
		case "holds":
			lines = append(lines, fmt.Sprintf("the usual %.3g kg lies inside", float64(r.Usual)))
		}
		if f.Open != nil && !*f.Open {
			if len(f.Ways) == 0 {
				lines = append(lines, "nothing that was tried opens it alone: support the part, or change several things")
			}
			for _, w := range f.Ways {
				text := "would open it: " + w.Text
				if w.Least.Known() {
					text += " (" + bandText(w.Least, w.Most, "N", "%.0f") + ")"
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
