package table

import (
	"bytes"
	"io"
	"strings"

	"griptrial/analysis/unit"
)

// head is what stands before the first row of data.
type head struct {
	meta    []Meta
	lines   []int // of the file, at which each of meta stands
	columns []Column
	sep     byte
	comma   bool // a decimal comma is allowed
}

// readHead reads comment lines and the header row. Problems in them are added
// to ps; an error ends the reading.
func readHead(s *source, example string, ps *Problems) (head, error) {
	var h head
	for {
		line, err := s.next()
		if s.line == 1 {
			if n := len(line); n >= 2 && (line[0] == 0xff && line[1] == 0xfe || line[0] == 0xfe && line[1] == 0xff) {
				return h, fatal{s.problem("row", "UTF-16 text; save the file as CSV in UTF-8")}
			}
			line = bytes.TrimPrefix(line, []byte("\ufeff"))
		}
		if err == io.EOF {
			if s.line == 0 {
				s.line = 1
			}
			what := "no header row; it names the columns, such as %s"
			if s.read == 0 {
				what = "the file is empty; its first row must name the columns, such as %s"
			}
			return h, fatal{s.problem("header", what, example)}
		}
		if err != nil {
			return h, err
		}
		line = bytes.TrimSpace(line)
		if len(line) == 0 {
			continue
		}
		if line[0] == '#' {
			h.meta = append(h.meta, parseMeta(line))
			h.lines = append(h.lines, s.line)
			continue
		}
		h.sep = separator(line)
		h.comma = h.sep != ','
		fields, fault := split(line, h.sep, nil)
		if fault != sound {
			return h, fatal{s.problem("header", "%s", fault)}
		}
		for _, f := range fields {
			name, u := unit.SplitHeader(string(f))
			h.columns = append(h.columns, Column{name, u})
		}
		h.checkDuplicates(s, ps)
		return h, nil
	}
}

func parseMeta(line []byte) Meta {
	text := strings.TrimSpace(strings.TrimLeft(string(line), "#"))
	key, value, found := strings.Cut(text, ":")
	if !found {
		return Meta{"", text}
	}
	return Meta{strings.TrimSpace(key), strings.TrimSpace(value)}
}

// separator picks the mark that parts the header into most fields.
func separator(header []byte) byte {
	best, most := byte(','), 0
	for _, sep := range []byte{',', ';', '\t'} {
		if fields, _ := split(header, sep, nil); len(fields) > most {
			best, most = sep, len(fields)
		}
	}
	return best
}

// checkDuplicates reports names that stand twice. Spelling in capitals does not
// make a name another one; columns without a name do not matter.
func (h *head) checkDuplicates(s place, ps *Problems) {
	for i, c := range h.columns {
		for _, before := range h.columns[:i] {
			if c.Name != "" && strings.EqualFold(before.Name, c.Name) {
				ps.add(s.problem(c.Name, "two columns have this name"))
				break
			}
		}
	}
}

// find returns the place of a column, or -1.
func (h *head) find(name string) int {
	for i, c := range h.columns {
		if strings.EqualFold(c.Name, name) {
			return i
		}
	}
	return -1
}

// quantity finds a column that has a unit of the given kind. Place is -1 where
// the column is absent or its unit is at fault, which is reported.
func (h *head) quantity(s place, name string, k unit.Kind, ps *Problems) (column int, q quantity) {
	column = h.find(name)
	if column < 0 {
		return -1, quantity{}
	}
	u, err := unit.Lookup(k, h.columns[column].Unit)
	if err != nil {
		ps.add(s.problem(name, "%v", err))
		return -1, quantity{}
	}
	return column, newQuantity(u)
}

// missing reports a required column that is not there, with what was found.
func (h *head) missing(s place, name, header string, ps *Problems) {
	if h.find(name) >= 0 {
		return
	}
	found := make([]string, len(h.columns))
	for i, c := range h.columns {
		found[i] = c.String()
	}
	list := strings.Join(found, ", ")
	const most = 300
	if len(list) > most {
		list = list[:most] + "..."
	}
	ps.add(s.problem(name, "column %q is missing; found: %q", header, list))
}
