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

// Stream follows a pull sample by sample in constant memory. It says within
// 100 ms, or three samples where those take longer, that a slip has probably
// happened; Detect judges the whole record afterwards by the same evidence (a
// drop that is sudden and stands out of the noise).
type Stream struct {
	o     Options
	state State
	n     int // samples seen
	t0    float64
	last  [3]float64 // raw readings, newest last
	lastT [3]float64

	rest, restVar float64 // running mean and variance at rest
	restN         float64
	step          float64 // least difference seen

	sign           float64
	above          int     // samples in a row beyond the threshold
	peak, peakT    float64 // greatest force above rest, despiked
	rate           float64 // loading slope, N/s, smoothed
	prev, prevT    float64
	low            float64 // least since the peak
	gone           float64 // when the load went, s; NaN: it stands
	before         float64 // loading slope when the peak was reached
	dt             float64 // usual spacing, smoothed
	fallT, fallTop float64 // where the present fall started
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
	restMemory = 200 // samples over which the rest is averaged
	restFirst  = 5   // samples before a load can be seen
	endWait    = 0.4 // s that the load must stay gone
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
		s.rest, s.restN = force, 0
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

// noise is the scatter at rest, in N.
func (s *Stream) noise() float64 {
	return math.Sqrt(s.restVar + s.step*s.step/12)
}

func (s *Stream) idle(t, f float64) {
	dev := f - s.rest
	if s.restN >= restFirst && math.Abs(dev) > s.threshold() {
		s.above++
		if s.above >= 3 {
			s.sign = math.Copysign(1, dev)
			s.state = Loading
			s.prev, s.prevT = math.Abs(dev), t
			s.peak, s.peakT = s.prev, t
		}
		return
	}
	s.above = 0
	if s.step == 0 || (dev != 0 && s.o.Division == 0) {
		if d := math.Abs(s.last[2] - s.last[1]); d > 0 && (s.step == 0 || d < s.step) {
			s.step = d
		}
	}
	s.restN = min(s.restN+1, restMemory)
	w := 1 / s.restN
	s.rest += w * dev
	s.restVar += w * (dev*(f-s.rest) - s.restVar)
	s.prev = f - s.rest
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
	slope := (y - s.prev) / (t - s.prevT)
	if y > s.peak {
		s.peak, s.peakT, s.low = y, t, y
		w := min(1, (t-s.prevT)/0.1)
		s.rate += w * (slope - s.rate)
		s.fallTop, s.fallT = y, t
		s.gone = math.NaN()
		s.state = Loading
	}
	s.low = min(s.low, y)
	s.prev, s.prevT = y, t
	if y > s.low+5*s.noise() { // the fall is over; the next starts here
		s.fallTop, s.fallT = y, t
		s.low = y
	}
	e := drop{size: s.fallTop - y, from: s.fallTop, fall: t - s.fallT, before: math.Max(s.rate, 0), noise: s.noise(), step: s.step, spacing: s.dt}
	if e.sudden() {
		s.state = SlipLikely
	}
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
