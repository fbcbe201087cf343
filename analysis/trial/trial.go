// Package trial is the vocabulary that the whole program shares: types only.
//
// Every quantity is in SI units: N, m, s, rad, kg, N·m, Pa. A field that may be
// absent says in its comment what stands for "not known".
//
// Words: a facing is what faces the jaws; a sample is one specimen of a
// facing; a clamping is one tightening on a sample; a pull is one attempt to
// move the part; a reading is what a pull gave.
package trial

import "math"

// Outcome says what a pull showed.
type Outcome uint8

const (
	// Unclear: the record alone cannot tell; a person decides. Never stored
	// in a ledger and never analysed.
	Unclear Outcome = iota
	// Slipped: the part moved in the jaws.
	Slipped
	// Held: loaded without gross motion; the force is a lower bound.
	Held
	// Void: the pull says nothing about the grip (the tie let go, say).
	Void
)

// String gives the word used in files and on screen.
func (o Outcome) String() string {
	switch o {
	case Slipped:
		return "slipped"
	case Held:
		return "held"
	case Void:
		return "void"
	}
	return "unclear"
}

// ParseOutcome reads the words that String writes; ok is false for any other.
func ParseOutcome(s string) (o Outcome, ok bool) {
	for _, o := range []Outcome{Slipped, Held, Void, Unclear} {
		if o.String() == s {
			return o, true
		}
	}
	return Unclear, false
}

// Count is a whole number that may not have been recorded.
type Count struct {
	N     int
	Known bool
}

// Reading is one pull as the analysis sees it.
type Reading struct {
	Pull      int     // number of the pull in its study; 0 outside a study
	Facing    string  // as spelled in the file
	Force     float64 // N; the slip force, or the greatest force carried when held
	Outcome   Outcome
	Division  float64 // N; read to the nearest division; 0: read exactly
	Low, High float64 // N; 95 % interval of a slip force found in a trace; 0, 0: none

	Clamp  float64 // N on one jaw face; 0: not known
	Weight float64 // kg hung on the handle; 0: not known
	Level  string  // name of the clamp level; "": none

	Block     string // session, day or operator; "": one block
	Sample    string // specimen of the facing; "": not recorded
	Order     Count  // place in the run order
	Clampings Count  // how often the sample had been clamped before
	Study     string // which study the row is from, when several are read at once
	Note      string
}

// Observation is a reading as the likelihood sees it: the force lies in
// [Lower, Upper] N. Exact readings have Lower == Upper; a held pull has
// Upper = +Inf.
type Observation struct {
	Lower, Upper float64
}

// Exact reports whether the observation is a single value.
func (o Observation) Exact() bool { return o.Lower == o.Upper }

// Held reports whether the observation is only a lower bound.
func (o Observation) Held() bool { return math.IsInf(o.Upper, 1) }

// Observe decides, in this one place, what a reading tells about the force at
// which the part slips. A held reading is a lower bound at what was read: a
// pull is stopped with the pointer on its mark, or at the scale's end, whatever
// the division. A slipped reading taken to the nearest division lies within half
// a division of what was read; any other slipped reading is exact. ok is false
// for void and unclear pulls, which tell nothing.
//
// A division that reaches down to zero gives Lower = 0.
func (r Reading) Observe() (o Observation, ok bool) {
	half := r.Division / 2
	switch r.Outcome {
	case Slipped:
		return Observation{math.Max(0, r.Force-half), r.Force + half}, true
	case Held:
		return Observation{r.Force, math.Inf(1)}, true
	}
	return Observation{}, false
}

// Trace is the record of one pull. T and Force have the same length; T
// increases strictly. The sign and the rest offset of Force may be anything.
type Trace struct {
	T      []float64 // s, on the recording clock
	Force  []float64 // N
	Travel []float64 // m; nil where not recorded
}

// Sim is the truth of a simulated pull.
type Sim struct {
	Outcome   Outcome
	SlipForce float64 // N; NaN where it did not slip
	SlipTime  float64 // s; NaN where it did not slip
	PeakForce float64 // N
	Kind      string  // "sharp", "stick-slip" or "creep"; "" where it did not slip
}
