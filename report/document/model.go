package document

import (
	"griptrial/report/figure"
)

// kind is what a part of the document is.
type kind string

const (
	heading kind = "heading"
	text    kind = "text"
	list    kind = "list"
	table   kind = "table"
	picture kind = "picture"
	small   kind = "small"   // many small pictures side by side
	command kind = "command" // a command line
	framed  kind = "framed"  // parts with a rule around them
)

// part is one part of the document, for every format alike.
type part struct {
	Kind  kind
	Level int    // of a heading: 0 is a section
	ID    string // of a heading; of a table its name, in HTML
	Text  string
	Style style

	Items    []item
	Columns  []column
	Rows     []row
	Pictures []figure.Figure
	Parts    []part
}

// style is how a text is set.
type style string

const (
	plain  style = ""
	strong style = "strong"
	quiet  style = "quiet"
	title  style = "title"  // the name of the study
	answer style = "answer" // the verdict
)

// item is one of a list.
type item struct {
	Head, Text, Code string
}

// column is one column of a table. Share is its part of the width.
type column struct {
	Name   string
	Share  float64
	Number bool // set flush right
	Mono   bool // a checksum
	Typed  bool // names and notes that somebody typed
}

// row is one row of a table.
type row struct {
	Cells   []string
	Struck  bool // superseded: struck through, but for the last cell
	Quiet   bool
	Missing bool // nobody gave it: to be seen
}

// document is what both formats write.
type document struct {
	Title   string
	Subject string
	Parts   []part
}

func (d *document) add(p ...part) { d.Parts = append(d.Parts, p...) }

func (d *document) heading(level int, id, words string) {
	d.add(part{Kind: heading, Level: level, ID: id, Text: words})
}

func (d *document) say(words ...string) {
	for _, w := range words {
		if w != "" {
			d.add(part{Kind: text, Text: w})
		}
	}
}

func (d *document) list(items []item) {
	if len(items) > 0 {
		d.add(part{Kind: list, Items: items})
	}
}

func (d *document) table(columns []column, rows []row) {
	if len(rows) > 0 {
		d.add(part{Kind: table, Columns: columns, Rows: rows})
	}
}

// pairs is a table of names and values.
func (d *document) pairs(first, second string, pairs [][2]string, missing string) {
	var rows []row
	for _, p := range pairs {
		rows = append(rows, row{Cells: p[:], Missing: p[1] == missing})
	}
	d.table([]column{{Name: first, Share: 1}, {Name: second, Share: 3.4, Typed: true}}, rows)
}

func (d *document) pictures(figures []figure.Figure) {
	for _, f := range figures {
		d.add(part{Kind: picture, Pictures: []figure.Figure{f}})
	}
}
