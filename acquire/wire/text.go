package wire

import (
	"errors"
	"io"
	"os"
	"time"
)

// Reading is one line of an instrument that prints a number and a unit. Such
// an instrument has no clock and no check: the time is that of arrival, and a
// line that lost a byte may look well.
type Reading struct {
	Value   float64 // in Unit
	Unit    string  // as printed; "": the pattern has none
	Stable  bool
	Arrival time.Time
	Raw     string // the line as it came, without control characters
	Why     string // why the line was rejected; "": it was not
}

// Why a line of text was rejected.
const (
	whyShape = "not of the pattern's shape"
	whyUnit  = "another unit"
)

const maxText = 256 // bytes of the longest line of text

// TextReader reads the lines of an instrument by a pattern. Its memory is
// bounded.
type TextReader struct {
	src     io.Reader
	pattern *Pattern
	unit    string
	now     func() time.Time
	buf     []byte
	todo    []byte
	line    []byte
	long    bool
	arrival time.Time
	err     error
}

// NewTextReader returns a TextReader of src. A line whose unit is not the given
// one is rejected, so that an instrument whose unit key was pressed cannot go
// unseen; with "" any unit passes.
func NewTextReader(src io.Reader, p *Pattern, unit string, now func() time.Time) *TextReader {
	return &TextReader{src: src, pattern: p, unit: unit, now: now, buf: make([]byte, readSize)}
}

// Next returns the next line that is not empty, rejected or not. At the end of
// the stream it returns io.EOF; os.ErrDeadlineExceeded tells that nothing came
// for a while, and Next may be called again.
func (r *TextReader) Next() (Reading, error) {
	for empty := 0; ; {
		for len(r.todo) > 0 {
			c := r.todo[0] & 0x7F // some send seven bits and a parity bit
			r.todo = r.todo[1:]
			if c == '\n' || c == '\r' {
				if reading, ok := r.finish(); ok {
					return reading, nil
				}
				continue
			}
			r.add(c)
		}
		if r.err != nil {
			if reading, ok := r.finish(); ok {
				return reading, nil
			}
			return Reading{}, r.err
		}
		n, err := r.src.Read(r.buf)
		r.arrival = r.now()
		r.todo = r.buf[:n]
		switch {
		case errors.Is(err, os.ErrDeadlineExceeded):
			if n == 0 {
				return Reading{}, err
			}
		case err != nil:
			r.err = err
		case n == 0:
			if empty++; empty == maxEmpty {
				r.err = io.ErrNoProgress
			}
		}
	}
}

// add adds a character to the line. Control characters (STX, ETX, NUL) frame a
// line and carry nothing.
func (r *TextReader) add(c byte) {
	switch {
	case c < ' ' && c != '\t' || c == 0x7F:
	case len(r.line) == maxText:
		r.long = true
	default:
		r.line = append(r.line, c)
	}
}

// finish judges the line and clears it; ok is false for an empty one.
func (r *TextReader) finish() (Reading, bool) {
	reading := Reading{Arrival: r.arrival, Raw: string(r.line)}
	long := r.long
	r.line, r.long = r.line[:0], false
	if reading.Raw == "" {
		return reading, false
	}
	value, unit, stable, ok := r.pattern.read(reading.Raw)
	switch {
	case long:
		reading.Why = whyLong
	case !ok:
		reading.Why = whyShape
	case r.unit != "" && r.pattern.unit && unit != r.unit:
		reading.Why = whyUnit
	default:
		reading.Value, reading.Unit, reading.Stable = value, unit, stable
	}
	return reading, true
}
