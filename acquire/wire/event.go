package wire

import "time"

// Kind says what an Event is.
type Kind uint8

const (
	// KindSample is one conversion of the device.
	KindSample Kind = iota + 1
	// KindFact is a property that the device states about itself.
	KindFact
	// KindSegment tells that the next sample begins a new segment.
	KindSegment
	// KindDamaged is a piece of input that was rejected, as it came.
	KindDamaged
	// KindDuplicate is a sample that came twice; the second one is dropped.
	KindDuplicate
	// KindStalled tells that nothing has come for a while.
	KindStalled
	// KindNoFacts tells that a device did not state its facts, even when asked.
	KindNoFacts
)

// Event is one thing that a Reader found.
type Event struct {
	Kind    Kind
	Arrival time.Time     // when its bytes arrived; zero without a clock
	Sample  Sample        // KindSample, KindDuplicate
	Fact    Fact          // KindFact
	Segment Break         // KindSegment
	Damaged Damaged       // KindDamaged
	Silent  time.Duration // KindStalled: how long nothing has come
	Again   bool          // KindStalled: this silence was reported before; a person should look
	Seen    string        // KindNoFacts: what was seen instead, in plain words
}

// Sample is one conversion of the device.
type Sample struct {
	Segment   int       // 0, 1, ...
	Seq       int64     // number of the conversion, unwrapped within the segment
	T         int64     // us of the device's clock, unwrapped within the segment
	Counts    int32     // as converted
	RawSeq    uint16    // as it stood on the wire
	RawT      uint32    // us, likewise
	Arrival   time.Time // when its bytes arrived; zero without a clock
	Lost      int64     // conversions missing between the sample before and this one
	Saturated bool      // at an end of the converter's range: only a bound
	Stuck     bool      // one of at least 20 equal values in a row, from the 20th on
}

// Fact is a property that the device states about itself.
type Fact struct {
	Key, Value string
}

// Break is the start of a segment: the clock or the numbering of the samples
// begins anew, so times before and after must not be joined.
type Break struct {
	Segment int
	Why     string // one of the Why constants
}

// Why a segment begins.
const (
	WhyStart   = "start"       // the first sample
	WhyReset   = "reset"       // the device started anew
	WhyRate    = "rate change" // samples come at another interval
	WhyPause   = "pause"       // numbering went on but the clock jumped
	WhySilence = "silence"     // silent for so long that the counters say nothing
	WhyRegain  = "regained"    // the line was lost and found again
)

// Damaged is a piece of input that was rejected.
type Damaged struct {
	Raw  []byte // as it came, without the LF
	Why  string
	Part bool // more pieces of the same line follow; the line is counted once
}
