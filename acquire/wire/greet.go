package wire

import (
	"fmt"
	"io"
	"time"
)

// greeting follows how a device states its facts after the port was opened.
type greeting struct {
	ask   io.Writer
	since time.Time // of opening, then of asking
	asked bool
	done  bool
	bytes int64 // that came at all

	samples, rejected int64 // that had come before
}

const (
	// bootWait is how long a board may take to start and state its facts, and
	// then to answer. Bytes sent earlier could confuse its boot loader.
	bootWait = 3 * time.Second
	// runningWait is how long samples may come without facts: then the board
	// did not start anew when the port was opened, and can be asked.
	runningWait = 500 * time.Millisecond
)

// greetings asks the device for its facts when it is time.
func (r *Reader) greetings() {
	g := &r.greet
	if g.done || g.ask == nil {
		return
	}
	if len(r.facts) > 0 {
		g.done = true
		return
	}
	if g.since.IsZero() {
		g.since = r.arrival
	}
	waited := r.arrival.Sub(g.since)
	switch {
	case !g.asked && (waited >= bootWait || waited >= runningWait && r.tally.acc.Samples > g.samples):
		g.asked = true
		g.since = r.arrival
		if _, err := g.ask.Write([]byte{'?'}); err != nil {
			g.done = true // the read that follows says why
		}
	case g.asked && waited >= bootWait:
		g.done = true
		r.push(Event{Kind: KindNoFacts, Arrival: r.arrival, Seen: r.seen()})
	}
}

// seen says what came instead of facts.
func (r *Reader) seen() string {
	g := &r.greet
	rejected := r.tally.acc.Rejected - g.rejected
	switch {
	case r.tally.acc.Samples > g.samples:
		return "it sends samples but does not say who it is"
	case g.bytes == 0:
		return "nothing came at all: is it powered, and is this the right port?"
	case rejected == 0:
		return fmt.Sprintf("%d bytes came but no end of a line: the speed (baud) is likely wrong", g.bytes)
	}
	return fmt.Sprintf("%d lines came and none was whole: the speed (baud) is likely wrong, or this is another kind of instrument", rejected)
}
