package wire

import (
	"fmt"
	"maps"
	"math"
)

// Account says what became of everything that came. Samples plus Lost is the
// number of conversions that the device sent.
type Account struct {
	Samples    int64             `json:"samples"`    // accepted
	Lost       int64             `json:"lost"`       // known by the gaps in the numbering
	Rejected   int64             `json:"rejected"`   // damaged or suspect lines
	Duplicates int64             `json:"duplicates"` // lines that came twice
	Segments   int               `json:"segments"`   // stretches with one clock
	Saturated  int64             `json:"saturated"`  // samples at an end of the range
	Stalls     int64             `json:"stalls"`     // times nothing came for too long
	RateHz     *float64          `json:"rate_hz"`    // measured by the device's clock; nil: fewer than two samples
	Stuck      int64             `json:"stuck"`      // runs of at least 20 equal values
	Facts      map[string]string `json:"facts"`      // last value of each
	Warnings   []Warning         `json:"warnings,omitempty"`
}

// Warning is something about the stream that a person should know.
type Warning struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// twosComplement is the only code of counts, by the fact "code", in which equal
// steps of force are equal steps of counts over the whole range.
const twosComplement = "twos"

// tally keeps the account of the events that were handed out.
type tally struct {
	acc         Account
	last        Sample
	conversions int64
	span        int64 // us that conversions took
	excess      bool  // more facts than are kept
}

func newTally() tally { return tally{acc: Account{Facts: map[string]string{}}} }

// add counts one event.
func (y *tally) add(e Event) {
	a := &y.acc
	switch e.Kind {
	case KindSample:
		y.sample(e.Sample)
	case KindFact:
		a.Facts[e.Fact.Key] = e.Fact.Value
	case KindSegment:
		a.Segments++
	case KindDamaged:
		if !e.Damaged.Part {
			a.Rejected++
		}
		if e.Damaged.Why == whyFacts {
			y.excess = true
		}
	case KindDuplicate:
		a.Duplicates++
	case KindStalled:
		if !e.Again {
			a.Stalls++
		}
	}
}

func (y *tally) sample(s Sample) {
	a := &y.acc
	if a.Samples > 0 && s.Segment == y.last.Segment {
		y.conversions += s.Seq - y.last.Seq
		y.span += s.T - y.last.T
	}
	if s.Stuck && (!y.last.Stuck || s.Segment != y.last.Segment) {
		a.Stuck++
	}
	if s.Saturated {
		a.Saturated++
	}
	a.Samples++
	a.Lost += s.Lost
	y.last = s
}

// account is a copy for the user.
func (y *tally) account(nominal float64) Account {
	a := y.acc
	a.Facts = maps.Clone(y.acc.Facts)
	if y.span > 0 {
		rate := float64(y.conversions) / float64(y.span) * 1e6
		a.RateHz = &rate
	}
	add := func(code, text string, args ...any) {
		a.Warnings = append(a.Warnings, Warning{code, fmt.Sprintf(text, args...)})
	}
	if stated := 1e6 / nominal; a.RateHz != nil && nominal > 0 && math.Abs(*a.RateHz/stated-1) > 0.2 {
		add("rate-off", "samples come at %.4g/s but the device states %.4g/s: check the converter and its wiring", *a.RateHz, stated)
	}
	if a.Stuck > 0 {
		add("stuck", "the value stood still for %d samples or more, %d times: check that the converter answers", stuckRun, a.Stuck)
	}
	if a.Saturated > 0 {
		add("saturated", "%d samples at the end of the converter's range: the true value lies beyond", a.Saturated)
	}
	if code := a.Facts["code"]; code != "" && code != twosComplement {
		add("code", "the device states its counts in code %q: they jump where the converter reads zero; let the firmware send two's complement", code)
	}
	if y.excess {
		add("many-facts", "the device states more than %d facts; the rest was dropped", maxFacts)
	}
	return a
}
