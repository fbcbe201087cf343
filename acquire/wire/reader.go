package wire

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"strconv"
	"time"
)

// ReaderOptions are the choices of a Reader; the zero value is right for a
// recorded stream.
type ReaderOptions struct {
	// Now is the clock of arrivals; nil: arrivals are not kept and silence is
	// not noticed.
	Now func() time.Time
	// Joined tells that the stream was joined in the middle, as a port is: the
	// first line may be a piece and is not counted as rejected.
	Joined bool
	// Ask is where the device listens; nil: it cannot be asked. With a clock, a
	// device that states no facts within 3 s, or sends samples for half a second
	// without them, is sent one '?', and after 3 s more a KindNoFacts follows.
	Ask io.Writer
}

// Reader turns a byte stream into events. It is not safe for use by several
// goroutines.
type Reader struct {
	src     io.Reader
	now     func() time.Time
	buf     []byte
	scan    scanner
	track   *tracker
	acc     Account
	queue   []Event
	head    int
	err     error
	arrival time.Time
	silent  time.Duration // since the last whole line, as far as Read was waiting
	told    int           // stall notices given in this silence
	excess  bool          // more facts than are kept
	greet   greeting
}

const (
	readSize  = 4096
	maxFacts  = 64
	minStall  = 500 * time.Millisecond
	longStall = 3 * time.Second
	maxEmpty  = 100 // reads without bytes or error before the source is called broken
)

// NewReader returns a Reader of src. A read of src that fails with
// os.ErrDeadlineExceeded is no end: the Reader looks at the silence and goes on.
func NewReader(src io.Reader, o ReaderOptions) *Reader {
	r := &Reader{src: src, now: o.Now, buf: make([]byte, readSize)}
	r.scan.first = o.Joined
	r.greet.ask = o.Ask
	r.acc.Facts = map[string]string{}
	r.track = newTracker(&r.acc, r.push)
	return r
}

// Next returns the next event. Bytes of an event are valid until the following
// call. At the end of the stream it returns io.EOF, after everything held back
// was delivered; any other error is that of the source, after likewise.
func (r *Reader) Next() (Event, error) {
	for r.head == len(r.queue) {
		if r.err != nil {
			return Event{}, r.err
		}
		r.queue, r.head = r.queue[:0], 0
		r.fill()
	}
	e := r.queue[r.head]
	r.head++
	return e, nil
}

// fill reads once and queues what was found.
func (r *Reader) fill() {
	for range maxEmpty {
		var before time.Time
		if r.now != nil {
			before = r.now()
		}
		n, err := r.src.Read(r.buf)
		if r.now != nil {
			r.arrival = r.now()
			r.silent += r.arrival.Sub(before)
			r.noticeSilence()
		}
		r.greet.bytes += int64(n)
		r.scan.feed(r.buf[:n], r.found)
		if r.now != nil {
			r.greetings()
		}
		if errors.Is(err, os.ErrDeadlineExceeded) {
			return
		}
		if err != nil {
			r.scan.rest(r.found)
			r.track.settle()
			r.err = err
			return
		}
		if n > 0 {
			return
		}
	}
	r.err = io.ErrNoProgress
}

// found takes one thing from the scanner.
func (r *Reader) found(s scanned) {
	switch s.kind {
	case KindSample:
		r.heard()
		r.track.sample(arrived{s.line, r.arrival})
	case KindFact:
		r.heard()
		r.fact(s.key, s.value)
	case KindDamaged:
		if !s.part {
			r.acc.Rejected++
		}
		r.push(Event{Kind: KindDamaged, Arrival: r.arrival,
			Damaged: Damaged{Raw: append([]byte(nil), s.raw...), Why: s.why, Part: s.part}})
	}
}

func (r *Reader) push(e Event) { r.queue = append(r.queue, e) }

// heard ends a silence.
func (r *Reader) heard() { r.silent, r.told = 0, 0 }

// noticeSilence reports a silence once when it begins to be too long and once
// when a person should look.
func (r *Reader) noticeSilence() {
	limit := max(minStall, time.Duration(5*r.track.period)*time.Microsecond)
	if r.told == 0 && r.silent > limit && r.track.started {
		r.acc.Stalls++
		r.told = 1
		r.push(Event{Kind: KindStalled, Arrival: r.arrival, Silent: r.silent})
	}
	if r.told < 2 && r.silent > max(longStall, limit) {
		r.told = 2
		r.push(Event{Kind: KindStalled, Arrival: r.arrival, Silent: r.silent})
	}
}

// fact keeps a fact and tells the tracker what concerns it.
func (r *Reader) fact(key, value string) {
	if _, known := r.acc.Facts[key]; !known && len(r.acc.Facts) == maxFacts {
		r.excess = true
		r.acc.Rejected++
		r.push(Event{Kind: KindDamaged, Arrival: r.arrival,
			Damaged: Damaged{Raw: []byte("#" + key + "=" + value), Why: whyFacts}})
		return
	}
	r.acc.Facts[key] = value
	k := r.track
	switch key {
	case "boot":
		k.bootChanged = k.bootChanged || k.bootSeen && value != k.boot
		k.bootNew = k.bootNew || !k.bootSeen
		k.boot, k.bootSeen = value, true
	case "sps":
		k.nominal = 0
		if sps, err := strconv.ParseFloat(value, 64); err == nil && sps > 0 && !math.IsInf(sps, 0) {
			k.nominal = 1e6 / sps
		}
	case "adc_bits":
		k.lowRail, k.highRail = minCounts, maxCounts
		if bits, err := strconv.Atoi(value); err == nil && bits >= 8 && bits <= 24 {
			k.lowRail, k.highRail = -1<<(bits-1), 1<<(bits-1)-1
		}
	}
	r.push(Event{Kind: KindFact, Arrival: r.arrival, Fact: Fact{key, value}})
}

// Account returns what became of everything read so far.
func (r *Reader) Account() Account {
	a := r.acc
	a.Facts = maps.Clone(r.acc.Facts)
	k := r.track
	if k.span > 0 {
		rate := float64(k.conversions) / k.span * 1e6
		a.RateHz = &rate
	}
	a.Warnings = r.warnings(a)
	return a
}

func (r *Reader) warnings(a Account) []Warning {
	var w []Warning
	add := func(code, text string, args ...any) {
		w = append(w, Warning{code, fmt.Sprintf(text, args...)})
	}
	if a.RateHz != nil && r.track.nominal > 0 {
		if stated := 1e6 / r.track.nominal; math.Abs(*a.RateHz/stated-1) > 0.2 {
			add("rate-off", "samples come at %.4g/s but the device states %.4g/s: check the converter and its wiring", *a.RateHz, stated)
		}
	}
	if a.Stuck > 0 {
		add("stuck", "the value stood still for %d samples or more, %d times: check that the converter answers", stuckRun, a.Stuck)
	}
	if a.Saturated > 0 {
		add("saturated", "%d samples at the end of the converter's range: the true value lies beyond", a.Saturated)
	}
	if r.excess {
		add("many-facts", "the device states more than %d facts; the rest was dropped", maxFacts)
	}
	return w
}
