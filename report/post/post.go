// Package post writes an honest first draft of an article: Markdown with its
// pictures beside it, for a maker to edit. Question, rig, result, surprise,
// limits. Its numbers are those of the results.
package post

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/report"
	"griptrial/report/figure"
)

// Options steer Write. The zero value is recommended.
type Options struct {
	// Pictures is the folder of the figures as the post names it; each figure
	// stands there as NAME.png. "": figures.
	Pictures string
	// FrontMatter puts title, date and description on top as YAML, where a
	// program that makes a site looks for them, in place of the heading.
	FrontMatter bool
}

// Write writes the post.
func Write(w io.Writer, in report.Input, o Options) error {
	if o.Pictures == "" {
		o.Pictures = "figures"
	}
	var b strings.Builder
	title := report.Brief(in.Title(), 200)
	if o.FrontMatter {
		if err := frontMatter(&b, in, title); err != nil {
			return fmt.Errorf("make the front matter: %w", err)
		}
	} else {
		fmt.Fprintf(&b, "# %s\n\n", Escape(title))
	}
	if in.Remark != "" {
		fmt.Fprintf(&b, "*%s*\n\n", Escape(in.Remark))
	}
	question(&b, in)
	rig(&b, in)
	b.WriteString("## The result\n\n")
	for i, s := range in.Verdict().Lines() {
		if i == 0 {
			fmt.Fprintf(&b, "**%s**\n\n", Escape(s))
			continue
		}
		fmt.Fprintf(&b, "%s\n\n", Escape(s))
	}
	showed(&b, in, o.Pictures)
	numbers(&b, in)
	surprise(&b, in)
	limits(&b, in)
	made(&b, in, o)
	if _, err := io.WriteString(w, b.String()); err != nil {
		return fmt.Errorf("write the post: %w", err)
	}
	return nil
}

// frontMatter writes YAML between two lines of dashes. A text of JSON is one of
// YAML, whatever it holds.
func frontMatter(b *strings.Builder, in report.Input, title string) error {
	b.WriteString("---\n")
	for _, x := range []struct{ key, text string }{{"title", title}, {"description", in.Verdict().Lines()[0]}} {
		var text bytes.Buffer
		enc := json.NewEncoder(&text)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(x.text); err != nil {
			return err
		}
		fmt.Fprintf(b, "%s: %s", x.key, text.String()) // the encoder ends the line
	}
	if !in.Made.IsZero() {
		fmt.Fprintf(b, "date: %s\n", in.Made.Format(time.DateOnly))
	}
	b.WriteString("---\n\n")
	return nil
}

// question says what was asked, and what was to be shown.
func question(b *strings.Builder, in report.Input) {
	if in.Study.Question == "" && len(in.Results.Claims) == 0 {
		return
	}
	b.WriteString("## The question\n\n")
	if in.Study.Question != "" {
		fmt.Fprintf(b, "%s\n\n", Escape(report.Plain(in.Study.Question)))
	}
	for _, c := range in.Results.Claims {
		fmt.Fprintf(b, "Claimed beforehand: %s. %s.\n\n", Escape(c.Text), Escape(verdict(c)))
	}
}

// verdict words what became of a claim.
func verdict(c analysis.ClaimVerdict) string {
	return report.Sentence(strings.TrimSuffix(report.Plain(c.Verdict+": "+c.Reason), "."))
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
	b.WriteString("### The numbers\n\n")
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

// limits says how far all this reaches.
func limits(b *strings.Builder, in report.Input) {
	b.WriteString("## The limits\n\n")
	grave, _ := in.Warnings()
	for _, w := range grave {
		fmt.Fprintf(b, "- %s\n", Escape(w.Text))
	}
	for _, text := range in.Limits() {
		fmt.Fprintf(b, "- %s\n", Escape(text))
	}
	b.WriteString("\n## Before you try this\n\n")
	for _, c := range trial.Cautions {
		fmt.Fprintf(b, "- %s\n", Escape(c))
	}
}

// made tells the command that makes the post again.
func made(b *strings.Builder, in report.Input, o Options) {
	if in.Command == "" {
		return
	}
	command := in.Again("post")
	if o.FrontMatter {
		command += " --front-matter"
	}
	fmt.Fprintf(b, "\nMade from the raw data by %s.\n", code(command))
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
