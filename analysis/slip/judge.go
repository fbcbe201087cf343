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
	r.Flags = append(s.flags(tie, r.PeakForce), r.Flags...)
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
	rip := b.ripple(b.firstTop(peak))
	h := max(3.5*b.noise, 2.4*rip, 1.1*s.step, 0.004*b.y[peak])
	ev := b.drops(h)
	chosen := -1
	b.look()
	for k := range ev {
		e := &ev[k]
		e.Time, e.Force, e.Ripple = b.t[e.top], b.y[e.top], rip
		e.Drop = e.Force - b.y[e.bottom]
		e.Fall = s.fall(&b, e)
		if chosen >= 0 || int(b.first[e.top+1]) > s.satAt {
			e.Meaning = MeansAfter
			continue
		}
		e.next = len(b.y) - 1
		if k+1 < len(ev) {
			e.next = ev[k+1].top
		}
		s.weigh(&b, e)
		if e.Meaning == MeansSlip || e.Meaning == MeansVanish {
			chosen = k
		}
	}
	r.Evidence.Events = ev
	end := peak
	if chosen >= 0 {
		end = ev[chosen].top
	}
	if s.satAt < len(s.y) {
		for end > 0 && int(b.first[end]) > s.satAt {
			end--
		}
	}
	k := b.findKnee(end, rip)
	if broke := chosen >= 0 && ev[chosen].Drop > 0.04*ev[chosen].Force; k.ok && !broke {
		s.setCreep(r, &b, k)
		return false
	}
	if chosen < 0 && s.satAt == len(s.y) {
		e, strength := b.flatTop(peak, rip, s.step)
		stood := b.stood(peak)
		switch {
		case strength > 2.5:
			ev = append(ev, e)
			chosen = len(ev) - 1
			r.Evidence.Events = ev
		case strength > 1.3, strength > 0.8 && stood > 0.8, strength < 0 && stood > 1, k.faint && stood > 0.8, stood > 1.5:
			e.Meaning = MeansFaint
			r.Evidence.Events = append(ev, e)
			r.Evidence.Chosen = len(ev)
			r.Flags = append(r.Flags, Faint)
			return false
		}
	}
	if chosen < 0 {
		r.Outcome = trial.Held
		return false
	}
	if e := ev[chosen]; e.Meaning == MeansVanish && !b.rising(&e) {
		// it stood before it went: did it slide?
		if top, strength := b.flatTop(peak, rip, s.step); strength > 0.7 && peak < e.top {
			ev = append(ev, top)
			chosen = len(ev) - 1
			r.Evidence.Events = ev
		}
	}
	r.Evidence.Chosen = chosen
	if ev[chosen].Meaning == MeansVanish {
		return true
	}
	r.Outcome, r.Kind = trial.Slipped, s.kind(&b, ev[chosen:])
	s.setForce(r, &b, ev[chosen])
	return ev[chosen].gone
}

// weigh says what one drop means, in the light of what followed.
func (s *signal) weigh(b *bins, e *Event) {
	e.Before = b.loading(e.top)
	if mean := b.y[e.top] / (b.t[e.top] - b.t[0] + b.dt); mean < e.Before {
		e.Before = mean
	}
	low := b.y[e.bottom]
	for i := e.bottom; i <= e.next; i++ {
		e.Later = max(e.Later, b.y[i])
	}
	rate := 0.8 * e.Drop / e.Fall
	quick := e.Fall <= s.noHand(b, e) && (rate > 2.2*e.Before || !b.resumes(e)) ||
		e.Fall <= 0.1+2.5*b.dt && rate > 2*e.Before && !b.resumes(e)
	gone := low < 0.1*e.Force+3*s.sigma+s.step && b.ahead[e.bottom] < 0.3*e.Force
	rising := b.rising(e)
	e.gone = gone
	switch {
	case len(s.y)-int(b.first[e.top+1]) < 3:
		e.Meaning = MeansFaint // the record ends in it
	case e.Force < 0.08*s.y[s.peak]:
		e.Meaning = MeansHand
	case gone && e.Fall <= 0.008+3.3*s.dt && (rising || e.Fall < 0.12):
		e.Meaning = MeansVanish
	case gone && e.Fall <= 0.06+s.dt:
		e.Meaning = MeansSlip // quicker than a hand, slower than a tie: it leaves the jaws
	case gone:
		e.Meaning = MeansHand
	case quick && b.climbs(e):
		e.Meaning = MeansSeat
	case quick && b.comesBack(e), e.Drop < 3*e.Ripple && !(rising && s.timed(e) && e.Fall <= s.noHand(b, e) && rate > e.Before):
		e.Meaning = MeansFaint
	case quick && b.goesOn(e) < 0.35*rate && (rising || b.steps(e)):
		e.Meaning = MeansSlip
	case b.settles(e, s.step):
		e.Meaning = MeansSlip
	default:
		e.Meaning = MeansHand
	}
}

// noHand is the time in which no hand makes a drop: a twentieth of a second and
// what the sampling blurs.
func (s *signal) noHand(b *bins, e *Event) float64 {
	if s.timed(e) {
		return 0.05 + 2*s.dt
	}
	return 0.06 + 1.2*b.dt
}

// resumes tells whether the load later passes the top of a drop, and passes it
// about as steeply as it came: the hand had eased it.
func (b *bins) resumes(e *Event) bool {
	if b.ahead[e.bottom] < 1.08*e.Force+2*e.Ripple {
		return false
	}
	i := e.bottom
	for b.y[i] < e.Force {
		if i++; i-e.bottom > 5*reach {
			return false
		}
	}
	w := max(2, int(0.1/b.dt))
	from, to := max(e.bottom, i-w), min(len(b.y)-1, i+w)
	slope, _ := line(b.t, b.y, from, to)
	return slope > 0.5*e.Before
}

// comesBack tells whether a small drop is a swing of a load that stands: the
// force is back at the top within half a second, and does not go on from there.
func (b *bins) comesBack(e *Event) bool {
	if e.Drop > max(0.025*e.Force, 6*e.Ripple) || e.Drop > 0.05*e.Force {
		return false
	}
	for i := e.bottom; i < len(b.y) && b.t[i]-b.t[e.bottom] < 0.5; i++ {
		if b.y[i] > e.Force-0.25*e.Drop {
			return true
		}
	}
	return false
}

// steps tells whether a drop out of a load that stands is one that no
// trembling hand makes: out of the ripple, and large or very quick.
func (b *bins) steps(e *Event) bool {
	if e.Drop < 0.01*e.Force || e.Drop < 3*e.Ripple {
		return false
	}
	return e.Drop > max(0.025*e.Force, 4.5*e.Ripple) || e.Fall < 0.04+0.3*b.dt
}

// goesOn is the rate in N/s at which the force goes on falling after a drop.
func (b *bins) goesOn(e *Event) float64 {
	to := e.bottom
	for to < len(b.y)-1 && (to-e.bottom < 3 || b.t[to]-b.t[e.bottom] < 0.08) {
		to++
	}
	if to == e.bottom {
		return 0
	}
	m, _ := line(b.t, b.y, e.bottom, to)
	return max(0, -m)
}

// climbs tells whether the force climbs on at about the loading slope, well
// past the top of a drop: to the top of the next drop, or within a good part of
// the force, over further drops.
func (b *bins) climbs(e *Event) bool {
	margin := max(0.3*e.Drop, 0.03*e.Force, 2*e.Ripple)
	trend := func(i int) bool {
		return (b.y[i]-e.Force)/(b.t[i]-b.t[e.top]) > 0.35*e.Before
	}
	hi := e.bottom
	for i := e.bottom; i <= e.next; i++ {
		if b.y[i] > b.y[hi] {
			hi = i
		}
	}
	if e.Drop > 0.28*e.Force || !b.reloads(e) {
		return false
	}
	if b.y[hi] > e.Force+margin && trend(hi) {
		return true
	}
	far := e.Force + max(0.12*e.Force, e.Drop)
	for i := e.bottom; i < len(b.y) && b.ahead[i] >= far && i-e.bottom < reach; i++ {
		if b.y[i] >= far {
			if trend(i) {
				return true
			}
			far += 0.2 * e.Force
		}
	}
	return false
}

// reloads tells whether the load comes back at once after a drop: half of the
// drop is regained in little more than the time that the loading slope needs
// for it, and the pauses that the load made before.
func (b *bins) reloads(e *Event) bool {
	if e.Before <= 0 {
		return false
	}
	limit := 1.1*e.Drop/e.Before + 0.06 + 1.2*b.slack(e.top, 0.45*e.Before) + 2*b.dt
	for i := e.bottom; i < len(b.y) && b.t[i]-b.t[e.bottom] <= limit; i++ {
		if b.y[i] >= b.y[e.bottom]+0.5*e.Drop {
			e.After = (b.y[i] - b.y[e.bottom]) / (b.t[i] - b.t[e.bottom])
			return true
		}
	}
	return false
}

// rising tells whether the load rises up to the top of a drop, beyond what it
// was shortly before.
func (b *bins) rising(e *Event) bool {
	if e.Before <= 0 {
		return false
	}
	span := min(max(0.2, 3*e.Ripple/e.Before, 3*b.dt), 1)
	i := e.top
	for i > 0 && b.t[e.top]-b.t[i] < span {
		i--
	}
	earlier := b.y[i]
	for ; i > 0 && b.t[e.top]-b.t[i] < 2*span; i-- {
		earlier = max(earlier, b.y[i])
	}
	return b.y[e.top]-earlier > max(0.3*e.Before*span, 0.8*e.Ripple)
}

// settles tells whether a slower drop comes out of a rise and ends on a level
// that stays and is not passed again: the part slides on.
func (b *bins) settles(e *Event, step float64) bool {
	if e.Fall > 0.3+1.5*b.dt || e.Drop > 0.12*e.Force || b.ahead[e.bottom] > e.Force+0.3*e.Drop || b.comesBack(e) {
		return false
	}
	if !b.rising(e) {
		return false
	}
	after := *e
	return b.level(&after, max(1.3*e.Fall, 0.2, 3*b.dt), max(1.3*e.Fall+0.35, 0.6, 7*b.dt), step) > 1.3
}

// flatTop looks for a faint drop at the peak that a flat level follows: what
// falls at once is much more than what sags later. strength is the drop in
// units of its own uncertainty; 0 where the shape is another; negative where
// the level is more ragged than the load was.
func (b *bins) flatTop(peak int, ripple, step float64) (e Event, strength float64) {
	e = Event{top: peak, Time: b.t[peak], Force: b.y[peak], Ripple: ripple, Before: b.loading(peak), Meaning: MeansSlip}
	if !b.rising(&e) {
		return e, 0
	}
	for _, w := range []float64{0.35, 0.2} {
		if strength = b.level(&e, max(w, 3*b.dt), max(2.6*w, 9*b.dt), step); strength > 0 {
			break
		}
	}
	return e, strength
}

// stood is the time in s for which the force stayed within 4 % of its peak.
func (b *bins) stood(peak int) float64 {
	i, j := peak, peak
	for i > 0 && b.y[i-1] > 0.96*b.y[peak] {
		i--
	}
	for j < len(b.y)-1 && b.y[j+1] > 0.96*b.y[peak] {
		j++
	}
	return b.t[j] - b.t[i]
}

// level compares the top of an event with the level from a to z seconds after
// it.
func (b *bins) level(e *Event, a, z, step float64) float64 {
	after := func(d float64) int {
		i := e.top
		for i < len(b.y)-1 && b.t[i]-b.t[e.top] < d {
			i++
		}
		return i
	}
	i, j := after(a), after(z)
	if j-i < 4 || b.t[j]-b.t[e.top] < 0.9*z {
		return 0
	}
	slope, level := line(b.t, b.y, i, j)
	mid := level - slope*(b.t[j]-b.t[i])/2
	top, n := b.y[e.top], 1.0
	for _, k := range []int{e.top - 1, e.top + 1} {
		if k >= 0 && k < len(b.y) && b.y[k] > mid {
			top, n = top+b.y[k], n+1
		}
	}
	e.Drop, e.bottom = top/n-mid, i
	e.Fall = b.t[i] - b.t[e.top]
	swing := 0.0
	for k := i; k <= j; k++ {
		swing = max(swing, math.Abs(b.y[k]-level-slope*(b.t[k]-b.t[j])))
	}
	if swing > max(3*e.Ripple, 0.6*e.Drop, 0.8*step) {
		if swing > max(4*e.Ripple, 0.004*e.Force, 1.5*step) && swing < 0.05*e.Force {
			return -1
		}
		return 0
	}
	if e.Drop < 2*math.Abs(slope)*(b.t[(i+j)/2]-b.t[e.top]) || e.Drop > 0.12*e.Force || e.Drop < max(0.002*e.Force, 0.5*step) {
		return 0
	}
	return e.Drop / math.Sqrt(swing*swing/2+e.Ripple*e.Ripple/4+b.noise*b.noise*(1/n+1/float64(j-i))+step*step/12)
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

func (s *signal) setCreep(r *Result, b *bins, k knee) {
	e := Event{Time: b.t[k.bin], Force: b.y[k.bin], Before: k.before, After: k.after, Meaning: MeansCreep, top: k.bin}
	r.Evidence.Chosen = len(r.Evidence.Events)
	r.Evidence.Events = append(r.Evidence.Events, e)
	r.Outcome, r.Kind = trial.Slipped, Creep
	r.SlipForce, r.SlipTime = e.Force, e.Time
	// where a bend lies is less sure than where a peak does: 95 % bounds from
	// simulated pulls, in time and in share
	noise := 2 * math.Hypot(b.noise, s.restErr)
	r.Low = e.Force - 0.025*k.before - 0.01*e.Force - noise - s.step/2
	r.High = e.Force + 0.06*k.before + 0.015*e.Force + noise + s.step/2
}
