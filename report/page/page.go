package page

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"

	"griptrial/analysis/trial"
	"griptrial/report"
	"griptrial/report/figure"
)

var (
	//go:embed page.html
	source string
	//go:embed page.css
	style string

	tmpl = template.Must(template.New("page").Parse(source))
)

// view is what the template shows: every number is written already.
type view struct {
	Style                         template.CSS
	Title, Question, Date, Remark string
	Ended, Confidence, Command    string
	Card                          report.Card
	Rows                          []cardRow
	Cautions                      []string
	Figures, Checks               []picture
	Claims                        []claimRow
	Warnings, Unchecked           []report.Remark
	GripName                      string
	HasTotal                      bool
	Bounds                        []string
	Facings                       []facingRow
	Pairs                         []pairRow
	Window                        *report.WindowText
	TracesTitle                   string
	Traces                        []template.HTML
	PullHeads                     []head
	Pulls                         []pullRow
	Setup                         []fact
	Methods                       []string
	Files                         []report.RawFile
}

type picture struct {
	Title string
	SVG   template.HTML
}

type cardRow struct {
	report.CardRow
	Mark template.HTML
}

// Write writes the page.
func Write(w io.Writer, in report.Input) error {
	v := front(in)
	if err := v.draw(in); err != nil {
		return err
	}
	v.tables(in)
	return v.write(w, "page")
}

// WriteCard writes the shop card alone, to hang at the vise.
func WriteCard(w io.Writer, in report.Input) error {
	v := front(in)
	return v.write(w, "alone")
}

// front fills what page and card have in common.
func front(in report.Input) view {
	v := view{
		Style:      template.CSS(style),
		Title:      report.Brief(in.Title(), 200),
		Question:   plain(in.Study.Question),
		Date:       in.Date(),
		Remark:     plain(in.Remark),
		Ended:      in.Ended(),
		Confidence: report.Given(in.Results.Confidence * 100),
		Command:    plain(in.Again("page")),
		Card:       in.Card(),
		Cautions:   trial.Cautions,
		Methods:    in.Methods(),
		Files:      in.Files,
	}
	v.Card.Facing = brief(v.Card.Facing)
	if w, ok := in.Window(); ok {
		v.Window = &w
	}
	for _, r := range v.Card.Rows {
		v.Rows = append(v.Rows, cardRow{r, mark(r.Index)})
	}
	return v
}

func (v view) write(w io.Writer, name string) error {
	var buf bytes.Buffer
	if err := tmpl.ExecuteTemplate(&buf, name, v); err != nil {
		return fmt.Errorf("make the page: %w", err)
	}
	if _, err := w.Write(buf.Bytes()); err != nil {
		return fmt.Errorf("write the page: %w", err)
	}
	return nil
}

// draw makes the figures and the small pictures of the traces.
func (v *view) draw(in report.Input) error {
	var err error
	if v.Figures, err = pictures(figure.Answers(in, figure.Narrow)); err != nil {
		return err
	}
	if v.Checks, err = pictures(figure.Checks(in, figure.Narrow)); err != nil {
		return err
	}
	if f, ok := figure.Traces(in, figure.Narrow); ok {
		v.TracesTitle = f.Title
	}
	for _, tr := range in.Traces {
		svg, err := inline(figure.Trace(in, tr))
		if err != nil {
			return err
		}
		v.Traces = append(v.Traces, svg)
	}
	return nil
}

// pictures gives figures as trusted markup.
func pictures(figures []figure.Figure) ([]picture, error) {
	var out []picture
	for _, f := range figures {
		svg, err := inline(f)
		if err != nil {
			return nil, err
		}
		out = append(out, picture{f.Title, svg})
	}
	return out, nil
}

// inline gives a figure as trusted markup: figure escapes every name itself.
func inline(f figure.Figure) (template.HTML, error) {
	var buf bytes.Buffer
	if err := f.Inline(&buf); err != nil {
		return "", err
	}
	return template.HTML(buf.String()), nil
}

// mark is the small marker of a facing, as the figures draw it.
func mark(index int) template.HTML {
	return template.HTML(figure.Marker(index))
}

// plain takes out what does not belong in a line of text; "" stays empty.
func plain(text string) string {
	if text == "" {
		return ""
	}
	return report.Plain(text)
}

// brief shortens a name that would fill a screen; "" stays empty.
func brief(name string) string {
	if name == "" {
		return ""
	}
	return report.Brief(name, 120)
}
