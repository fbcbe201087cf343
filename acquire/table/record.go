package table

import (
	"bytes"
	"io"
	"strconv"
)

// readRecord reads the fields of the next row into the room of fields. ok is
// false where there is none to use: at the end of the file, for a blank line,
// and for a row that has not as many fields as the header, which is reported.
// Check the end of the file before calling.
func readRecord(s *source, h *head, fields [][]byte, ps *Problems) (_ [][]byte, ok bool, err error) {
	line, err := s.next()
	if err == io.EOF {
		return fields, false, nil
	}
	if err != nil {
		return fields, false, err
	}
	fields, fault := split(line, h.sep, fields)
	for fault == unclosed && line != nil {
		if line, err = s.extend(); err != nil {
			return fields, false, err
		}
		if line != nil {
			fields, fault = split(line, h.sep, fields)
		}
	}
	if fault != sound {
		ps.add(s.problem("row", "%s", fault))
		return fields, false, nil
	}
	if blankRow(fields) {
		return fields, false, nil
	}
	if len(fields) != len(h.columns) {
		hint := ""
		if h.sep == ',' && len(fields) > len(h.columns) {
			hint = "; where a comma is the decimal mark, part the fields with semicolons, in the header too"
		}
		ps.add(s.problem("row", "%s where the header has %d%s", plural(len(fields), "field"), len(h.columns), hint))
		return fields, false, nil
	}
	return fields, true, nil
}

// blankRow reports whether nothing stands in a row, as in those that
// spreadsheets add at the end.
func blankRow(fields [][]byte) bool {
	for _, f := range fields {
		if len(f) > 0 {
			return false
		}
	}
	return true
}

// fault is what is wrong with the quotes of a record; "" where nothing is.
type fault string

const (
	sound    fault = ""
	unclosed fault = "a quoted field does not end"
	trailing fault = "text follows the closing quote of a field"
)

// split parts a record into fields without the blanks around them, using the
// room of fields. Quoted fields lose their quotes.
func split(record []byte, sep byte, fields [][]byte) ([][]byte, fault) {
	fields = fields[:0]
	for {
		start := skipBlanks(record, sep)
		if start < len(record) && record[start] == '"' {
			text, rest, ok := quoted(record[start+1:])
			if !ok {
				return fields, unclosed
			}
			fields = append(fields, text)
			rest = rest[skipBlanks(rest, sep):]
			if len(rest) == 0 {
				return fields, sound
			}
			if rest[0] != sep {
				return fields, trailing
			}
			record = rest[1:]
			continue
		}
		end := bytes.IndexByte(record, sep)
		if end < 0 {
			return append(fields, bytes.TrimSpace(record)), sound
		}
		fields = append(fields, bytes.TrimSpace(record[:end]))
		record = record[end+1:]
	}
}

func skipBlanks(b []byte, sep byte) int {
	i := 0
	for i < len(b) && (b[i] == ' ' || b[i] == '\t') && b[i] != sep {
		i++
	}
	return i
}

// quoted returns the text up to the closing quote and what follows it. Doubled
// quotes stand for one.
func quoted(b []byte) (text, rest []byte, ok bool) {
	end := bytes.IndexByte(b, '"')
	if end < 0 {
		return nil, nil, false
	}
	if end+1 == len(b) || b[end+1] != '"' {
		return b[:end], b[end+1:], true
	}
	for i := 0; i < len(b); i++ {
		if b[i] == '"' {
			if i+1 == len(b) || b[i+1] != '"' {
				return text, b[i+1:], true
			}
			i++
		}
		text = append(text, b[i])
	}
	return nil, nil, false
}

func plural(n int, word string) string {
	if n != 1 {
		word += "s"
	}
	return strconv.Itoa(n) + " " + word
}
