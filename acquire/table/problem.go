package table

import (
	"fmt"
	"strings"
)

// Problem is one thing that is wrong in a file.
type Problem struct {
	File   string
	Sheet  string // of a workbook; "": the file has none
	Cell   string // of the sheet, such as "C7"; "": the whole row
	Line   int    // in the file, from 1; in a workbook the row of the sheet
	Column string // name of the column; "header" or "row" where it is the whole line
	What   string
}

// Error writes the problem as FILE:LINE: column: what is wrong; of a workbook
// as FILE: sheet, cell (column): what is wrong.
func (p Problem) Error() string {
	switch {
	case p.Cell != "":
		return fmt.Sprintf("%s: sheet %q, cell %s (%s): %s", p.File, p.Sheet, p.Cell, p.Column, p.What)
	case p.Sheet != "":
		return fmt.Sprintf("%s: sheet %q, row %d: %s: %s", p.File, p.Sheet, p.Line, p.Column, p.What)
	}
	return fmt.Sprintf("%s:%d: %s: %s", p.File, p.Line, p.Column, p.What)
}

// place is where in a file the reading is.
type place interface {
	problem(column, format string, args ...any) Problem
	at() int // line of a text, row of a sheet
}

// maxProblems is how many problems are kept to be shown; all are counted.
const maxProblems = 1000

// Problems is everything wrong in one file, in the order of its lines.
type Problems struct {
	First []Problem // at most 1000
	Total int       // how many there are
}

// Error lists the problems, one a line.
func (p *Problems) Error() string {
	lines := make([]string, 0, len(p.First)+1)
	for _, one := range p.First {
		lines = append(lines, one.Error())
	}
	if more := p.Total - len(p.First); more > 0 {
		lines = append(lines, fmt.Sprintf("%s: and %d more of the kind", p.First[0].File, more))
	}
	return strings.Join(lines, "\n")
}

func (p *Problems) add(one Problem) {
	if p.Total++; len(p.First) < maxProblems {
		p.First = append(p.First, one)
	}
}

// err is nil where nothing is wrong.
func (p *Problems) err() error {
	if p.Total == 0 {
		return nil
	}
	return p
}
