package slip

import (
	"math"

	"griptrial/analysis/trial"
)

func (s *signal) judge() Result {
	nan := math.NaN()
	r := Result{Outcome: trial.Unclear, SlipForce: nan, SlipTime: nan, Low: nan, High: nan, PeakForce: nan, PeakTime: nan}
	r.Evidence = Evidence{Chosen: -1, Rest: s.rest, Noise: s.sigma, Step: s.step, Spacing: s.dt, Reverse: s.sign < 0}
	if len(s.y) > 0 {
		r.PeakForce, r.PeakTime = s.y[s.peak], s.t[s.peak]
	}
	tie := false
	if !s.short {
		tie = s.decide(&r)
	}
	r.Flags = s.flags(tie, r.PeakForce)
	return r
}

func (s *signal) flags(tie bool, peak float64) []Flag {
	var f []Flag
	add := func(on bool, g Flag) {
		if on {
			f = append(f, g)
		}
	}
	add(s.satAt < len(s.y), Saturated)
	add(s.gaps > 0, Dropout)
	add(s.spikes > 0, Spike)
	add(s.drifted, Drift)
	add(tie, TieSuspect)
	add(s.short, Short)
	add(s.step > 0.005*peak, Coarse)
	add(s.batched, Batched)
	add(s.noRest, NoRest)
	return f
}

// decide walks through the drops in order of time.
func (s *signal) decide(r *Result) (tie bool) {
	b := s.bin()
	peak := 0
	for i, v := range b.y {
		if v > b.y[peak] {
			peak = i
		}
	}
	rip := b.ripple(peak)
	h := max(3.5*b.noise, 2.2*rip, 1.1*s.step, 0.004*b.y[peak])
	ev := b.drops(h)
	chosen := -1
	seats := 0
	for k := range ev {
		e := &ev[k]
		e.Time, e.Force, e.Ripple = b.t[e.top], b.y[e.top], rip
		e.Drop = e.Force - b.y[e.bottom]
		if chosen >= 0 || int(b.first[e.top+1]) > s.satAt {
			e.Meaning = MeansAfter
			e.Fall = b.fall(*e)
			continue
		}
		next := len(b.y) - 1
		if k+1 < len(ev) {
			next = ev[k+1].top
		}
		s.weigh(&b, e, next, ev[k+1:])
		switch e.Meaning {
		case MeansSlip, MeansVanish:
			chosen = k
		case MeansSeat:
			seats++
		}
	}
	r.Evidence.Events = ev
	end := peak
	if chosen >= 0 {
		end = ev[chosen].top
	}
	if k, ok := s.knee(&b, end); ok && int(b.first[k]) < s.satAt {
		s.setCreep(r, &b, k)
		return false
	}
	if chosen < 0 {
		r.Outcome = trial.Held
		return false
	}
	r.Evidence.Chosen = chosen
	if ev[chosen].Meaning == MeansVanish {
		return true
	}
	r.Outcome, r.Kind = trial.Slipped, s.kind(&b, ev[chosen:])
	s.interval(r, &b, ev[chosen])
	return false
}

// weigh says what one drop means, in the light of what followed.
func (s *signal) weigh(b *bins, e *Event, next int, rest []Event) {
	e.Fall = b.fall(*e)
	e.Before = b.loading(e.top)
	low := b.y[e.bottom]
	for i := e.bottom; i <= next; i++ {
		e.Later = max(e.Later, b.y[i])
	}
	quick := e.Fall <= 0.1+1.5*b.dt
	gone := low < 0.12*e.Force+h0(s) && e.Later < 0.3*e.Force
	switch {
	case e.Force < 0.08*s.y[s.peak]:
		e.Meaning = MeansHand
	case gone && e.Fall <= max(0.05, 3*s.dt):
		e.Meaning = MeansVanish
	case gone:
		e.Meaning = MeansHand
	case quick && s.seats(b, e, next):
		e.Meaning = MeansSeat
	case quick && e.Drop/e.Fall > 1.2*e.Before:
		e.Meaning = MeansSlip
	case s.settles(b, e, next):
		e.Meaning = MeansSlip
	default:
		e.Meaning = MeansHand
	}
}

func h0(s *signal) float64 { return 3*s.sigma + s.step }

// seats tells whether the force climbs back at the loading slope and well past
// the top.
func (s *signal) seats(b *bins, e *Event, next int) bool {
	if e.Later < e.Force+max(0.3*e.Drop, 0.03*e.Force) {
		return false
	}
	back := e.bottom
	for back < next && b.y[back] < e.Force {
		back++
	}
	e.After = (e.Force - b.y[e.bottom]) / (b.t[back] - b.t[e.bottom])
	trend := (e.Later - e.Force) / (b.t[next] - b.t[e.top])
	return e.After > 0.5*e.Before && trend > 0.3*e.Before
}

// settles tells whether a slower drop comes out of a rise and ends on a level
// that stays: the part slides on.
func (s *signal) settles(b *bins, e *Event, next int) bool {
	if e.Fall > 0.45 || e.Drop > 0.15*e.Force {
		return false
	}
	// the rise goes on to the top
	from := e.top
	for from > 0 && b.t[e.top]-b.t[from] < 0.25 {
		from--
	}
	if rise, _ := line(b.t, b.y, from, e.top); rise < 0.3*e.Before {
		return false
	}
	// flat afterwards
	low := b.y[e.bottom]
	to := e.bottom
	for to < len(b.y)-1 && b.t[to]-b.t[e.bottom] < 0.35 {
		to++
	}
	if b.t[to]-b.t[e.bottom] < 0.15 {
		return false
	}
	for i := e.bottom; i <= to; i++ {
		if b.y[i] > low+0.75*e.Drop+2*e.Ripple || b.y[i] < low-0.5*e.Drop {
			return false
		}
	}
	return true
}

// kind tells sharp from stick-slip by the drops after the slip.
func (s *signal) kind(b *bins, ev []Event) Kind {
	again := 0
	for _, e := range ev[1:] {
		if e.Drop > 0.03*ev[0].Force && e.Fall <= 0.1+1.5*b.dt {
			again++
		}
	}
	if again >= 2 {
		return StickSlip
	}
	return Sharp
}

// interval puts bounds on a sharp slip.
func (s *signal) interval(r *Result, b *bins, e Event) {
	top := int(b.first[e.top])
	for i := int(b.first[max(0, e.top-1)]); i < int(b.first[min(e.top+2, len(b.y))]); i++ {
		if s.y[i] > s.y[top] {
			top = i
		}
	}
	se := math.Hypot(s.sigma, s.restErr)
	lag := e.Before * s.dt
	r.SlipForce, r.SlipTime = s.y[top]+0.5*lag, s.t[top]
	r.Low = s.y[top] - 2*se - s.step/2
	r.High = s.y[top] + 2*se + s.step/2 + 1.5*lag
}

// knee looks for a lasting fall of the slope before bin top: below half the
// loading slope from the knee on, with the force still rising by some percent
// for a good part of the loading time.
func (s *signal) knee(b *bins, top int) (int, bool) {
	rise := b.t[top] - b.t[0]
	w := max(2, int(rise/40/b.dt), int(0.06/b.dt))
	n := top / w
	if n < 8 {
		return 0, false
	}
	m := make([]float64, n) // slope of piece i, which ends at top-(n-1-i)·w
	for i := range m {
		z := top - (n-1-i)*w
		m[i] = (b.y[z] - b.y[z-w]) / (b.t[z] - b.t[z-w])
	}
	var steep []float64
	for i := range m {
		z := top - (n-1-i)*w
		if b.y[z] > 0.2*b.y[top] && b.y[z] < 0.85*b.y[top] {
			steep = append(steep, m[i])
		}
	}
	if len(steep) < 3 {
		return 0, false
	}
	full := median(steep)
	k := n - 1
	for k >= 0 && m[k] < 0.5*full {
		k--
	}
	if k < 0 || k > n-4 {
		return 0, false
	}
	z := top - (n-1-k)*w
	share := 1 - b.y[z]/b.y[top]
	if share < 0.025 || share > 0.45 || b.t[top]-b.t[z] < max(0.3, 0.1*rise) {
		return 0, false
	}
	return z, true
}

func (s *signal) setCreep(r *Result, b *bins, k int) {
	r.Outcome, r.Kind = trial.Slipped, Creep
	r.SlipForce, r.SlipTime = b.y[k], b.t[k]
	m := b.loading(k)
	r.Low, r.High = b.y[k]-m*0.1-2*b.noise, b.y[k]+m*0.1+2*b.noise
}
