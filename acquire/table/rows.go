package table

import (
	"encoding/binary"
	"math"
	"slices"
)

// batch is how many rows are parsed before they are checked and appended.
const batch = 512

// parse reads rows of plain decimals into the block, until limit rows are read
// or a row is anything else, which slow then reads. The lines are the end bytes
// of the buffer from its place on. A newline ends them and the buffer goes on
// for at least slack bytes, so that looking ahead stays inside it, and what
// stands behind the newline is never believed.
//
// Eight digits after the decimal mark are read in one step. How many there are
// is foreseen from the row before: rows are much alike, so the processor need
// not wait for the answer to know where the next number starts.
func (p *traceParser) parse(end, limit int) (used, rows int) {
	b := p.s.buf[p.s.pos:]
	sep, last := p.h.sep, len(p.plan)-1
	mark := byte('.')
	if p.h.comma {
		mark = ','
	}
	i := 0
	for rows < limit && i < end {
		start := i
		for place := range p.plan {
			column := &p.plan[place]
			if column.slot == slotNone {
				for b[i] != sep && b[i] != '\n' && b[i] != '"' && b[i] < 0x80 && b[i] != 0 {
					i++
				}
			} else {
				neg := uint64(0)
				if b[i] == '-' {
					neg = 1 << 63
					i++
				}
				mantissa, from := uint64(0), i
				for d := b[i] - '0'; d < 10; d = b[i] - '0' {
					mantissa = mantissa*10 + uint64(d)
					i++
				}
				digits, frac := uint(i-from), uint(0)
				if c := b[i]; c == '.' || c == mark {
					x := binary.LittleEndian.Uint64(b[i+1:]) ^ zeros
					frac = column.frac
					if n := digitRun(x); n != frac {
						frac, column.frac = n, n
					}
					mantissa = mantissa*pow10int[frac&15] + eightDigits(x<<(64-8*frac))
					i += int(frac) + 1
				}
				// Up to 10 + 7 digits, and no run of eight: where that ends is not known.
				if digits > 10 || frac == 8 || digits+frac == 0 || mantissa > exactInt {
					return start, rows
				}
				v := float64(int64(mantissa)) / pow10[frac&15]
				p.block[column.slot][rows&(batch-1)] = math.Float64frombits(math.Float64bits(v) | neg)
			}
			if place < last {
				if b[i] != sep {
					return start, rows
				}
				i++
			}
		}
		if b[i] == '\r' {
			i++
		}
		if i >= end || b[i] != '\n' {
			return start, rows
		}
		i++
		rows++
	}
	return i, rows
}

// slow reads the next row whatever it holds and reports what is wrong with it.
func (p *traceParser) slow() error {
	fields, ok, err := readRecord(p.s, &p.h, p.fields, &p.ps)
	p.fields = fields
	if err != nil || !ok {
		return err
	}
	for i := range p.plan {
		slot := p.plan[i].slot
		if slot == slotNone {
			continue
		}
		v, err := parseNumber(fields[i], p.h.comma)
		what := ""
		switch {
		case err != nil:
			what = err.Error()
		case math.Abs(v) > maxNumber:
			what = quote(fields[i]) + " is too large"
		case slices.Contains(p.whole, slot) && !isWhole(v):
			what = quote(fields[i]) + " is not a whole number"
		}
		if what != "" {
			p.ps.add(p.s.problem(slotNames[slot], "%s", what))
			ok = false
		}
		p.block[slot][0] = v
	}
	if ok && p.commit(1) == 0 {
		p.ps.add(p.s.problem("t", "%.10g is not after %.10g of the row before; time must increase",
			p.block[slotTime][0], p.time.FromSI(p.last)))
	}
	return nil
}

// maxNumber is far above any force, time or travel, and far enough below the
// greatest float64 that no unit and no difference of two overflows.
const maxNumber = 1e300

// isWhole reports whether v is a whole number that a float64 holds exactly.
func isWhole(v float64) bool { return v == math.Trunc(v) && math.Abs(v) <= exactInt }

// commit appends the first n rows of the block, up to the first that may not
// follow the one before it or lacks a whole number, and returns how many.
func (p *traceParser) commit(n int) int {
	for _, slot := range p.whole {
		for i, v := range p.block[slot][:n] {
			if !isWhole(v) {
				n = i
				break
			}
		}
	}
	n = p.appendTimes(n)
	f := p.f
	if p.has[slotForce] {
		f.Trace.Force = p.force.appendSI(f.Trace.Force, p.block[slotForce][:n])
	}
	if p.has[slotTravel] {
		f.Trace.Travel = p.travel.appendSI(f.Trace.Travel, p.block[slotTravel][:n])
	}
	for _, slot := range p.whole {
		to := f.device(slot)
		for _, v := range p.block[slot][:n] {
			*to = append(*to, int64(v))
		}
	}
	p.rows += n
	return n
}

// device is the column that keeps a slot as the device sent it.
func (f *TraceFile) device(slot int) *[]int64 {
	switch slot {
	case slotSeq:
		return &f.Seq
	case slotCounts:
		return &f.Counts
	case slotSegment:
		return &f.Segment
	}
	return &f.Micros
}

// appendTimes appends the times of the first n rows of the block while they
// increase, and returns how many did.
func (p *traceParser) appendTimes(n int) int {
	to := p.f.Trace.T
	defer func() { p.f.Trace.T = to }()
	segmented := p.has[slotSegment]
	for i, v := range p.block[slotTime][:n] {
		t := p.time.toSI(v)
		switch first := p.rows+i == 0; {
		case first:
		case segmented && p.block[slotSegment][i] != p.segment:
			p.f.Breaks = append(p.f.Breaks, p.rows+i)
			if p.step == 0 {
				p.step = 1e-3 // a segment of one row tells no interval
			}
			p.offset = p.lastT + p.step - t
		case !(t > p.last && t+p.offset > p.lastT):
			return i
		default:
			p.step = t + p.offset - p.lastT
		}
		if segmented {
			p.segment = p.block[slotSegment][i]
		}
		p.last, p.lastT = t, t+p.offset
		to = append(to, p.lastT)
	}
	return n
}
