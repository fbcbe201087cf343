package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"griptrial/report"
)

// printWindow prints one band a facing, what would open a closed one, what was
// assumed, and the cautions.
func printWindow(out io.Writer, t report.WindowText) error {
	var b strings.Builder
	b.WriteString(wrap("", t.Answer+".", 78) + "\n" + wrap("", t.Lead+":", 78) + "\n")
	table := tabwriter.NewWriter(&b, 0, 8, 2, ' ', 0)
	fmt.Fprintln(table, strings.Join(t.Head, "\t"))
	for _, row := range t.Rows {
		fmt.Fprintln(table, strings.Join(row, "\t"))
	}
	table.Flush()
	b.WriteString("\n")
	for _, items := range [][]report.WindowItem{t.Facings, t.Stages} {
		for _, item := range items {
			fmt.Fprintln(&b, item.Name)
			for _, line := range item.Lines {
				b.WriteString(wrap("  - ", line, 78))
			}
		}
	}
	b.WriteString("\nNotes\n")
	for _, note := range t.Notes {
		b.WriteString(wrap("  - ", note, 78))
	}
	fmt.Fprintf(&b, "\n%s\n", t.Caution)
	for _, c := range t.Cautions {
		b.WriteString(wrap("  - ", c, 78))
	}
	_, err := io.WriteString(out, b.String())
	return err
}
