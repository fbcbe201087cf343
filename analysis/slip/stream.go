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
// hand: at once where the load was rising, and when the fall has ended where the
// load stood, for a let-down starts as quickly. It takes it back when the load
// passes the top of the drop again. That is the evidence that Detect begins with
// (standsOut, paceOf, outOfHold); Detect then weighs, over the whole record, what
// followed.
type Stream struct {
	o     Options
	state State
	n     int        // samples seen
	last  [3]float64 // raw readings, newest last
	lastT [3]float64

	rest, diffVar float64 // running mean at rest, and mean square of its differences
	devVar        float64 // mean square of the departures from the trail: hum shows there
	restN         float64 // readings at rest so far
	step          float64 // least difference seen at rest
	before        float64 // the reading before, at rest, without spikes
	above         int     // samples in a row beyond the threshold

	sign        float64
	peak        float64 // greatest force above rest, without spikes
	trail, slow float64 // N, the force of lately: its means over trailTime and slowTime, fading
	steepest    float64 // N/s, greatest loading slope of lately
	ripple      float64 // N, usual departure from the course of the load
	prev, prevT float64
	top, topT   float64 // where the present fall started
	low, lowT   float64 // least since then
	rose        bool    // the load was rising at the top
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
	restTime  = 3.0  // s over which the rest is averaged
	restFirst = 5    // samples before a load can be seen
	driftTime = 10   // s in which a zero that drifts moves by less than the threshold
	trailTime = 0.1  // s
	slowTime  = 0.4  // s
	restLeast = 0.1  // s of rest before a load can be seen
	atOnce    = 0.04 // of the load: a drop out of a rise that needs no end to be seen
	leastTop  = 20   // times the noise: hardly loaded below
	endWait   = 0.4  // s that the load must stay gone
)

// Push takes the next sample: t in s, increasing, force in N as it comes. A
// sample that is not finite, or not later than the one before, is passed over.
func (s *Stream) Push(t, force float64) State {
	if !(math.Abs(force) <= tooGreat) || !(math.Abs(t) <= tooGreat) || s.n > 0 && t <= s.lastT[2] { // NaN too
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
	return math.Sqrt(max(2.5*s.diffVar+s.step*s.step/12, s.devVar))
}

// idle follows the rest: its mean over the last seconds, its noise from the
// differences between neighbours, which a slow rise leaves alone. A reading
// well off the rest hardly moves it.
func (s *Stream) idle(t, f float64) {
	dev := f - s.rest
	s.prev = math.Abs(dev)
	if s.restN >= restFirst && s.restN*s.dt >= restLeast && s.prev > s.threshold() {
		if s.above++; s.above >= 3 {
			s.sign = math.Copysign(1, dev)
			s.state = Loading
			s.peak, s.prevT = s.prev, t
			s.trail, s.slow = s.peak/2, 0
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
	if s.restN == 1 {
		s.trail = f
	}
	s.trail += min(1, s.dt/trailTime) * (f - s.trail)
	d := f - s.before
	s.before = f
	s.diffVar += w * (d*d - s.diffVar)
	if s.restN > restFirst {
		if s.prev > 4*s.noise() {
			w /= 10
		} else {
			lag := f - s.trail
			s.devVar += w * (lag*lag - s.devVar)
		}
	}
	most := math.Inf(1) // a slow load must not be taken for the rest
	if float64(s.restN)*s.dt > restTime {
		most = s.threshold() * s.dt / driftTime
	}
	s.rest += min(max(w*dev, -most), most)
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
	s.prev, s.prevT = y, t
	rate := (s.trail - s.slow) / (slowTime - trailTime) // both lag behind a steady rise, by their times
	s.steepest = max(rate, s.steepest*(1-min(1, d/restTime)))
	if y > s.top-3*s.floor() {
		s.ripple += min(1, d/slowTime) * (1.6*math.Abs(y-s.trail-rate*trailTime) - s.ripple)
	}
	switch {
	case y > s.peak:
		s.peak = y
		s.startAt(t, y)
		s.state = Loading
	case y > s.low+s.floor() && y > s.top-s.floor()/2:
		s.startAt(t, y) // back at the top of a smaller fall
	case y < s.low:
		s.low, s.lowT = y, t
	}
	s.trail += min(1, d/trailTime) * (y - s.trail)
	s.slow += min(1, d/slowTime) * (y - s.slow)
	if s.state == Loading && s.sudden(t) {
		s.state = SlipLikely
	}
	s.watchEnd(t, y)
}

// sudden tells whether the present fall is one that no hand makes.
func (s *Stream) sudden(t float64) bool {
	size, fall := s.top-s.low, max(s.lowT-s.topT, s.dt)
	if size <= s.floor() || s.top < leastTop*s.noise() || paceOf(0.8*fall, size/fall, s.steepest, s.dt) == slow {
		return false
	}
	if s.rose && size > atOnce*s.top {
		return true
	}
	ended := t-s.lowT >= max(0.02, 1.5*s.dt)
	return ended && (s.rose || outOfHold(size, s.top, 0.8*fall, s.noise(), s.ripple, 0, s.dt))
}

// startAt takes a reading for the top from which the next fall starts.
func (s *Stream) startAt(t, y float64) {
	s.rose = y+s.step/2-s.trail > roseAt*s.steepest*trailTime
	s.top, s.topT, s.low, s.lowT = y, t, y, t
}

// floor is the least fall that counts. Readings are noisier than the bins that
// Detect looks at, and an alarm is worth less than a second look.
func (s *Stream) floor() float64 {
	return max(standsOut(s.noise(), s.ripple, s.step, s.peak), 5*s.noise(), 0.008*s.peak)
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
