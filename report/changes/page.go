package changes

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"

	"griptrial/analysis/trial"
	"griptrial/report"
	"griptrial/report/page"
)

//go:embed page.html
var source string

var tmpl = template.Must(template.New("changes").Parse(source))

// view is what the template shows.
type view struct {
	Style              template.CSS
	Title, Headline    string
	Confidence         string
	Tables             []Table
	Remarks, Cautions  []string
	Command            string
	OldTitle, NewTitle string
	Old, New           Summary
}

// Write writes the comparison as a page that needs no other file. command makes
// it again; "": not known.
func Write(w io.Writer, c Change, command string) error {
	v := view{
		Style: template.CSS(page.Style()), Headline: c.Headline(), Confidence: report.Given(100 * c.Confidence), Tables: c.Tables(),
		Remarks: c.Remarks, Cautions: trial.Cautions, Old: c.Old, New: c.New,
		Title: "What changed: " + report.Brief(c.Old.Name, 60) + " and " + report.Brief(c.New.Name, 60),
	}
	if command != "" {
		v.Command = report.Plain(command)
	}
	var buf bytes.Buffer
	if err := tmpl.Execute(&buf, v); err != nil {
		return fmt.Errorf("make the page of changes: %w", err)
	}
	if _, err := w.Write(buf.Bytes()); err != nil {
		return fmt.Errorf("write the page of changes: %w", err)
	}
	return nil
}
