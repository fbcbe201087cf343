package slip

import "math"

// approach is the end of the rise before a sharp slip.
type approach struct {
	last  int     // last sample before the fall
	level float64 // N, of the rise at that sample
	slope float64 // N/s there
	err   float64 // N, standard error of level
	fall  float64 // samples that the fall took
}

// approach finds the last sample before the fall of e and fits a line to the
// rise that ends there. The line is as long as the rise is straight: it starts
// from four samples and doubles while its end does not depart from the readings.
func (s *signal) approach(b *bins, e Event) approach {
	last := s.breaks(b, e)
	a := approach{last: last, fall: e.Fall / s.dt}
	n := 4
	for n <= 64 && s.t[last]-s.t[max(0, last-n+1)] < 0.3+4*s.dt {
		if last-n+1 < s.onset {
			break
		}
		slope, level := line(s.t, s.y, last-n+1, last)
		se := s.sigma * 2 / math.Sqrt(float64(n)) // of the end of a line
		if n > 4 && !s.straight(last, n, slope, level) {
			break
		}
		a.slope, a.level, a.err = slope, level, se
		n *= 2
	}
	if a.err == 0 { // hardly any rise
		a.level, a.err = s.y[last], s.sigma
	}
	a.slope = max(0, a.slope)
	return a
}

// breaks is the last sample of the rise before a drop: where the readings see
// the drop develop, the greatest of their running mean; where it falls between
// readings, the last that stands at the top.
func (s *signal) breaks(b *bins, e Event) int {
	from := int(b.first[max(0, e.top-1)])
	if e.Drop < 8*s.sigma { // noise or division hides where it falls
		last := int(b.first[e.top+1]) - 1
		for i := last - 1; i >= from && s.step > 2*s.white; i-- {
			if s.y[i] > s.y[last] {
				last = i
			}
		}
		return last
	}
	fallen := int(b.first[e.top])
	for fallen < len(s.y)-1 && s.y[fallen] > e.Force-0.5*e.Drop {
		fallen++
	}
	fallen = max(fallen, from+1)
	if n := e.Fall / s.dt; n > resolved && s.step < 2*s.white {
		return s.crest(from, fallen, min(int(n/4), 32))
	}
	hi := from
	for i := from; i < fallen; i++ {
		if s.y[i] >= s.y[hi] {
			hi = i
		}
	}
	last := fallen - 1
	for last > hi && s.y[last] < s.y[hi]-max(3*s.sigma, min(0.1*e.Drop, 0.003*e.Force)) {
		last--
	}
	return last
}

// resolved is how many readings a fall must take for its shape to show.
const resolved = 4.5

// crest is the last sample of the k whose mean is greatest.
func (s *signal) crest(from, to, k int) int {
	k = max(1, min(k, to-from))
	sum, best, at := 0.0, math.Inf(-1), from
	for i := from; i < to; i++ {
		sum += s.y[i]
		if i-from >= k {
			sum -= s.y[i-k]
		}
		if i-from >= k-1 && sum > best {
			best, at = sum, i
		}
	}
	return at
}

// straight tells whether the last quarter of n readings lies on the line.
func (s *signal) straight(last, n int, slope, level float64) bool {
	k := n / 4
	sum := 0.0
	for i := last - k + 1; i <= last; i++ {
		sum += s.y[i] - level - slope*(s.t[i]-s.t[last])
	}
	return math.Abs(sum/float64(k)) < 2*s.sigma/math.Sqrt(float64(k))+0.1*s.step+1e-12
}

// stepped is the approach in a record whose division hides the noise: the
// readings stand on steps. The force at the start of a step lies half a division
// below its reading, and grows with the slope of the steps before it.
func (s *signal) stepped(last int) (level, err float64) {
	q := s.y[last]
	at := func(f float64, from int) int { // first reading of f or more in the rise that ends at from
		for from > 0 && s.y[from-1] > f-s.step/2 {
			from--
		}
		return from
	}
	start := at(q, last)
	before := at(q-3*s.step, start)
	rate := 0.0
	if before < start {
		rate = (q - s.y[before]) / (s.t[start] - s.t[before])
	}
	level = q - s.step/2 + rate*(s.t[last]-s.t[start]+s.dt/2)
	return min(level, q+s.step/2), 0.27 * s.step
}

// What a sharp slip adds to the last reading before the fall, in units of what
// the load rises from one reading to the next: the usual value and 95 % bounds,
// by the number of readings that the fall is spread over. The part breaks
// between two readings, and an averaging instrument lags by half of what it
// averages (its fall then takes as many readings). Found from simulated pulls.
var beyond = []struct{ readings, usual, low, high float64 }{
	{0.85, 0.25, -0.7, 1.6},
	{2, 0.5, -0.9, 2.3},
	{2.8, 0.6, -1, 2.8},
	{resolved, 1, -1, 3.3},
	{math.Inf(1), 0, -2, 2},
}

// Shares of the force by which an interval is wider, at 95 %, for what no noise
// shows: a peak that is round and not straight up to the break, and a zero that
// the record does not come back to. Common practice, no source.
const (
	roundness = 0.0035
	unrested  = 0.004
)

// fastLag is the share of the force by which the load may rise between two
// readings before the result says so.
const fastLag = 0.02

// setForce puts the force and its interval to a sharp slip.
//
// The interval is of 95 %: twice the standard error of the line at the slip and
// of the rest, half a division where the line does not see through it, and the
// range of what the sampled peak falls short of the true one.
func (s *signal) setForce(r *Result, b *bins, e Event) {
	a := s.approach(b, e)
	if s.step > 2*s.white {
		a.level, a.err = s.stepped(a.last)
	}
	lag := a.slope * s.dt
	se := math.Hypot(max(a.err, 0.5*s.sigma), s.restErr)
	own := roundness
	if !s.restAgain {
		own = math.Hypot(own, unrested)
	}
	k := 0
	for a.fall > beyond[k].readings {
		k++
	}
	m := beyond[k]
	spread := math.Hypot(2*se, own*a.level)
	r.SlipForce, r.SlipTime = a.level+m.usual*lag, s.t[a.last]
	r.Low = r.SlipForce - math.Hypot(spread, (m.usual-m.low)*lag)
	r.High = r.SlipForce + math.Hypot(spread, (m.high-m.usual)*lag)
	if lag > fastLag*a.level {
		r.Flags = append(r.Flags, Fast)
	}
	r.Evidence.approach = a
}
