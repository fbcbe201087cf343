package slip

import "math"

// State is where a pull stands while it is being recorded.
type State uint8

// The states of a pull, in the order they come. Loading and SlipLikely may
// alternate: a drop that is passed again was not the slip.
const (
	Idle       State = iota // at rest, before the load
	Loading                 // under load, no break so far
	SlipLikely              // a sudden drop was seen and not passed since
	Ended                   // the load is gone and stays gone
)

// String names the state.
func (s State) String() string {
	return [...]string{"idle", "loading", "slip likely", "ended"}[s]
}

// Stream follows a pull sample by sample in constant memory. It says that a
// slip has probably happened as soon as a drop stands out and is quicker than a
// hand, and takes it back when the load passes the top of the drop again. That
// is the evidence that Detect begins with; Detect then weighs, over the whole
// record, what followed.
type Stream struct {
	o     Options
	state State
	n     int        // samples seen
	last  [3]float64 // raw readings, newest last
	lastT [3]float64

	rest, diffVar float64 // running mean at rest, and mean square of its differences
	restN         float64 // readings at rest so far
	step          float64 // least difference seen at rest
	before        float64 // the reading before, at rest, without spikes
	above         int     // samples in a row beyond the threshold

	sign        float64
	peak        float64 // greatest force above rest, without spikes
	rate        float64 // N/s, loading slope, smoothed
	ripple      float64 // N, departure from that slope, smoothed
	prev, prevT float64
	top, topT   float64 // where the present fall started
	low         float64 // least since then
	gone        float64 // s, since when the load is gone; NaN: it stands
	dt          float64 // s, usual spacing, smoothed
}

// NewStream starts before the first sample of a pull; the first samples are
// taken to be at rest.
func NewStream(o Options) *Stream {
	return &Stream{o: o, gone: math.NaN(), step: o.Division, sign: 1}
}

// State tells where the pull stands.
func (s *Stream) State() State { return s.state }

// Force is the latest force above rest in N, a magnitude once loading; a lone
// spike does not show in it.
func (s *Stream) Force() float64 { return s.prev }

// Peak is the greatest force above rest so far, in N.
func (s *Stream) Peak() float64 { return s.peak }

// Rest is the raw reading at rest, in N.
func (s *Stream) Rest() float64 { return s.rest }

const (
	restTime  = 3.0 // s over which the rest is averaged
	restFirst = 5   // samples before a load can be seen
	endWait   = 0.4 // s that the load must stay gone
)

// Push takes the next sample: t in s, increasing, force in N as it comes. A
// sample that is not finite, or not later than the one before, is passed over.
func (s *Stream) Push(t, force float64) State {
	if math.IsNaN(force) || math.IsInf(force, 0) || math.IsNaN(t) || math.IsInf(t, 0) || (s.n > 0 && t <= s.lastT[2]) {
		return s.state
	}
	s.last[0], s.last[1], s.last[2] = s.last[1], s.last[2], force
	s.lastT[0], s.lastT[1], s.lastT[2] = s.lastT[1], s.lastT[2], t
	s.n++
	if s.n < 3 {
		s.rest, s.before, s.restN = force, force, 0
		return s.state
	}
	// the median of three: a lone spike passes unseen, one sample late
	a, b, c := s.last[0], s.last[1], s.last[2]
	f := max(min(a, b), min(max(a, b), c))
	ft := s.lastT[1]
	d := s.lastT[2] - s.lastT[1]
	if s.dt == 0 {
		s.dt = d
	}
	s.dt += 0.1 * (min(d, 4*s.dt) - s.dt)
	switch s.state {
	case Idle:
		s.idle(ft, f)
	case Loading, SlipLikely:
		s.loaded(ft, s.sign*(f-s.rest))
	}
	return s.state
}

// noise is the scatter of a reading at rest, in N.
func (s *Stream) noise() float64 {
	// the mean square difference of neighbouring medians of three is 0.40 of the
	// variance of a reading (normal noise, by simulation)
	return math.Sqrt(2.5*s.diffVar + s.step*s.step/12)
}

// idle follows the rest: its mean over the last seconds, its noise from the
// differences between neighbours, which a slow rise leaves alone. A reading
// well off the rest hardly moves it.
func (s *Stream) idle(t, f float64) {
	dev := f - s.rest
	s.prev = math.Abs(dev)
	if s.restN >= restFirst && s.prev > s.threshold() {
		if s.above++; s.above >= 3 {
			s.sign = math.Copysign(1, dev)
			s.state = Loading
			s.peak, s.prevT = s.prev, t
			s.startAt(t, s.peak)
		}
		return
	}
	s.above = 0
	if a := math.Abs(s.last[2] - s.last[1]); a > 0 && s.o.Division == 0 && (s.step == 0 || a < s.step) {
		s.step = a
	}
	s.restN++
	w := max(1/s.restN, min(1, s.dt/restTime))
	d := f - s.before
	s.before = f
	s.diffVar += w * (d*d - s.diffVar)
	if s.restN > restFirst && s.prev > 4*s.noise() {
		w /= 10
	}
	s.rest += w * dev
}

// threshold is the force above rest that counts as a load: out of the noise
// and above a thousandth of the scale.
func (s *Stream) threshold() float64 {
	return max(8*s.noise(), 2.5*s.step, s.o.Capacity/1000)
}

func (s *Stream) loaded(t, y float64) {
	if t <= s.prevT {
		return
	}
	d := t - s.prevT
	slope := (y - s.prev) / d
	s.prev, s.prevT = y, t
	switch {
	case y > s.peak:
		w := min(1, d/0.1)
		s.ripple += w * (math.Abs(slope-s.rate)*d - s.ripple)
		s.rate += w * (slope - s.rate)
		s.peak = y
		s.startAt(t, y)
		s.state = Loading
	case y > s.low+s.floor() && y > s.top-s.floor()/2:
		s.startAt(t, y) // back at the top of a smaller fall
	case y < s.low:
		s.low = y
	}
	if size := s.top - y; size > s.floor() && s.state == Loading {
		fall := max(t-s.topT, s.dt)
		if paceOf(0.8*fall, size/fall, max(0, s.rate), s.dt) != slow {
			s.state = SlipLikely
		}
	}
	s.watchEnd(t, y)
}

// startAt takes a reading for the top from which the next fall starts.
func (s *Stream) startAt(t, y float64) { s.top, s.topT, s.low = y, t, y }

// floor is the least fall that counts. Readings are noisier than the bins that
// Detect looks at, and an alarm is worth less than a second look.
func (s *Stream) floor() float64 {
	return max(standsOut(s.noise(), 2*s.ripple, s.step, s.peak), 5*s.noise(), 0.008*s.peak)
}

// watchEnd ends the pull when the load has been gone for a while.
func (s *Stream) watchEnd(t, y float64) {
	if y > max(0.06*s.peak, s.threshold()) {
		s.gone = math.NaN()
		return
	}
	if math.IsNaN(s.gone) {
		s.gone = t
	}
	if t-s.gone >= endWait {
		s.state = Ended
	}
}
