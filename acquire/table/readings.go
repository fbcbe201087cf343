package table

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// ReadingsFile is a file of readings: one row a pull. Readings, Line and
// Fields have one entry for each good row.
type ReadingsFile struct {
	Readings []trial.Reading
	Line     []int      // where each row starts in the file
	Fields   [][]string // the texts of each row as typed, in the order of Columns
	Columns  []Column
	Meta     []Meta
	Force    unit.Unit // as the file writes forces
}

// Text returns what row i holds in a column, as typed; "" where there is no
// such column. Columns that the reader does not know are kept this way.
func (f ReadingsFile) Text(i int, column string) string {
	for c, have := range f.Columns {
		if strings.EqualFold(have.Name, column) {
			return f.Fields[i][c]
		}
	}
	return ""
}

// ReadReadings reads facing and force [unit], and where the file has them
// clamp [unit], outcome, division [unit], block, sample, order, clampings,
// note, pull, weight [unit], level, study, and the interval of a slip force
// found in a trace, low [unit] and high [unit]. Other columns are kept as text.
//
// Without an outcome column every pull slipped. A void pull needs no force; any
// other needs one above zero, or zero read to a division. An empty clamp,
// weight, division, order or clampings is not known. A weight, low or high
// without a unit is somebody else's column and only kept, and so is a pull that
// is no whole number.
//
// A workbook (.xlsx) does as well: its sheet "readings", or the only one, laid
// out like the CSV. The text of a cell is what a CSV would hold, a number the
// shortest decimal for it, a date as 2026-03-14.
//
// The error is a *Problems where rows or columns are at fault; the good rows
// are returned beside it. name stands for the file in messages.
func ReadReadings(name string, r io.Reader) (ReadingsFile, error) {
	s := newSource(name, r)
	defer s.release()
	p := readingsParser{at: s}
	err := s.fill()
	for err == nil && s.end < len(zipMagic) && !s.eof {
		err = s.fill()
	}
	switch start := string(s.buf[:min(s.end, len(zipMagic))]); {
	case err != nil:
	case start == zipMagic:
		err = p.readBook(name, io.MultiReader(bytes.NewReader(s.buf[:s.read]), r))
	case start == oldMagic:
		err = fatal{fmt.Errorf("%s: a workbook with a password, or of the old kind (.xls); save it as .xlsx without a password, or as CSV", name)}
	default:
		err = p.read(s)
	}
	var end fatal
	if errors.As(err, &end) {
		if one, ok := end.error.(Problem); ok {
			p.ps.add(one)
			return p.f, &p.ps
		}
		return p.f, end.error
	}
	return p.f, p.ps.err()
}

type readingsParser struct {
	at place
	f  ReadingsFile
	ps Problems
	h  head

	facing, outcome, block, sample, level, study, note int
	pull, order, clampings                             int
	force, clamp, division, weight, low, high          int
	forceQ, clampQ, divisionQ, weightQ, lowQ, highQ    quantity
	fields                                             [][]byte
	bad                                                bool // the row has a problem
	joined                                             []byte
	room                                               []string // for the fields of rows to come
}

func (p *readingsParser) read(s *source) error {
	h, err := readHead(s, "`facing,force [N],outcome`", &p.ps)
	if err != nil {
		return err
	}
	p.h, p.f.Meta, p.f.Columns = h, h.meta, h.columns
	if !p.makePlan() {
		return nil
	}
	n := min(s.rows(), 1<<18) // a guess, to spare growing
	p.f.Readings, p.f.Line, p.f.Fields = make([]trial.Reading, 0, n), make([]int, 0, n), make([][]string, 0, n)
	for {
		if region, err := s.whole(); err != nil {
			return err
		} else if len(region) == 0 {
			break
		}
		fields, ok, err := readRecord(s, &p.h, p.fields, &p.ps)
		if err != nil {
			return err
		}
		p.fields = fields
		if ok {
			p.row()
		}
	}
	p.end()
	return nil
}

// end reports a file without a row.
func (p *readingsParser) end() {
	if len(p.f.Readings) == 0 && p.ps.Total == 0 {
		p.ps.add(p.at.problem("header", "no rows of data after the header"))
	}
}

// makePlan finds the columns; false where they do not make readings.
func (p *readingsParser) makePlan() bool {
	h, s := &p.h, p.at
	for _, c := range []struct {
		place *int
		name  string
	}{
		{&p.facing, "facing"}, {&p.outcome, "outcome"}, {&p.block, "block"}, {&p.sample, "sample"},
		{&p.level, "level"}, {&p.study, "study"}, {&p.note, "note"},
		{&p.pull, "pull"}, {&p.order, "order"}, {&p.clampings, "clampings"},
	} {
		*c.place = h.find(c.name)
	}
	p.force, p.forceQ = h.quantity(s, "force", unit.Force, &p.ps)
	p.clamp, p.clampQ = h.quantity(s, "clamp", unit.Force, &p.ps)
	p.division, p.divisionQ = h.quantity(s, "division", unit.Force, &p.ps)
	p.low, p.lowQ = p.ours("low", unit.Force)
	p.high, p.highQ = p.ours("high", unit.Force)
	p.weight, p.weightQ = p.ours("weight", unit.Mass)
	h.missing(s, "facing", "facing", &p.ps)
	h.missing(s, "force", "force [N]", &p.ps)
	p.f.Force = p.forceQ.Unit
	return p.ps.Total == 0
}

// ours finds a column that is ours only if it names a unit.
func (p *readingsParser) ours(name string, k unit.Kind) (place int, q quantity) {
	if i := p.h.find(name); i < 0 || p.h.columns[i].Unit == "" {
		return -1, quantity{}
	}
	return p.h.quantity(p.at, name, k, &p.ps)
}

// row turns the fields into a reading, or reports all that is wrong with them.
func (p *readingsParser) row() {
	p.bad = false
	kept := p.keep()
	r := trial.Reading{
		Facing: text(kept, p.facing), Block: text(kept, p.block), Sample: text(kept, p.sample),
		Level: text(kept, p.level), Study: text(kept, p.study), Note: text(kept, p.note),
		Outcome:  p.readOutcome(),
		Division: p.value(p.division, p.divisionQ),
		Clamp:    p.value(p.clamp, p.clampQ),
		Weight:   p.value(p.weight, p.weightQ),
		Low:      p.value(p.low, p.lowQ),
		High:     p.value(p.high, p.highQ),
		Order:    p.count(p.order), Clampings: p.count(p.clampings),
	}
	if text := p.field(p.pull); len(text) > 0 {
		if n, err := wholeNumber(text, p.h.comma); err == nil && n > 0 {
			r.Pull = n
		}
	}
	if r.Facing == "" {
		p.report(p.facing, "empty; every pull names what faced the jaws")
	}
	if len(p.field(p.clamp)) > 0 && r.Clamp <= 0 {
		p.report(p.clamp, quote(p.field(p.clamp))+" is not above zero")
	}
	for _, c := range []struct {
		place int
		v     float64
	}{{p.division, r.Division}, {p.weight, r.Weight}} {
		if c.v < 0 {
			p.report(c.place, quote(p.field(c.place))+" is below zero")
		}
	}
	if r.Low > r.High {
		p.report(p.low, "above the upper end of the interval")
	}
	if text := p.field(p.force); r.Outcome != trial.Void || len(text) > 0 {
		r.Force = p.value(p.force, p.forceQ)
		switch {
		case len(text) == 0:
			p.report(p.force, "empty; a number is needed")
		case r.Outcome == trial.Void:
		case r.Force < 0, r.Force == 0 && (r.Outcome == trial.Held || r.Division == 0):
			p.report(p.force, quote(text)+" is not above zero")
		}
	}
	if !p.bad {
		p.f.Readings = append(p.f.Readings, r)
		p.f.Line = append(p.f.Line, p.at.at())
		p.f.Fields = append(p.f.Fields, kept)
	}
}

// keep copies the fields of the row: their bytes into one string, and that
// taken apart again into room for many rows, so that a row costs one allocation.
func (p *readingsParser) keep() []string {
	p.joined = p.joined[:0]
	for _, f := range p.fields {
		p.joined = append(p.joined, f...)
	}
	rest := string(p.joined)
	n := len(p.fields)
	if len(p.room) < n {
		p.room = make([]string, n*roomFor)
	}
	kept := p.room[:n:n]
	p.room = p.room[n:]
	for i, f := range p.fields {
		kept[i], rest = rest[:len(f)], rest[len(f):]
	}
	return kept
}

// roomFor is how many rows the fields are made room for at once.
const roomFor = 64

// field is the text of the row in a column; nil where there is no such column.
func (p *readingsParser) field(place int) []byte {
	if place < 0 {
		return nil
	}
	return p.fields[place]
}

// text is a kept field; "" where there is no such column.
func text(kept []string, place int) string {
	if place < 0 {
		return ""
	}
	return kept[place]
}

func (p *readingsParser) readOutcome() trial.Outcome {
	if p.outcome < 0 {
		return trial.Slipped
	}
	text := p.field(p.outcome)
	for _, o := range []trial.Outcome{trial.Slipped, trial.Held, trial.Void} {
		if string(text) == o.String() { // as nearly always
			return o
		}
	}
	o, ok := trial.ParseOutcome(strings.ToLower(string(text)))
	switch {
	case len(text) == 0:
		p.report(p.outcome, "empty; write slipped, held or void")
	case !ok:
		p.report(p.outcome, "unknown word "+quote(text)+"; write slipped, held or void")
	case o == trial.Unclear:
		p.report(p.outcome, "an unclear pull is not a reading; decide: slipped, held or void")
	}
	return o
}

// value reads a quantity; 0 where the field is empty, NaN where it is at fault.
func (p *readingsParser) value(place int, q quantity) float64 {
	text := p.field(place)
	if len(text) == 0 {
		return 0
	}
	v, err := parseNumber(text, p.h.comma)
	if err == nil && math.Abs(v) > maxNumber {
		err = errors.New(quote(text) + " is too large")
	}
	if err != nil {
		p.report(place, err.Error())
		return math.NaN()
	}
	return q.toSI(v)
}

// count reads a whole number that may be empty.
func (p *readingsParser) count(place int) trial.Count {
	text := p.field(place)
	if len(text) == 0 {
		return trial.Count{}
	}
	n, err := wholeNumber(text, p.h.comma)
	if err != nil {
		p.report(place, err.Error())
	}
	return trial.Count{N: n, Known: err == nil}
}

// wholeNumber reads a count; spreadsheets write 3 as 3.0 at times.
func wholeNumber(b []byte, comma bool) (int, error) {
	v, err := parseNumber(b, comma)
	switch {
	case err != nil:
		return 0, err
	case v != math.Trunc(v):
		return 0, errors.New(quote(b) + " is not a whole number")
	case v < 0:
		return 0, errors.New(quote(b) + " is below zero")
	case v > math.MaxInt32:
		return 0, errors.New(quote(b) + " is too large")
	}
	return int(v), nil
}

func (p *readingsParser) report(place int, what string) {
	p.bad = true
	name := "row"
	if place >= 0 {
		name = p.h.columns[place].Name
	}
	p.ps.add(p.at.problem(name, "%s", what))
}
