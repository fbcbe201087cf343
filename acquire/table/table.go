// Package table reads and writes the CSV files of the program: traces (the
// record of one pull) and readings (one row a pull).
//
// A file is UTF-8 text: lines that start with '#' (those of the form
// "# key: value" are kept as Meta), then a row that names the columns with
// their units in brackets, then one row for each sample or pull. Fields are
// parted by commas, semicolons or tabs, whichever the header uses; in files
// with semicolons or tabs the decimal mark may be a comma. A byte order mark,
// CRLF line ends, quoted fields and a missing last newline are fine.
//
// Values come out in SI units. Nothing is guessed: a row that cannot be read
// as it stands is left out and reported as a Problem that names file, line and
// column. A reader goes on after a bad row, so that one look shows all of
// them; what was good is returned beside the error. Memory is bounded by the
// rows kept: no line is longer than 1 MiB.
package table

import "griptrial/analysis/unit"

// Meta is a comment line "# key: value" before the header; Key is "" where the
// line has no colon.
type Meta struct {
	Key, Value string
}

// Column is one column as its header names it.
type Column struct {
	Name string // without the unit, as spelled
	Unit string // what stands in brackets; "" where nothing does
}

// String writes the column as a header does.
func (c Column) String() string {
	if c.Unit == "" {
		return c.Name
	}
	return c.Name + " [" + c.Unit + "]"
}

// quantity is a unit with a shortcut for SI, where the value stands as it is.
type quantity struct {
	unit.Unit
	si bool
}

// newQuantity relies on unit.Names listing the SI unit of a kind first.
func newQuantity(u unit.Unit) quantity {
	return quantity{u, u.Name == unit.Names(u.Kind)[0]}
}

func (q quantity) toSI(v float64) float64 {
	if q.si {
		return v
	}
	return q.ToSI(v)
}

func (q quantity) fromSI(v float64) float64 {
	if q.si {
		return v
	}
	return q.FromSI(v)
}

// appendSI appends values in q, converted.
func (q quantity) appendSI(to, values []float64) []float64 {
	if q.si {
		return append(to, values...)
	}
	for _, v := range values {
		to = append(to, q.ToSI(v))
	}
	return to
}
