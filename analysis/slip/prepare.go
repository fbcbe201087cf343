package slip

import (
	"math"
	"sync"

	"griptrial/analysis/trial"
)

// signal is a record made ready to judge: upright, above rest, without spikes.
type signal struct {
	t, y    []float64
	lo, hi  float64 // N, least and greatest reading
	white   float64 // N, scatter of one reading from its neighbours
	sigma   float64 // N, scatter of one reading, hum and rest included
	step    float64 // N, division; 0: none seen
	dt      float64 // s, usual sample spacing
	rest    float64 // N, raw reading at rest
	restErr float64 // N, standard error of the rest at the slip

	restAgain bool // the record ends at rest
	sign      float64
	onset     int // last sample before the load
	peak      int // greatest sample
	spikes    int
	gaps      int
	satAt     int // first sample at the scale's end; len(y): none
	drifted   bool
	noRest    bool
	batched   bool
	short     bool
	room      *room
	handFall  float64 // s, quickest drop so far that was a hand's, for the load went on past it; 0: none
}

const (
	minSamples = 8
	tooGreat   = 1e150 // N: no reading, and its square would overflow
	sampled    = 512   // a median over more values than this is taken over a regular part of them
	gapFactor  = 3.5   // times the usual spacing: a gap
)

// room is the memory that judging one record takes. It is used again for the
// next: without that, collecting it is a tenth of the time of a thousand records.
type room struct {
	y     []float64 // of a signal
	bins  [3][]float64
	first []int32
}

var rooms = sync.Pool{New: func() any { return new(room) }}

// prepare copies the forces into m; times are copied only where they change.
func prepare(tr trial.Trace, o Options, m *room) *signal {
	s := &signal{sign: 1, room: m}
	s.load(tr)
	s.satAt = len(s.y)
	if len(s.y) < minSamples {
		s.short = true
		return s
	}
	s.spacing()
	s.gaps += o.Breaks
	s.step = s.division()
	if o.Division > 0 {
		s.step = o.Division
	}
	s.white = scatter(s.y)
	s.sigma = s.white
	s.despike()
	if s.spikes > 0 {
		s.measure()
	}
	s.setRest(o)
	return s
}

// load takes the finite readings.
func (s *signal) load(tr trial.Trace) {
	s.t = tr.T
	s.room.y = append(s.room.y[:0], tr.Force...)
	s.y = s.room.y
	if s.measure(); s.hi <= tooGreat && s.lo >= -tooGreat {
		return
	}
	s.loadFinite(tr)
	s.measure()
}

// measure finds the least and the greatest reading. One that is not finite
// makes both NaN.
func (s *signal) measure() {
	lo, hi, bad := math.Inf(1), math.Inf(-1), 0.0
	for _, v := range s.y {
		if v < lo {
			lo = v
		}
		if v > hi {
			hi = v
		}
		bad += v - v
	}
	s.lo, s.hi = lo+bad, hi+bad
}

func (s *signal) loadFinite(tr trial.Trace) {
	s.t = make([]float64, 0, len(tr.T))
	s.y = s.y[:0]
	for i, f := range tr.Force {
		if math.Abs(f) > tooGreat || f != f {
			s.gaps++
			continue
		}
		s.t = append(s.t, tr.T[i])
		s.y = append(s.y, f)
	}
}

// spacing finds the usual sample spacing, gaps, and time stamps in bunches.
func (s *signal) spacing() {
	n := len(s.t)
	s.dt = sampledMedian(n-1, func(i int) float64 { return s.t[i+1] - s.t[i] })
	mean := (s.t[n-1] - s.t[0]) / float64(n-1)
	if s.dt < 0.3*mean {
		s.batched = s.spread(mean)
	}
	limit := gapFactor * s.dt
	if s.batched {
		return // gaps cannot be told from bunches
	}
	for i := 1; i < n; i++ {
		if s.t[i]-s.t[i-1] > limit {
			s.gaps++
		}
	}
}

// spread evens out time stamps that came in bunches: within each bunch the
// samples are placed evenly up to the bunch's last stamp.
func (s *signal) spread(mean float64) bool {
	t := append([]float64(nil), s.t...)
	from, bunches := 0, 0
	for i := 1; i <= len(s.t); i++ {
		if i < len(s.t) && s.t[i]-s.t[i-1] < 0.3*mean {
			continue
		}
		end := s.t[i-1]
		start := end - mean*float64(i-from)
		if from > 0 {
			start = s.t[from-1]
		}
		for j := from; j < i; j++ {
			t[j] = start + (end-start)*float64(j-from+1)/float64(i-from)
		}
		bunches++
		from = i
	}
	if bunches < 4 {
		return false
	}
	for i := 1; i < len(t); i++ {
		if !(t[i] > t[i-1]) {
			return false
		}
	}
	s.t, s.dt = t, mean
	return true
}

// division finds the reading step: the least difference between neighbours
// when nearly all differences are whole multiples of it, and it is not as fine
// as to be of no matter (a ten-thousandth of the range).
func (s *signal) division() float64 {
	y := s.y
	fine := 1e-4 * (s.hi - s.lo)
	if n := len(y) - 1; n > 2*sampled { // most records are fine, as a few neighbours show
		for k := range sampled {
			i := k * (n / sampled)
			if d := math.Abs(y[i+1] - y[i]); d > 0 && d < fine {
				return 0
			}
		}
	}
	least, last := math.Inf(1), y[0]
	for _, v := range y {
		if d := math.Abs(v - last); d > 0 && d < least {
			if d < fine {
				return 0
			}
			least = d
		}
		last = v
	}
	if math.IsInf(least, 1) {
		return 0
	}
	fit, all := 0, 0
	last = y[0]
	for _, v := range y {
		if d := math.Abs(v - last); d > 0 {
			all++
			if k := d / least; math.Abs(k-math.Round(k)) < 0.01 {
				fit++
			}
		}
		last = v
	}
	if fit < all-all/50 {
		return 0
	}
	return least
}

// scatter estimates the noise of one reading from second differences, by the
// median so that events do not count: 1.4826·median|d2|/√6.
func scatter(y []float64) float64 {
	return 1.4826 / math.Sqrt(6) * sampledMedian(len(y)-2, func(i int) float64 {
		return math.Abs(y[i] - 2*y[i+1] + y[i+2])
	})
}

// despike replaces lone readings, or two together, that come back at once by
// the line between their neighbours.
func (s *signal) despike() {
	y, span := s.y, s.hi-s.lo
	least := max(8*s.sigma, 3*s.step, 0.008*span)
	s.despikeEnds(max(least, 0.05*span))
	for i := 1; i+1 < len(y); i++ {
		d := y[i] - y[i-1]
		if d < least && d > -least {
			continue
		}
		for w := 1; w <= 2 && i+w < len(y); w++ {
			if s.isSpike(i, w, least) {
				a, b := y[i-1], y[i+w]
				for j := i; j < i+w; j++ {
					y[j] = a + (b-a)*(s.t[j]-s.t[i-1])/(s.t[i+w]-s.t[i-1])
				}
				s.spikes++
				break
			}
		}
	}
}

// despikeEnds sets the first and the last reading to their neighbour where
// they stand off from a quiet run of three.
func (s *signal) despikeEnds(least float64) {
	y, n := s.y, len(s.y)
	for _, e := range [][4]int{{0, 1, 2, 3}, {n - 1, n - 2, n - 3, n - 4}} {
		a, b, c := y[e[1]], y[e[2]], y[e[3]]
		if math.Abs(y[e[0]]-a) > least+4*math.Abs(a-b) && math.Abs(a-b)+math.Abs(b-c) < 0.5*least {
			y[e[0]] = a
			s.spikes++
		}
	}
}

// isSpike tells whether the w readings from i on stand off from both
// neighbours, which agree with each other, and continue neither the course
// before them (the top of a sharp slip) nor the course after them (the bottom
// between two breaks).
func (s *signal) isSpike(i, w int, least float64) bool {
	y := s.y
	a, b := y[i-1], y[i+w]
	dev := math.Inf(1)
	for _, v := range y[i : i+w] {
		dev = min(dev, max(v-max(a, b), min(a, b)-v))
	}
	if dev < least {
		return false
	}
	before, after := 0.0, 0.0 // slopes, N a sample, blind to one more spike nearby
	if i >= 3 {
		before = lesser(a-y[i-2], (a-y[i-3])/2)
	}
	if i+w+2 < len(y) {
		after = lesser(y[i+w+1]-b, (y[i+w+2]-b)/2)
	}
	course := 0.0
	if before*after > 0 && (b-a)*before > 0 { // the same course goes on
		course = math.Abs(before) + math.Abs(after)
	}
	if math.Abs(a-b) > min(0.15*dev+4*s.sigma+s.step, 0.6*dev)+course*float64(w) {
		return false
	}
	return math.Abs(y[i]-a-before) > 0.5*dev && math.Abs(y[i+w-1]-b+after) > 0.5*dev
}

// lesser is the one of two numbers that is nearer to zero.
func lesser(a, b float64) float64 {
	if math.Abs(a) < math.Abs(b) {
		return a
	}
	return b
}
