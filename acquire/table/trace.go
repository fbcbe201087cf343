package table

import (
	"errors"
	"io"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// TraceFile is the record of one pull as a file holds it. All columns have one
// entry for each good row; a column that the file does not have is nil.
type TraceFile struct {
	Trace trial.Trace
	Meta  []Meta
	Lines []int     // of the file, at which each of Meta stands
	Force unit.Unit // as the file writes forces; zero where it has no force column

	// What a device sent, as written.
	Seq, Micros, Counts, Segment []int64

	// Breaks are the rows at which a new segment starts: the device began
	// anew and how long that took is not known. Time there is taken to go on
	// by one sample interval.
	Breaks []int
}

// ErrNoForce says that a trace holds counts of a device and no forces.
var ErrNoForce = errors.New("no force column, only counts; a calibration is needed")

// ReadTrace reads a trace: t [unit] and force [unit], optionally
// travel [unit]; or what a device sent, seq, t [us], counts and segment, where
// force may be absent. Time must increase, within its segment where the file
// has segments. Other columns are ignored.
//
// The error is a *Problems where rows or columns are at fault; the good rows
// are returned beside it. name stands for the file in messages.
func ReadTrace(name string, r io.Reader) (TraceFile, error) {
	var f TraceFile
	err := f.Read(name, r)
	return f, err
}

// Read is ReadTrace into the room that f has from an earlier file, whose
// content is lost: reading many files so takes the memory of the longest.
func (f *TraceFile) Read(name string, r io.Reader) error {
	s := newSource(name, r)
	defer s.release()
	p := traceParser{s: s, f: f, block: &s.room.block}
	err := p.read()
	var end fatal
	if errors.As(err, &end) {
		if one, ok := end.error.(Problem); ok {
			p.ps.add(one)
			return &p.ps
		}
		return end.error
	}
	return p.ps.err()
}

// slots of a row: where a column's number goes.
const (
	slotTime = iota
	slotForce
	slotTravel
	slotSeq
	slotCounts
	slotSegment
	slots
	slotNone = -1
)

var slotNames = [slots]string{"t", "force", "travel", "seq", "counts", "segment"}

// column is what the parser knows of a column of the file.
type column struct {
	slot int
	frac uint // digits after the decimal mark in the row before
}

type traceParser struct {
	s    *source
	f    *TraceFile
	ps   Problems
	h    head
	plan []column

	has                 [slots]bool
	time, force, travel quantity
	whole               []int // slots that take whole numbers only
	micros              bool  // keep t as written, in microseconds

	block   *[slots][batch]float64 // the numbers of the rows at hand, as written
	rows    int                    // good rows so far
	last    float64                // s, time of the last of them as written
	lastT   float64                // s, the same on the trace's clock
	step    float64                // s, between the last two rows
	offset  float64                // s, from the time as written to the trace's clock
	segment float64
	fields  [][]byte
}

func (p *traceParser) read() error {
	p.reset()
	h, err := readHead(p.s, "`t [s],force [N]`", &p.ps)
	if err != nil {
		return err
	}
	p.h, p.f.Meta, p.f.Lines = h, h.meta, h.lines
	if !p.makePlan() {
		return nil
	}
	p.reserve()
	for {
		region, err := p.s.whole()
		if err != nil {
			return err
		}
		if len(region) == 0 {
			break
		}
		used, rows := p.parse(len(region), batch)
		if good := p.commit(rows); good < rows {
			used, rows = p.parse(len(region), good)
		}
		p.s.skip(used, rows)
		if rows < batch && used < len(region) {
			if err := p.slow(); err != nil {
				return err
			}
		}
	}
	if p.rows == 0 && p.ps.Total == 0 {
		p.ps.add(p.s.problem("header", "no rows of data after the header"))
	}
	return nil
}

// reset empties f and keeps its room.
func (p *traceParser) reset() {
	f := p.f
	*f = TraceFile{
		Trace: trial.Trace{T: f.Trace.T[:0], Force: f.Trace.Force[:0], Travel: f.Trace.Travel[:0]},
		Seq:   f.Seq[:0], Micros: f.Micros[:0], Counts: f.Counts[:0], Segment: f.Segment[:0],
		Meta: nil, Breaks: f.Breaks[:0],
	}
}

// makePlan finds the columns; false where they do not make a trace.
func (p *traceParser) makePlan() bool {
	h, s := &p.h, p.s
	var place [slots]int
	place[slotTime], p.time = h.quantity(s, "t", unit.Time, &p.ps)
	place[slotForce], p.force = h.quantity(s, "force", unit.Force, &p.ps)
	place[slotTravel], p.travel = h.quantity(s, "travel", unit.Length, &p.ps)
	for _, slot := range []int{slotSeq, slotCounts, slotSegment} {
		place[slot] = h.find(slotNames[slot])
	}
	h.missing(s, "t", "t [s]", &p.ps)
	if place[slotCounts] < 0 {
		h.missing(s, "force", "force [N]", &p.ps)
	}
	if p.ps.Total > 0 {
		return false
	}
	p.plan = make([]column, len(h.columns))
	for i := range p.plan {
		p.plan[i].slot = slotNone
	}
	for slot, i := range place {
		if i >= 0 {
			p.plan[i].slot, p.has[slot] = slot, true
		}
	}
	p.micros = p.has[slotCounts] && p.time.Name == "us"
	if p.micros {
		p.whole = append(p.whole, slotTime)
	}
	for slot := slotSeq; slot < slots; slot++ {
		if p.has[slot] {
			p.whole = append(p.whole, slot)
		}
	}
	if p.has[slotForce] {
		p.f.Force = p.force.Unit
	}
	return true
}

// reserve makes room for the rows that the file seems to have, and drops the
// columns that it does not have.
func (p *traceParser) reserve() {
	n, f := p.s.rows(), p.f
	column := func(c *[]float64, has bool) {
		if !has {
			*c = nil
		} else if cap(*c) < n || *c == nil {
			*c = make([]float64, 0, n)
		}
	}
	column(&f.Trace.T, true)
	column(&f.Trace.Force, p.has[slotForce])
	column(&f.Trace.Travel, p.has[slotTravel])
	whole := func(c *[]int64, has bool) {
		if !has {
			*c = nil
		} else if cap(*c) < n || *c == nil {
			*c = make([]int64, 0, n)
		}
	}
	whole(&f.Seq, p.has[slotSeq])
	whole(&f.Micros, p.micros)
	whole(&f.Counts, p.has[slotCounts])
	whole(&f.Segment, p.has[slotSegment])
}
