package table

import (
	"encoding/xml"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// sheet is where in a workbook the reading is; it words what is wrong there.
type sheet struct {
	book *book
	name string
	row  int
	head *head
}

// problem names the cell where the column is one of the sheet's.
func (s *sheet) problem(column, format string, args ...any) Problem {
	p := Problem{File: s.book.name, Sheet: s.name, Line: s.row, Column: column, What: fmt.Sprintf(format, args...)}
	if i := s.head.find(column); i >= 0 && column != "" {
		p.Cell = columnLetters(i) + strconv.Itoa(s.row)
	}
	return p
}

func (s *sheet) at() int { return s.row }

// columnLetters names the column at a place: 0 is A, 26 is AA.
func columnLetters(place int) string {
	text := ""
	for n := place + 1; n > 0; n = (n - 1) / 26 {
		text = string(rune('A'+(n-1)%26)) + text
	}
	return text
}

// maxColumn is how many columns a sheet has at most.
const maxColumn = 16384

// placeOf reads a cell's name, such as "AB12"; ok is false for any other text.
func placeOf(name string) (column, row int, ok bool) {
	i := 0
	for ; i < len(name) && name[i] >= 'A' && name[i] <= 'Z' && column <= maxColumn; i++ {
		column = column*26 + int(name[i]-'A') + 1
	}
	row, err := strconv.Atoi(name[i:])
	return column - 1, row, i > 0 && column <= maxColumn && err == nil && row > 0
}

// sheetCell is one cell as text. Fault is what keeps it from being read.
type sheetCell struct{ text, fault string }

// rows calls each with the cells of every row that holds any, in the order of
// the sheet, and the number of the row.
func (b *book) rows(s bookSheet, each func(row int, cells []sheetCell) error) error {
	row, kept := 0, 0
	return b.elements(s.part, func(d *xml.Decoder, e xml.StartElement) (bool, error) {
		if e.Name.Local != "row" {
			return false, nil
		}
		next := row + 1
		if n, err := strconv.Atoi(attr(e, "r")); err == nil {
			next = n
		}
		if next <= row {
			return true, fmt.Errorf("row %d stands after row %d", next, row)
		}
		row = next
		cells, err := b.cells(d, row)
		if err != nil {
			return true, err
		}
		for _, c := range cells {
			kept += len(c.text)
		}
		if kept > maxText {
			return true, bookError{fmt.Errorf("%s: sheet %q: more than %d MiB of text up to row %d; save the sheet as CSV", b.name, s.name, maxText>>20, row)}
		}
		return true, each(row, cells)
	})
}

// cells reads the cells of a row, up to its end.
func (b *book) cells(d *xml.Decoder, row int) ([]sheetCell, error) {
	var cells []sheetCell
	for {
		token, err := d.Token()
		if err != nil {
			return nil, err
		}
		switch e := token.(type) {
		case xml.EndElement:
			return cells, nil
		case xml.StartElement:
			if e.Name.Local != "c" {
				if err := skip(d); err != nil {
					return nil, err
				}
				continue
			}
			place := len(cells)
			if name := attr(e, "r"); name != "" {
				column, r, ok := placeOf(name)
				if !ok || r != row || column < place {
					return nil, fmt.Errorf("a cell called %q in row %d, after %d cells", name, row, place)
				}
				place = column
			}
			if place >= maxColumn {
				return nil, fmt.Errorf("more than %d cells in row %d", maxColumn, row)
			}
			c, err := b.cell(d, attr(e, "t"), attr(e, "s"))
			if err != nil {
				return nil, err
			}
			for len(cells) < place {
				cells = append(cells, sheetCell{})
			}
			cells = append(cells, c)
		}
	}
}

// skip reads to the end of an element.
func skip(d *xml.Decoder) error {
	_, err := richText(d)
	return err
}

// cell reads one cell of the given type and style, up to its end.
func (b *book) cell(d *xml.Decoder, kind, style string) (sheetCell, error) {
	value, inline, formula, has := "", "", false, false
	for {
		token, err := d.Token()
		if err != nil {
			return sheetCell{}, err
		}
		switch e := token.(type) {
		case xml.EndElement:
			return b.meaning(kind, style, value, inline, formula && !has)
		case xml.StartElement:
			switch e.Name.Local {
			case "v":
				has = true
				value, err = plainText(d)
			case "is":
				inline, err = richText(d)
			default:
				formula = formula || e.Name.Local == "f"
				err = skip(d)
			}
			if err != nil {
				return sheetCell{}, err
			}
		}
	}
}

// plainText reads the characters up to the end of an element.
func plainText(d *xml.Decoder) (string, error) {
	var text strings.Builder
	for {
		token, err := d.Token()
		if err != nil {
			return "", err
		}
		switch e := token.(type) {
		case xml.CharData:
			text.Write(e)
		case xml.StartElement:
			return "", fmt.Errorf("an element %q in the value of a cell", e.Name.Local)
		case xml.EndElement:
			return text.String(), nil
		}
	}
}

// meaning turns what is stored of a cell into the text that a CSV would have.
func (b *book) meaning(kind, style, value, inline string, uncalculated bool) (sheetCell, error) {
	if uncalculated {
		return sheetCell{fault: "a formula without its value; open the workbook in a spreadsheet, save it, and try again"}, nil
	}
	switch kind {
	case "s":
		i, err := strconv.Atoi(strings.TrimSpace(value))
		if err != nil || i < 0 || i >= len(b.texts) {
			return sheetCell{}, fmt.Errorf("a cell points to text %q, and there are %d", value, len(b.texts))
		}
		return sheetCell{text: strings.TrimSpace(b.texts[i])}, nil
	case "inlineStr":
		return sheetCell{text: strings.TrimSpace(inline)}, nil
	case "str", "d":
		return sheetCell{text: strings.TrimSpace(unescape(value))}, nil
	case "b":
		return sheetCell{text: map[string]string{"0": "FALSE", "1": "TRUE"}[value]}, nil
	case "e":
		return sheetCell{text: value, fault: "the cell holds the error " + value}, nil
	case "", "n":
		return b.number(style, strings.TrimSpace(value))
	}
	return sheetCell{}, fmt.Errorf("a cell of the unknown type %q", kind)
}

// number writes the shortest decimal that is the stored number, for
// spreadsheets store 0.1 as 0.10000000000000001; a date as such.
func (b *book) number(style, value string) (sheetCell, error) {
	if value == "" {
		return sheetCell{}, nil
	}
	v, err := strconv.ParseFloat(value, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return sheetCell{}, fmt.Errorf("a cell holds %q as its number", value)
	}
	if b.styles.isDate(style) {
		return sheetCell{text: b.date(v)}, nil
	}
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e21) {
		return sheetCell{text: strconv.FormatFloat(v, 'g', -1, 64)}, nil
	}
	return sheetCell{text: strconv.FormatFloat(v, 'f', -1, 64)}, nil
}

// date writes a day number as a date, with the time where it has one. Day 60 of
// the calendar from 1900 is a 29 February that never was.
func (b *book) date(day float64) string {
	start := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	if b.y1904 {
		start = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	const lastDay = 2958466 // the end of the year 9999
	if day < 0 || day >= lastDay || !b.y1904 && day < 61 {
		return strconv.FormatFloat(day, 'f', -1, 64)
	}
	whole, part := math.Modf(day)
	t := start.AddDate(0, 0, int(whole)).Add(time.Duration(math.Round(part*86400)) * time.Second)
	if part == 0 {
		return t.Format(time.DateOnly)
	}
	return t.Format("2006-01-02 15:04:05")
}

// unescape turns _x000D_ and its like into the character they stand for, which
// XML itself cannot hold (ECMA-376, part 1, 22.9.2.19).
func unescape(text string) string {
	const mark = len("_x000D_")
	var b strings.Builder
	for {
		i := strings.Index(text, "_x")
		if i < 0 {
			break
		}
		b.WriteString(text[:i])
		text = text[i:]
		n, err := uint64(0), error(nil)
		if len(text) < mark || text[mark-1] != '_' {
			err = errors.New("no escape")
		} else {
			n, err = strconv.ParseUint(text[2:mark-1], 16, 32)
		}
		if err != nil {
			b.WriteString(text[:2])
			text = text[2:]
			continue
		}
		b.WriteRune(rune(n))
		text = text[mark:]
	}
	b.WriteString(text)
	return b.String()
}

// styles tells which cell styles show a number as a date.
type styles struct {
	date []bool // by style
}

func (s styles) isDate(style string) bool {
	i, err := strconv.Atoi(style)
	return err == nil && i >= 0 && i < len(s.date) && s.date[i]
}

// readStyles reads the number formats of the cell styles.
func (b *book) readStyles() error {
	custom := map[string]bool{}
	inCells := false
	return b.elements("xl/styles.xml", func(_ *xml.Decoder, e xml.StartElement) (bool, error) {
		switch e.Name.Local {
		case "numFmt":
			custom[attr(e, "numFmtId")] = dateCode(attr(e, "formatCode"))
		case "cellXfs":
			inCells = true
		case "cellStyles", "dxfs":
			inCells = false
		case "xf":
			if inCells {
				id := attr(e, "numFmtId")
				n, err := strconv.Atoi(id)
				// The formats that every workbook has (ECMA-376, part 1, 18.8.30).
				b.styles.date = append(b.styles.date, custom[id] || err == nil && (n >= 14 && n <= 17 || n == 22))
			}
		}
		return false, nil
	})
}

// dateCode tells whether a number format shows a day: it has a letter y or d
// outside quotes and brackets.
func dateCode(code string) bool {
	quoted, bracket, escaped := false, false, false
	for _, r := range code {
		switch {
		case escaped:
			escaped = false
		case r == '\\':
			escaped = true
		case r == '"':
			quoted = !quoted
		case r == '[':
			bracket = true
		case r == ']':
			bracket = false
		case !quoted && !bracket && strings.ContainsRune("yYdD", r):
			return true
		}
	}
	return false
}
