package table

import (
	"errors"
	"io"
	"math"
	"slices"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// TraceFile is the record of one pull as a file holds it. All columns have one
// entry for each good row; a column that the file does not have is nil.
type TraceFile struct {
	Trace trial.Trace
	Meta  []Meta
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
	p := traceParser{s: s, f: f}
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

type traceParser struct {
	s    *source
	f    *TraceFile
	ps   Problems
	h    head
	plan []int // slot of each column

	has                 [slots]bool
	time, force, travel quantity
	whole               []int // slots that take whole numbers only
	micros              bool  // keep t as written, in microseconds

	row    [slots]float64
	last   float64 // s, time of the last good row as written
	lastT  float64 // s, the same on the trace's clock
	step   float64 // s, between the last two rows
	offset float64 // s, from the time as written to the trace's clock
	rows   int
	fields [][]byte
}

func (p *traceParser) read() error {
	p.reset()
	h, err := readHead(p.s, "`t [s],force [N]`", &p.ps)
	if err != nil {
		return err
	}
	p.h, p.f.Meta = h, h.meta
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
		used, lines := p.fast(region)
		p.s.skip(used, lines)
		if used < len(region) {
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
	p.plan = make([]int, len(h.columns))
	for i := range p.plan {
		p.plan[i] = slotNone
	}
	for slot, i := range place {
		if i >= 0 {
			p.plan[i], p.has[slot] = slot, true
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
		} else if cap(*c) < n {
			*c = make([]float64, 0, n)
		}
	}
	column(&f.Trace.T, true)
	column(&f.Trace.Force, p.has[slotForce])
	column(&f.Trace.Travel, p.has[slotTravel])
	whole := func(c *[]int64, has bool) {
		if !has {
			*c = nil
		} else if cap(*c) < n {
			*c = make([]int64, 0, n)
		}
	}
	whole(&f.Seq, p.has[slotSeq])
	whole(&f.Micros, p.micros)
	whole(&f.Counts, p.has[slotCounts])
	whole(&f.Segment, p.has[slotSegment])
}

// fast reads rows of plain decimals and stops at the first row that is
// anything else, which slow then reads. region ends with a newline, so that no
// loop over a field runs beyond it.
func (p *traceParser) fast(region []byte) (used, lines int) {
	plan, sep := p.plan, p.h.sep
	mark := byte('.')
	if p.h.comma {
		mark = ','
	}
	last := len(plan) - 1
	i := 0
	for i < len(region) {
		start := i
		for column, slot := range plan {
			if slot < 0 {
				for region[i] != sep && region[i] != '\n' && region[i] != '"' && region[i] < 0x80 && region[i] != 0 {
					i++
				}
			} else {
				neg := region[i] == '-'
				if neg {
					i++
				}
				var mantissa uint64
				from := i
				for d := region[i] - '0'; d < 10; d = region[i] - '0' {
					mantissa = mantissa*10 + uint64(d)
					i++
				}
				digits, frac := i-from, 0
				if c := region[i]; c == '.' || c == mark {
					i++
					point := i
					for d := region[i] - '0'; d < 10; d = region[i] - '0' {
						mantissa = mantissa*10 + uint64(d)
						i++
					}
					frac = i - point
					digits += frac
				}
				if uint(digits-1) >= 19 || mantissa > exactInt {
					return start, lines
				}
				v := float64(mantissa)
				if frac > 0 {
					v /= pow10[frac]
				}
				if neg {
					v = -v
				}
				p.row[slot] = v
			}
			if column < last {
				if region[i] != sep {
					return start, lines
				}
				i++
			}
		}
		if region[i] == '\r' {
			i++
		}
		if i >= len(region) || region[i] != '\n' {
			return start, lines
		}
		i++
		if !p.commit() {
			return start, lines
		}
		lines++
	}
	return i, lines
}

// slow reads the next row whatever it holds and reports what is wrong with it.
func (p *traceParser) slow() error {
	fields, ok, err := readRecord(p.s, &p.h, p.fields, &p.ps)
	if err != nil || !ok {
		return err
	}
	p.fields = fields
	for i, slot := range p.plan {
		if slot < 0 {
			continue
		}
		v, err := parseNumber(fields[i], p.h.comma)
		if err != nil {
			p.ps.add(p.s.problem(slotNames[slot], "%v", err))
			ok = false
			continue
		}
		switch {
		case math.Abs(v) > maxNumber:
			p.ps.add(p.s.problem(slotNames[slot], "%s is too large", quote(fields[i])))
			ok = false
		case slices.Contains(p.whole, slot) && !isWhole(v):
			p.ps.add(p.s.problem(slotNames[slot], "%s is not a whole number", quote(fields[i])))
			ok = false
		}
		p.row[slot] = v
	}
	if ok && !p.commit() {
		p.ps.add(p.s.problem("t", "%.10g is not after %.10g of the row before; time must increase",
			p.row[slotTime], p.time.FromSI(p.last)))
	}
	return nil
}

// maxNumber is far above any force, time or travel, and far enough below the
// greatest float64 that no unit and no difference of two overflows.
const maxNumber = 1e300

// isWhole reports whether v is a whole number that a float64 holds exactly.
func isWhole(v float64) bool { return v == math.Trunc(v) && math.Abs(v) <= exactInt }

// commit appends the row; false where it may not follow the last one or a
// whole number is none.
func (p *traceParser) commit() bool {
	f := p.f
	for _, slot := range p.whole {
		if !isWhole(p.row[slot]) {
			return false
		}
	}
	t := p.time.toSI(p.row[slotTime])
	switch {
	case p.rows == 0:
	case p.has[slotSegment] && int64(p.row[slotSegment]) != f.Segment[p.rows-1]:
		f.Breaks = append(f.Breaks, p.rows)
		if p.step == 0 {
			p.step = 1e-3 // a segment of one row tells no interval
		}
		p.offset = p.lastT + p.step - t
	case !(t > p.last && t+p.offset > p.lastT):
		return false
	default:
		p.step = t + p.offset - p.lastT
	}
	p.last, p.lastT = t, t+p.offset
	p.rows++
	f.Trace.T = append(f.Trace.T, p.lastT)
	if p.has[slotForce] {
		f.Trace.Force = append(f.Trace.Force, p.force.toSI(p.row[slotForce]))
	}
	if p.has[slotTravel] {
		f.Trace.Travel = append(f.Trace.Travel, p.travel.toSI(p.row[slotTravel]))
	}
	if p.whole != nil {
		p.keep()
	}
	return true
}

// keep appends what a device sent.
func (p *traceParser) keep() {
	f := p.f
	for _, slot := range p.whole {
		switch slot {
		case slotTime:
			f.Micros = append(f.Micros, int64(p.row[slot]))
		case slotSeq:
			f.Seq = append(f.Seq, int64(p.row[slot]))
		case slotCounts:
			f.Counts = append(f.Counts, int64(p.row[slot]))
		case slotSegment:
			f.Segment = append(f.Segment, int64(p.row[slot]))
		}
	}
}
