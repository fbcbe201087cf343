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
	Raw     []byte // the line as it came, without its end
	Why     string // why the line was rejected; "": it was not
	Alone   bool   // it was, though it fits the pattern: no line beside it has its length
	Part    bool   // more of the same line follows; the line is counted once
}

// Why a line of text was rejected.
const (
	whyShape = "not of the pattern's shape"
	whyUnit  = "another unit"
	whyAlone = "of a length that the lines beside it have not"
)

const maxText = 256 // bytes of the longest line of text

// TextReader reads the lines of an instrument by a pattern. Its memory is
// bounded.
//
// In place of a checksum it asks for agreement: a line whose length no two lines
// in a row have had yet waits for the next one, and is rejected if that has
// another length. An instrument that prints into a field of fixed width, as most
// do, can so lose no digit unseen.
type TextReader struct {
	src     io.Reader
	pattern *Pattern
	unit    string
	now     func() time.Time
	buf     []byte
	todo    []byte
	raw     []byte // of the unfinished line
	text    []byte // what of it is to be read
	long    bool   // a part of it was handed on
	arrival time.Time
	err     error

	lengths [maxText + 1]bool // that two lines in a row had
	held    Reading           // a line of another length; Raw nil: none
	heldLen int
	ready   []Reading // to be handed on
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
		for len(r.ready) == 0 && len(r.todo) > 0 {
			c := r.todo[0]
			r.todo = r.todo[1:]
			r.add(c)
		}
		if len(r.ready) > 0 {
			reading := r.ready[0]
			r.ready = append(r.ready[:0], r.ready[1:]...)
			return reading, nil
		}
		if r.err != nil {
			r.finish()
			r.reject()
			if len(r.ready) == 0 {
				return Reading{}, r.err
			}
			continue
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

// add takes one byte. Some instruments send seven bits and a parity bit, and
// frame a line with control characters (STX, ETX, NUL) that carry nothing.
func (r *TextReader) add(b byte) {
	c := b & 0x7F
	if c == '\n' || c == '\r' {
		r.finish()
		return
	}
	if len(r.raw) == maxText {
		r.ready = append(r.ready, Reading{Arrival: r.arrival, Raw: append([]byte(nil), r.raw...), Why: whyLong, Part: true})
		r.raw, r.text, r.long = r.raw[:0], r.text[:0], true
	}
	r.raw = append(r.raw, b)
	if c >= ' ' && c != 0x7F || c == '\t' {
		r.text = append(r.text, c)
	}
}

// finish judges the line and clears it. A line without text is none.
func (r *TextReader) finish() {
	reading := Reading{Arrival: r.arrival, Raw: append([]byte(nil), r.raw...)}
	text, long := string(r.text), r.long
	r.raw, r.text, r.long = r.raw[:0], r.text[:0], false
	if text == "" && !long {
		return
	}
	value, unit, stable, ok := r.pattern.read(text)
	switch {
	case long:
		reading.Why = whyLong
	case !ok:
		reading.Why = whyShape
	case r.unit != "" && r.pattern.unit && unit != r.unit:
		reading.Why = whyUnit
	default:
		reading.Value, reading.Unit, reading.Stable = value, unit, stable
		r.agree(reading, len(text))
		return
	}
	r.ready = append(r.ready, reading)
}

// agree hands a line on if another one beside it has its length.
func (r *TextReader) agree(reading Reading, length int) {
	switch {
	case r.held.Raw != nil && r.heldLen == length:
		r.lengths[length] = true
		r.ready = append(r.ready, r.held)
		r.held = Reading{}
	default:
		r.reject()
	}
	if r.lengths[length] {
		r.ready = append(r.ready, reading)
		return
	}
	r.held, r.heldLen = reading, length
}

// reject gives up the line that waits.
func (r *TextReader) reject() {
	if r.held.Raw != nil {
		r.ready = append(r.ready, Reading{Arrival: r.held.Arrival, Raw: r.held.Raw, Why: whyAlone, Alone: true})
		r.held = Reading{}
	}
}
