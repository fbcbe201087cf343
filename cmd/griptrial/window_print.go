package main

import (
	"io"
	"strings"

	"griptrial/report"
)

// printWindow prints one band a facing, what would open a closed one, what was
// assumed, and the cautions.
func printWindow(out io.Writer, t report.WindowText) error {
	var b strings.Builder
	l := lookOf(out)
	b.WriteString(l.boldLines(l.wrap("", t.Answer+".")) + "\n" + l.wrap("", t.Lead+":") + "\n")
	var table textTable
	for i, head := range t.Head {
		table.columns = append(table.columns, textColumn{head: head, breaks: i == 0 || i == len(t.Head)-1})
	}
	for _, row := range t.Rows {
		table.add(row...)
	}
	b.WriteString(table.text(l, 0))
	b.WriteString("\n")
	for _, items := range [][]report.WindowItem{t.Facings, t.Stages} {
		for _, item := range items {
			b.WriteString(l.wrap("", item.Name))
			for _, line := range item.Lines {
				b.WriteString(l.wrap("  - ", line))
			}
		}
	}
	b.WriteString("\nNotes\n")
	for _, note := range t.Notes {
		b.WriteString(l.wrap("  - ", note))
	}
	b.WriteString("\n" + l.wrap("", t.Caution))
	for _, c := range t.Cautions {
		b.WriteString(l.wrap("  - ", c))
	}
	_, err := io.WriteString(out, b.String())
	return err
}
