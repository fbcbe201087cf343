package table

import (
	"errors"
	"io"
	"strings"

	"griptrial/analysis/unit"
)

// readBook reads the sheet of readings of a workbook.
func (p *readingsParser) readBook(name string, r io.Reader) error {
	b, err := openBook(name, r)
	if err != nil {
		return fatal{err}
	}
	which, err := b.sheetOfReadings()
	if err != nil {
		return fatal{err}
	}
	at := &sheet{book: b, name: which.name, row: 1, head: &p.h}
	p.at = at
	planned := false
	err = b.rows(which, func(row int, cells []sheetCell) error {
		at.row = row
		cells = trimCells(cells)
		switch {
		case len(cells) == 0:
		case !planned && strings.HasPrefix(cells[0].text, "#"):
			p.h.meta = append(p.h.meta, parseMeta([]byte(cells[0].text)))
		case !planned:
			planned = true
			if !p.sheetHead(cells) {
				return errNoPlan
			}
		default:
			p.sheetRow(cells)
		}
		return nil
	})
	switch {
	case errors.Is(err, errNoPlan):
		return nil
	case err != nil:
		return fatal{err}
	case !planned:
		p.ps.add(at.problem("header", "the sheet is empty; its first row names the columns, such as facing, force [N], outcome"))
	}
	p.end()
	return nil
}

// errNoPlan ends the reading of a sheet whose header is at fault, which is
// reported.
var errNoPlan = bookError{errors.New("no plan")}

// trimCells takes off empty cells at the end.
func trimCells(cells []sheetCell) []sheetCell {
	n := len(cells)
	for n > 0 && cells[n-1] == (sheetCell{}) {
		n--
	}
	return cells[:n]
}

// sheetHead reads the row that names the columns; false where they do not make
// readings.
func (p *readingsParser) sheetHead(cells []sheetCell) bool {
	for _, c := range cells {
		name, u := unit.SplitHeader(c.text)
		p.h.columns = append(p.h.columns, Column{name, u})
	}
	p.h.checkDuplicates(p.at, &p.ps)
	p.f.Meta, p.f.Columns = p.h.meta, p.h.columns
	return p.makePlan()
}

// sheetRow reads one pull.
func (p *readingsParser) sheetRow(cells []sheetCell) {
	if n := len(p.h.columns); len(cells) > n {
		p.ps.add(p.at.problem("row", "something stands in cell %s%d, under no heading", columnLetters(len(cells)-1), p.at.at()))
		return
	}
	p.fields = p.fields[:0]
	faulty := false
	for i := range p.h.columns {
		text := ""
		if i < len(cells) {
			text = cells[i].text
			if fault := cells[i].fault; fault != "" && p.reads(i) {
				p.report(i, fault)
				faulty = true
			}
		}
		p.fields = append(p.fields, []byte(text))
	}
	if !faulty && !blankRow(p.fields) {
		p.row()
	}
}

// reads reports whether the column at a place means something to the reader.
func (p *readingsParser) reads(column int) bool {
	for _, c := range []int{p.facing, p.outcome, p.block, p.sample, p.level, p.study, p.note, p.pull, p.order, p.clampings,
		p.force, p.clamp, p.division, p.weight, p.low, p.high} {
		if c == column {
			return true
		}
	}
	return false
}
