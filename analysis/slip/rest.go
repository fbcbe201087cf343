package slip

import (
	"math"
)

// setRest finds the sign, the rest offset with its drift, and the start of the
// load; afterwards y is the force above rest.
func (s *signal) setRest(o Options) {
	y, n := s.y, len(s.y)
	head := min(n, max(5, n/50))
	b := sampledMedian(head, func(i int) float64 { return y[i] })
	lo, hi := s.lo, s.hi
	if b-lo > hi-b {
		s.sign = -1
		for i := range y {
			y[i] = -y[i]
		}
		b, lo, hi = -b, -hi, -lo
	}
	amp := hi - b
	thr := max(0.04*amp, 5*s.sigma, 1.5*s.step)
	on := 0
	for on < n-1 && y[on] < b+max(0.5*amp, thr) {
		on++
	}
	for on > 0 && y[on] > b+thr {
		on--
	}
	s.onset = on
	foot := 0
	for foot < on && y[foot] < b+thr {
		foot++
	}
	foot -= foot / 8 // the foot of the load lies before the threshold
	if foot < 3 {
		s.noRest = true
		foot = min(n, 3)
		if tail := s.tail(lo, thr, amp); tail >= 3 {
			b = sampledMedian(tail, func(i int) float64 { return y[n-tail+i] })
		} else {
			b = lo
		}
	} else {
		b = sampledMedian(foot, func(i int) float64 { return y[i] })
	}
	s.rest = s.sign * b
	quiet := 1.4826 * sampledMedian(foot, func(i int) float64 { return math.Abs(y[i] - b) })
	if s.noRest {
		quiet = 0
	}
	s.sigma = max(s.sigma, quiet, s.step/math.Sqrt(12))
	s.restErr = s.sigma / math.Sqrt(float64(foot))
	s.findEnd(b, hi, o)
	slope, mid := 0.0, 0.0
	if tail := s.tail(b, thr, amp); !s.noRest && tail >= 5 {
		s.restAgain = true
		slope, mid = s.driftTo(b, foot, tail)
	}
	greatest := math.Inf(-1)
	for i, v := range y {
		v -= b
		if slope != 0 {
			v -= slope * (s.t[i] - mid)
		}
		y[i] = v
		if v > greatest {
			greatest, s.peak = v, i
		}
	}
	if y[s.peak] < max(8*s.sigma, 3*s.step) || n-on < 5 {
		s.short = true
	}
}

// tail counts the samples at the end of the record that are at rest again: near
// the rest b, or near each other and not far from b, for the zero may have moved.
func (s *signal) tail(b, thr, amp float64) int {
	n := len(s.y)
	last := min(n, max(5, n/100))
	if end := sampledMedian(last, func(i int) float64 { return s.y[n-last+i] }); math.Abs(end-b) < 0.1*amp {
		b = end
	}
	i := n
	for i > 0 && math.Abs(s.y[i-1]-b) < thr {
		i--
	}
	return n - i - (n-i)/4 // the end of the let-down is no rest
}

// driftTo measures the drift from the rest before the pull to the rest after
// it, and where the line through both has the value b. Zero where the two
// agree within their errors.
func (s *signal) driftTo(b float64, foot, tail int) (slope, mid float64) {
	n := len(s.y)
	end := sampledMedian(tail, func(i int) float64 { return s.y[n-tail+i] })
	t0 := (s.t[0] + s.t[foot-1]) / 2
	t1 := (s.t[n-tail] + s.t[n-1]) / 2
	err := 1.25 * s.sigma * math.Sqrt(1/float64(foot)+1/float64(tail))
	if math.Abs(end-b) < 3*err+s.step/2 || t1 <= t0 {
		return 0, 0
	}
	s.drifted = true
	return (end - b) / (t1 - t0), t0
}

// findEnd looks for readings that stand at the scale's end: a flat top of
// equal readings that the load ran into. y is upright, from rest b to top.
func (s *signal) findEnd(b, top float64, o Options) {
	y := s.y
	if o.Capacity > 0 {
		end := o.Capacity - max(s.step/2, 1e-6*o.Capacity)
		for s.satAt = 0; s.satAt < len(y) && y[s.satAt] < end; s.satAt++ {
		}
		return
	}
	at, count, run, longest := len(y), 0, 0, 0
	tol := 1e-9 * (math.Abs(top) + math.Abs(b))
	for i, v := range y {
		if v < top-tol {
			run = 0
			continue
		}
		if count == 0 {
			at = i
		}
		count++
		run++
		longest = max(longest, run)
	}
	need := 4
	if s.step > 0.3*s.sigma { // equal readings are nothing special: the load must have run into it
		need = 4 + 7*s.longestRun(at, b)/2
		count = longest
	}
	// in a fine and noisy record already two in a row tell, if the load was rising
	pair := s.step == 0 && longest >= 2 && at > 0 && y[at]-y[at-1] > 8*s.white && s.white > 1e-6*top
	if count >= need || pair {
		s.satAt = at
	}
}

// longestRun is the greatest number of equal readings in a row while the load
// rises, between a fifth and nearly all of the force at sample at.
func (s *signal) longestRun(at int, b float64) int {
	low := b + 0.2*(s.y[at]-b)
	run, longest := 0, 0
	for i := s.onset + 1; i < at; i++ {
		run++
		if s.y[i] != s.y[i-1] || s.y[i] < low {
			run = 0
		}
		longest = max(longest, run)
	}
	return longest
}
