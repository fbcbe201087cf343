// Package workbook writes tables as a workbook for spreadsheets (.xlsx).
//
// Numbers are cells of numbers and texts are cells of text, formatted as text,
// so that a facing called "=1+1" stays a name when somebody edits its cell. The
// same tables give the same bytes: the date inside comes from the study.
package workbook

import (
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"griptrial/report/datapackage"
)

// Book is a workbook: one sheet a table, the first one in front.
type Book struct {
	Title  string
	Made   time.Time // zero: not recorded
	Sheets []datapackage.Table
}

// Write writes the workbook. Text that a cell cannot hold is an error: nothing
// is cut.
func Write(w io.Writer, b Book) (err error) {
	f := excelize.NewFile()
	defer func() { err = errors.Join(err, f.Close()) }()
	styles, err := newStyles(f)
	if err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	for i, t := range b.Sheets {
		if i == 0 {
			err = f.SetSheetName(f.GetSheetName(0), t.Name)
		} else {
			_, err = f.NewSheet(t.Name)
		}
		if err == nil {
			err = styles.write(f, t)
		}
		if err != nil {
			return fmt.Errorf("workbook: sheet %q: %w", t.Name, err)
		}
	}
	when := time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC) // the zero date of a zip file
	if !b.Made.IsZero() {
		when = b.Made.UTC()
	}
	stamp := when.Format(time.RFC3339)
	err = f.SetDocProps(&excelize.DocProperties{Title: fit(b.Title), Creator: "griptrial", Created: stamp, Modified: stamp})
	if err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	if err := f.Write(w); err != nil {
		return fmt.Errorf("write the workbook: %w", err)
	}
	return nil
}

// styles are the looks of cells.
type styles struct{ head, text int }

func newStyles(f *excelize.File) (s styles, err error) {
	const asText = 49 // the built-in format "@"
	if s.head, err = f.NewStyle(&excelize.Style{
		NumFmt: asText, Font: &excelize.Font{Bold: true}, Alignment: &excelize.Alignment{Vertical: "top", WrapText: true},
		Border: []excelize.Border{{Type: "bottom", Color: "000000", Style: 1}},
	}); err != nil {
		return s, err
	}
	s.text, err = f.NewStyle(&excelize.Style{NumFmt: asText})
	return s, err
}

// write fills one sheet: a row of heads that stays in sight, then the rows. The
// library's writer of long sheets is not for us: it rounds numbers to 15 digits
// and puts the sheets into the file in an order of chance.
func (s styles) write(f *excelize.File, t datapackage.Table) error {
	if len(t.Rows) >= excelize.TotalRows {
		return fmt.Errorf("%d rows, and a sheet has room for %d", len(t.Rows), excelize.TotalRows-1)
	}
	for i, column := range t.Fields {
		letters, err := excelize.ColumnNumberToName(i + 1)
		if err != nil {
			return err
		}
		err = f.SetColWidth(t.Name, letters, letters, width(t, i))
		if err == nil {
			err = f.SetCellStr(t.Name, letters+"1", column.Name)
		}
		if err == nil {
			err = f.SetCellStyle(t.Name, letters+"1", letters+"1", s.head)
		}
		for r, row := range t.Rows {
			if err == nil && row[i] != "" {
				err = s.cell(f, t.Name, letters+strconv.Itoa(r+2), column, row[i])
			}
		}
		if err != nil {
			return err
		}
	}
	last, err := excelize.CoordinatesToCellName(max(len(t.Fields), 1), len(t.Rows)+1)
	if err == nil {
		err = f.SetSheetDimension(t.Name, "A1:"+last)
	}
	if err != nil {
		return err
	}
	return f.SetPanes(t.Name, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"})
}

// cell writes a text by the type of its column.
func (s styles) cell(f *excelize.File, sheet, cell string, column datapackage.Field, text string) error {
	switch {
	case column.Number():
		if _, err := strconv.ParseFloat(text, 64); err != nil {
			return fmt.Errorf("cell %s (%s): %q is no number", cell, column.Name, text)
		}
		return f.SetCellDefault(sheet, cell, text) // the digits as they stand
	case column.Type == "boolean":
		return f.SetCellBool(sheet, cell, text == "true")
	}
	if n := len(utf16.Encode([]rune(text))); n > excelize.TotalCellChars {
		return fmt.Errorf("cell %s (%s): a text of %d letters, and a cell has room for %d; export as CSV", cell, column.Name, n, excelize.TotalCellChars)
	}
	return errors.Join(f.SetCellStr(sheet, cell, fit(text)), f.SetCellStyle(sheet, cell, cell, s.text))
}

// width is how wide a column is drawn, in letters.
func width(t datapackage.Table, column int) float64 {
	n := utf8.RuneCountInString(t.Fields[column].Name)
	for _, row := range t.Rows {
		n = max(n, utf8.RuneCountInString(row[column]))
	}
	if t.Fields[column].Number() {
		n = min(n, 14)
	}
	return float64(min(max(n, 6), 60) + 2)
}

// looksEscaped is a text that a spreadsheet would take for an escape.
var looksEscaped = regexp.MustCompile(`^_x[0-9A-Fa-f]{4}_`)

// fit escapes what XML cannot hold as _x001B_ and its like, and the first line
// of what only looks like such an escape, so that both come back as they were
// (ECMA-376, part 1, 22.9.2.19). The library leaves that to its users.
func fit(text string) string {
	var b strings.Builder
	for i, r := range text {
		switch {
		case r == '_' && looksEscaped.MatchString(text[i:]):
			b.WriteString("_x005F_")
		case r < ' ' && r != '\t' && r != '\n', r == 0xfffe, r == 0xffff:
			fmt.Fprintf(&b, "_x%04X_", r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
