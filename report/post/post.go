// Package post writes an honest first draft of an article: Markdown with its
// pictures beside it, for a maker to edit. Question, rig, result, what to keep
// in mind. Its numbers are those of the results.
package post

import (
	"fmt"
	"io"
	"strings"

	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/report"
	"griptrial/report/figure"
)

// Write writes the post. pictures is the folder of the figures as the post
// names it, such as "figures"; each figure stands there as NAME.png.
func Write(w io.Writer, in report.Input, pictures string) error {
	var b strings.Builder
	fmt.Fprintf(&b, "# %s\n\n", Escape(report.Brief(in.Title(), 200)))
	if in.Remark != "" {
		fmt.Fprintf(&b, "*%s*\n\n", Escape(in.Remark))
	}
	if in.Study.Question != "" {
		fmt.Fprintf(&b, "%s\n\n", Escape(report.Plain(in.Study.Question)))
	}
	for i, s := range in.Verdict().Lines() {
		if i == 0 {
			fmt.Fprintf(&b, "**%s**\n\n", Escape(s))
			continue
		}
		fmt.Fprintf(&b, "%s\n\n", Escape(s))
	}
	rig(&b, in)
	showed(&b, in, pictures)
	numbers(&b, in)
	limits(&b, in)
	if _, err := io.WriteString(w, b.String()); err != nil {
		return fmt.Errorf("write the post: %w", err)
	}
	return nil
}

func rig(b *strings.Builder, in report.Input) {
	setup := in.Setup()
	if len(setup) == 0 {
		return
	}
	b.WriteString("## The rig\n\n")
	for _, f := range setup {
		fmt.Fprintf(b, "- %s: %s\n", Escape(f[0]), Escape(f[1]))
	}
	fmt.Fprintf(b, "\n%s, on %s.\n\n", Escape(in.Ended()), in.Date())
}

func showed(b *strings.Builder, in report.Input, pictures string) {
	figures := figure.Answers(in, figure.Narrow)
	if len(figures) == 0 {
		return
	}
	b.WriteString("## What the pulls showed\n\n")
	for _, f := range figures {
		fmt.Fprintf(b, "%s.\n\n![%s](%s/%s.png)\n\n", Escape(strings.TrimSuffix(f.Title, ".")), Escape(f.Desc), pictures, f.Name)
	}
}

func numbers(b *strings.Builder, in report.Input) {
	if len(in.Results.Facings) == 0 {
		return
	}
	name, unitName, toUnit := in.Grip()
	if unitName != "" {
		name += " [" + unitName + "]"
	}
	b.WriteString("## The numbers\n\n")
	fmt.Fprintf(b, "| facing | slipped | held | void | %s | times %s |\n|---|--:|--:|--:|--:|--:|\n", Escape(name), Escape(report.Brief(in.Results.Control, 60)))
	rows := in.CardRows()
	for i, f := range in.Results.Facings {
		ratio := report.Dash
		for _, x := range in.Results.AgainstControl {
			if x.Facing == f.Facing {
				ratio = report.Write(analysis.Estimate{Estimate: x.Ratio, Lower: x.Lower, Upper: x.Upper}, report.Same).String()
			}
		}
		if ratio == report.Dash {
			ratio = strings.TrimSuffix(rows[i].Holds, " ×")
		}
		fmt.Fprintf(b, "| %s | %d | %d | %d | %s | %s |\n", Escape(report.Brief(f.Facing, 120)), f.Slipped, f.Held, f.Void, report.Write(f.Grip, toUnit), ratio)
	}
	fmt.Fprintf(b, "\nIn brackets: the range that holds %s.\n\n", report.Odds(in.Results.Confidence))
}

func limits(b *strings.Builder, in report.Input) {
	if grave, _ := in.Warnings(); len(grave) > 0 {
		b.WriteString("## What to keep in mind\n\n")
		for _, w := range grave {
			fmt.Fprintf(b, "- %s\n", Escape(w.Text))
		}
		b.WriteByte('\n')
	}
	b.WriteString("## Before you try this\n\n")
	for _, c := range trial.Cautions {
		fmt.Fprintf(b, "- %s\n", Escape(c))
	}
	if in.Command != "" {
		fmt.Fprintf(b, "\nMade from the raw data by %s.\n", code(in.Again("post")))
	}
}

// special are the letters that Markdown or the HTML in it take for markup.
const special = "\\`*_{}[]<>#+!|&~"

// Escape makes text safe within a line of Markdown.
func Escape(text string) string {
	var b strings.Builder
	for _, r := range report.Plain(text) {
		if strings.ContainsRune(special, r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}

// code sets text in a span of code, whatever backticks it holds.
func code(text string) string {
	fence := "`"
	for strings.Contains(text, fence) {
		fence += "`"
	}
	if fence == "`" {
		return fence + text + fence
	}
	return fence + " " + text + " " + fence
}
