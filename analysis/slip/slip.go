// Package slip finds the slip point of one pull, or the reason there is none.
//
// The slip force is the greatest force that the part carried before gross
// motion began: the first peak that gross motion follows. That is the static
// friction force of pull tests (ISO 8295 takes the first maximum, ASTM D1894 the
// force that starts the motion; the former from memory, the latter from its
// published summary). Two readings of it are ours. Where the part
// gives way gradually and no peak stands before the motion, the slip force is
// that of the knee, where the slope of force over time has fallen to half the
// loading slope (creep). Where it breaks away and catches again and again, the
// first break counts (stick-slip).
//
// A record is judged in this order: time stamps and lone spikes are put right,
// the rest is found before the pull and again after it; the readings are
// averaged over 20 ms; drops that stand out of the ripple are found and weighed
// by how quick they were beside a hand and by what followed: a load that comes
// back at once at the loading slope and goes on was a tie that settled, one that
// comes back later was a hand's, one that never again rises as steeply has
// slipped; the rise is looked at for a knee. What a hand does as well as a slide,
// a slow fall to a level or a long stand, is Unclear. Limits that have no source
// were set on simulated pulls of even seeds and checked on odd ones; see TestScore
// and the score test of acquire/simrig.
//
// Forces are magnitudes above the rest offset, in N; times are in s on the
// clock of the record.
package slip

import (
	"errors"
	"fmt"
	"math"

	"griptrial/analysis/trial"
)

// Kind says how the part gave way.
type Kind string

// The kinds of slip; "" where there was none.
const (
	Sharp     Kind = "sharp"      // one clear break
	StickSlip Kind = "stick-slip" // breaks away and catches repeatedly
	Creep     Kind = "creep"      // gives way gradually, no peak
)

// Flag is a remark on the record that a person should know.
type Flag string

// The flags a result may carry.
const (
	Saturated  Flag = "saturated"   // the reading stood at the scale's end
	Dropout    Flag = "dropout"     // readings are missing
	Spike      Flag = "spike"       // lone readings were set aside
	Drift      Flag = "drift"       // the zero moved
	TieSuspect Flag = "tie-suspect" // the load vanished: the tie may have let go
	Short      Flag = "short"       // too little record to judge
	Coarse     Flag = "coarse"      // the division is a noticeable part of the force
	Batched    Flag = "batched"     // time stamps came in bunches and were spread
	NoRest     Flag = "no-rest"     // no idle time: the zero is a guess
	Faint      Flag = "faint"       // a flat top that may be a hold or a slide
	Fast       Flag = "fast"        // the load rose much between two readings
)

// Flags are all of them, in the order in which a result carries them.
var Flags = []Flag{Saturated, Dropout, Spike, Drift, TieSuspect, Short, Coarse, Batched, NoRest, Faint, Fast}

// about says in a line what each flag means and what became of it.
var about = map[Flag]string{
	Saturated:  "the reading stood at the scale's end",
	Dropout:    "readings are missing",
	Spike:      "lone wild readings were set aside",
	Drift:      "the zero after the pull is another than before; a line between them was taken off",
	TieSuspect: "the load was gone at once: look whether the tie let go",
	Short:      "no load in the record, or too little of it to judge",
	Coarse:     "the scale's reading step is more than 0.5 % of the force",
	Batched:    "time stamps came in bunches and were spread evenly",
	NoRest:     "no idle time before the pull, so the zero is a guess",
	Faint:      "a flat top, or a fall as slow as a hand's: held and sliding look the same",
	Fast:       "the load rose by more than 2 % between two readings; the interval allows for it",
}

// About says in a line what a flag means; "" for one that there is not.
func (f Flag) About() string { return about[f] }

// Options steer Detect. The zero value is recommended.
type Options struct {
	Division float64 // N, reading step; 0: found from the data
	Capacity float64 // N, scale's end; 0: found from the data
	Breaks   int     // places where time of unknown length is missing, as a reader found them
}

// Result is what one record says. A number that does not apply is NaN.
type Result struct {
	Outcome   trial.Outcome
	SlipForce float64 // N above rest
	SlipTime  float64 // s
	Low, High float64 // N, 95 % interval of the slip force
	PeakForce float64 // N above rest, greatest reading, or the slip force where that lies above the readings; of a held pull the lower bound
	PeakTime  float64 // s
	Kind      Kind
	Flags     []Flag // in the order of the constants
	Evidence  Evidence
}

// ErrLengths says that times and forces do not pair up.
var ErrLengths = errors.New("slip: times and forces differ in number")

// TimeError says that the clock does not run forward at a sample.
type TimeError struct{ Index int }

func (e *TimeError) Error() string {
	return fmt.Sprintf("slip: time does not increase at sample %d", e.Index+1)
}

// Detect judges one record.
//
// Arguments: tr.T in s, strictly increasing; tr.Force in N, any sign and
// offset, of the same length; neither is written to. Readings that are not
// finite count as missing. Errors: ErrLengths; *TimeError where time does not
// increase or is not finite. A record too short or without load is Unclear with
// the flag Short. The cost is linear in the number of samples.
func Detect(tr trial.Trace, o Options) (Result, error) {
	if len(tr.T) != len(tr.Force) {
		return Result{}, ErrLengths
	}
	last := math.Inf(-1)
	for i, t := range tr.T {
		if !(t > last && t <= math.MaxFloat64) { // NaN fails too
			return Result{}, &TimeError{i}
		}
		last = t
	}
	m := rooms.Get().(*room)
	defer rooms.Put(m)
	return prepare(tr, o, m).judge(), nil
}
