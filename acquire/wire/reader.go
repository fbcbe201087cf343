package wire

import (
	"errors"
	"io"
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
	facts   map[string]bool
	tally   tally
	queue   []Event
	head    int
	err     error
	arrival time.Time
	silent  time.Duration // since the last whole line, as far as Read was waiting
	told    int           // stall notices given in this silence
	greet   greeting
	known   map[string]string // who the device was before its line was regained
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
	r.facts = map[string]bool{}
	r.tally = newTally()
	r.track = newTracker(r.push)
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
	r.tally.add(e)
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
			r.silent += max(0, r.arrival.Sub(before)) // a clock may be set back
			r.noticeSilence()
		}
		r.greet.bytes += int64(n)
		r.scan.feed(r.buf[:n], r.found)
		if r.now != nil {
			r.greetings()
		}
		switch {
		case r.err != nil: // another device
			r.track.settle()
			return
		case errors.Is(err, os.ErrDeadlineExceeded):
			return
		case err != nil:
			r.scan.rest(r.found)
			r.track.settle()
			if r.err == nil {
				r.err = err
			}
			return
		}
		if n > 0 {
			return
		}
	}
	r.err = io.ErrNoProgress
}

// found takes one thing from the scanner; nothing once the Reader has failed.
func (r *Reader) found(s scanned) {
	if r.err != nil {
		return
	}
	switch s.kind {
	case KindSample:
		r.heard()
		r.track.sample(arrived{s.line, r.arrival})
	case KindFact:
		r.heard()
		r.fact(s.key, s.value)
	case KindDamaged:
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
	if r.told == 0 && r.silent > limit && r.track.started && !r.track.rejoined {
		r.told = 1
		r.push(Event{Kind: KindStalled, Arrival: r.arrival, Silent: r.silent})
	}
	if r.told == 1 && r.silent > max(longStall, limit) {
		r.told = 2
		r.push(Event{Kind: KindStalled, Arrival: r.arrival, Silent: r.silent, Again: true})
	}
}

// fact keeps a fact and tells the tracker what concerns it.
func (r *Reader) fact(key, value string) {
	if !r.facts[key] && len(r.facts) == maxFacts {
		r.push(Event{Kind: KindDamaged, Arrival: r.arrival,
			Damaged: Damaged{Raw: []byte("#" + key + "=" + value), Why: whyFacts}})
		return
	}
	if was, ok := r.known[key]; ok && was != value {
		r.err = &OtherDevice{Key: key, Was: was, Is: value}
		return
	}
	r.facts[key] = true
	k := r.track
	switch key {
	case "boot":
		k.bootChanged = k.bootChanged || k.bootSeen && value != k.boot
		k.bootNew = k.bootNew || !k.bootSeen
		k.bootHeard = true
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

// Account returns what became of everything that the events handed out so far
// tell.
func (r *Reader) Account() Account { return r.tally.account(r.track.nominal) }
