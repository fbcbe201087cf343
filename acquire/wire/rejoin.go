package wire

import (
	"fmt"
	"io"
)

// OtherDevice is the error of a Reader whose line was regained when another
// device than before answers on it.
type OtherDevice struct {
	Key     string // of the fact that differs
	Was, Is string
}

func (e *OtherDevice) Error() string {
	return fmt.Sprintf("another device answers: its %s is %q, and was %q; plug the one from before in, or begin again", e.Key, e.Is, e.Was)
}

// identity lists the facts by which a device is known again.
var identity = []string{"name", "id"}

// Rejoin goes on with the same device after its line was lost and found again:
// src and ask take the place of those that the Reader began with. It is for a
// Reader whose Next has failed. The account goes on; the next sample begins a
// segment (WhyRegain). What was sent in between counts as lost as far as the
// device's counters tell: one that kept its power went on numbering, one that
// booted began at 0.
//
// If the device then states another name or id than before, Next fails with an
// *OtherDevice. Samples may come before the facts, so that nothing should be
// built on them until KindFact "ready" was seen.
func (r *Reader) Rejoin(src io.Reader, ask io.Writer) {
	if r.known == nil {
		r.known = map[string]string{}
	}
	for _, key := range identity {
		if value, ok := r.tally.acc.Facts[key]; ok && r.known[key] == "" {
			r.known[key] = value
		}
	}
	r.src, r.err = src, nil
	r.scan = scanner{first: true}
	r.silent, r.told = 0, 0
	a := r.tally.acc
	r.greet = greeting{ask: ask, samples: a.Samples, rejected: a.Rejected}
	clear(r.facts)
	r.track.rejoined = r.track.started
}
