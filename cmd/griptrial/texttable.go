package main

import (
	"slices"
	"strings"
)

// textTable is a table for people: columns with heads, rows of texts. It fits
// any width: where the columns have no room side by side, heads and the texts
// that may break are folded; then the table is parted into several below each
// other, each with the first column; and where no two columns have room each
// row becomes a list.
type textTable struct {
	columns []textColumn
	rows    [][]string
}

// textColumn is one column.
type textColumn struct {
	head   string
	right  bool // numbers end in one line
	breaks bool // may be folded, down to leastFold letters or leastName
	stays  bool // is there even when nothing stands in it
}

const (
	columnGap = 2
	leastFold = 12
	leastName = 20 // of the first column, which tells the rows apart
	mostFold  = 48 // a column that breaks is never wider
	mostWord  = 24 // longer words may be broken
)

// add appends a row; missing texts at its end are empty.
func (t *textTable) add(texts ...string) {
	row := make([]string, len(t.columns))
	for i, text := range texts {
		row[i] = strings.Join(strings.Fields(harmless(text)), " ")
	}
	t.rows = append(t.rows, row)
}

// text lays the table out, indented by some blanks. A table without rows is
// empty, and columns without a text in any row are left out.
func (t textTable) text(l look, indent int) string {
	if len(t.rows) == 0 {
		return ""
	}
	var b strings.Builder
	rest := t.filled()
	for {
		panel, after := rest.split(l.width, indent)
		if len(panel.columns) == 1 && len(rest.columns) > 1 {
			rest.list(&b, l, indent)
			return b.String()
		}
		panel.panel(&b, l, indent)
		if len(after.columns) == 0 {
			return b.String()
		}
		b.WriteString("\n")
		rest = after
	}
}

// split parts a table in one that fits and the rest; both have the first
// column. The first has that column alone where not even two fit.
func (t textTable) split(width, indent int) (fits, rest textTable) {
	n := len(t.columns)
	for ; n > 1; n-- {
		if _, ok := t.part(1, n).fit(width - indent); ok || width == 0 {
			break
		}
	}
	if n == len(t.columns) {
		return t, textTable{}
	}
	return t.part(1, n), t.part(n, len(t.columns))
}

// part is the table of the first column and those from..to.
func (t textTable) part(from, to int) textTable {
	out := textTable{columns: append(slices.Clone(t.columns[:1]), t.columns[from:to]...)}
	for _, row := range t.rows {
		out.rows = append(out.rows, append(slices.Clone(row[:1]), row[from:to]...))
	}
	return out
}

// panel writes the table with its columns side by side.
func (t textTable) panel(b *strings.Builder, l look, indent int) {
	most := 0
	if l.width > 0 {
		most = max(1, l.width-indent)
	}
	widths, _ := t.fit(most)
	heads := make([]string, len(t.columns))
	for i, c := range t.columns {
		heads[i] = c.head
	}
	if strings.Join(heads, "") != "" {
		t.line(b, heads, widths, indent, l.bold)
	}
	for _, row := range t.rows {
		t.line(b, row, widths, indent, func(s string) string { return s })
	}
}

// filled is the table without the columns in which nothing stands.
func (t textTable) filled() textTable {
	out := textTable{rows: make([][]string, len(t.rows))}
	for i, c := range t.columns {
		if !c.stays && !slices.ContainsFunc(t.rows, func(row []string) bool { return row[i] != "" }) {
			continue
		}
		out.columns = append(out.columns, c)
		for r, row := range t.rows {
			out.rows[r] = append(out.rows[r], row[i])
		}
	}
	return out
}

// fit finds the widths of the columns within so many letters; 0 sets no limit.
// First heads are folded, then what may break. ok is false where it cannot be.
func (t textTable) fit(most int) (widths []int, ok bool) {
	body, heads, words := make([]int, len(t.columns)), make([]int, len(t.columns)), make([]int, len(t.columns))
	for i, c := range t.columns {
		for _, row := range t.rows {
			body[i] = max(body[i], letters(row[i]))
			for _, word := range strings.Fields(row[i]) {
				words[i] = max(words[i], min(letters(word), mostWord))
			}
		}
		if c.breaks {
			body[i] = min(body[i], mostFold)
		}
		for _, word := range strings.Fields(c.head) {
			heads[i] = max(heads[i], letters(word))
		}
		widths = append(widths, max(body[i], letters(c.head)))
	}
	total := func() int {
		n := columnGap * (len(widths) - 1)
		for _, w := range widths {
			n += w
		}
		return n
	}
	if most == 0 {
		return widths, true
	}
	shrink := func(least func(i int) int) {
		for total() > most {
			// The column with most to give gives one letter.
			best, gain := -1, 0
			for i, w := range widths {
				if g := w - least(i); g > gain {
					best, gain = i, g
				}
			}
			if best < 0 {
				return
			}
			widths[best]--
		}
	}
	shrink(func(i int) int { return max(body[i], heads[i]) })
	shrink(func(i int) int {
		if !t.columns[i].breaks {
			return widths[i]
		}
		least := leastFold
		if i == 0 {
			least = leastName
		}
		return min(body[i], max(least, heads[i], words[i]))
	})
	return widths, total() <= most
}

// line writes a row, folded where it must be; dress makes heads stand out.
func (t textTable) line(b *strings.Builder, texts []string, widths []int, indent int, dress func(string) string) {
	cells, deep := make([][]string, len(texts)), 1
	for i, text := range texts {
		cells[i] = fold(text, widths[i])
		deep = max(deep, len(cells[i]))
	}
	for at := range deep {
		var line strings.Builder
		for i, c := range t.columns {
			text := ""
			if at < len(cells[i]) {
				text = cells[i][at]
			}
			blanks := strings.Repeat(" ", max(0, widths[i]-letters(text)))
			if i > 0 {
				line.WriteString(strings.Repeat(" ", columnGap))
			}
			if c.right {
				line.WriteString(blanks + text)
			} else {
				line.WriteString(text + blanks)
			}
		}
		b.WriteString(strings.TrimRight(strings.Repeat(" ", indent)+dress(strings.TrimRight(line.String(), " ")), " ") + "\n")
	}
}

// list writes every row as a list of its columns under its first text.
func (t textTable) list(b *strings.Builder, l look, indent int) {
	blanks := strings.Repeat(" ", indent)
	for _, row := range t.rows {
		for _, line := range fold(row[0], max(l.width-indent, 1)) {
			b.WriteString(strings.TrimRight(blanks+l.bold(line), " ") + "\n")
		}
		for i, text := range row[1:] {
			if text == "" {
				continue
			}
			if head := t.columns[i+1].head; head != "" {
				text = head + ": " + text
			}
			b.WriteString(l.wrap(blanks+"  ", text))
		}
	}
}
