package document

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"

	"griptrial/report"
	"griptrial/report/figure"
)

var (
	//go:embed document.html
	source string
	//go:embed document.css
	look string

	page = template.Must(template.New("document").Funcs(template.FuncMap{
		"svg":   inline,
		"class": cellClass,
		"last":  func(i int, cells []string) bool { return i == len(cells)-1 },
		"col":   func(columns []column, i int) column { return columns[i] },
	}).Parse(source))
)

// WriteHTML writes the same document as one self-contained HTML page.
func WriteHTML(w io.Writer, in report.Input) error {
	d := build(in, figure.Narrow)
	n := 0
	name(d.Parts, &n)
	var buf bytes.Buffer
	err := page.Execute(&buf, struct {
		document
		Style template.CSS
	}{d, template.CSS(look)})
	if err != nil {
		return fmt.Errorf("make the document: %w", err)
	}
	if _, err := w.Write(buf.Bytes()); err != nil {
		return fmt.Errorf("write the document: %w", err)
	}
	return nil
}

// name numbers the tables in their order, so that a screen reader tells them
// apart.
func name(parts []part, n *int) {
	for i := range parts {
		if parts[i].Kind == table {
			*n++
			parts[i].ID = fmt.Sprintf("Table %d", *n)
		}
		name(parts[i].Parts, n)
	}
}

// inline gives a figure as trusted markup: figure escapes every name itself.
func inline(f figure.Figure) (template.HTML, error) {
	var buf bytes.Buffer
	if err := f.Inline(&buf); err != nil {
		return "", err
	}
	return template.HTML(buf.String()), nil
}

func cellClass(c column) string {
	switch {
	case c.Name == "clause":
		return "key"
	case c.Number:
		return "n"
	case c.Mono:
		return "mono"
	case c.Typed && c.Share >= 3:
		return "name" // of a facing: it keeps room to be read
	}
	return ""
}
