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
	// KindStalled tells that nothing has come for a while.
	KindStalled
	// KindNoFacts tells that a device did not state its facts, even when asked.
	KindNoFacts
)

// Event is one thing that a Reader found.
type Event struct {
	Kind    Kind
	Arrival time.Time     // when its bytes arrived; zero without a clock
	Sample  Sample        // KindSample
	Fact    Fact          // KindFact
	Segment Break         // KindSegment
	Damaged Damaged       // KindDamaged
	Silent  time.Duration // KindStalled: how long nothing has come
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
)

// Damaged is a piece of input that was rejected.
type Damaged struct {
	Raw  []byte // as it came, without the LF
	Why  string
	Part bool // more pieces of the same line follow; the line is counted once
}

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
