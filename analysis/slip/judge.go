package slip

import (
	"math"
	"slices"

	"griptrial/analysis/trial"
)

// loadedAt is how many times its noise a record must rise above rest to count
// as loaded at all.
const loadedAt = 6

func (s *signal) judge() Result {
	nan := math.NaN()
	r := Result{Outcome: trial.Unclear, SlipForce: nan, SlipTime: nan, Low: nan, High: nan, PeakForce: nan, PeakTime: nan}
	r.Evidence = Evidence{Chosen: -1, Rest: s.rest, Noise: s.sigma, Step: s.step, Spacing: s.dt, Reverse: s.sign < 0}
	if len(s.y) > 0 {
		r.PeakForce, r.PeakTime = s.y[s.peak], s.t[s.peak]
	}
	s.short = s.short || !(r.PeakForce > loadedAt*s.sigma) // nothing was ever pulled
	tie := false
	if !s.short {
		tie = s.decide(&r)
	}
	if r.SlipForce > r.PeakForce {
		r.PeakForce, r.PeakTime = r.SlipForce, r.SlipTime
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

// decide comes to a verdict; tie tells that the load vanished.
func (s *signal) decide(r *Result) (tie bool) {
	b := s.bin()
	peak := 0
	for i, v := range b.y {
		if v > b.y[peak] {
			peak = i
		}
	}
	ripple := b.ripple(b.firstTop(peak))
	ev, chosen := s.consider(&b, ripple, peak)
	r.Evidence.Events = ev

	end := peak // of the rise that a knee may lie in
	if chosen >= 0 {
		end = ev[chosen].top
	}
	for end > 0 && int(b.first[end]) > s.satAt {
		end--
	}
	k := b.findKnee(end, ripple)
	broke := chosen >= 0 && ev[chosen].Drop > 0.04*ev[chosen].Force
	if k.ok && !broke {
		s.setCreep(r, &b, k)
		return false
	}
	if chosen < 0 {
		return s.withoutDrop(r, &b, k, ripple, peak)
	}
	if e := ev[chosen]; e.Meaning == MeansVanish {
		r.Evidence.Chosen = chosen
		if b.rising(&e) || peak >= e.top {
			return true
		}
		// it stood before it went: had it slid?
		top, strength := b.flatTop(peak, ripple, s.step)
		if strength <= 0.7 {
			return true
		}
		s.setSharp(r, &b, top, nil)
		return false
	}
	s.setSharp(r, &b, ev[chosen], ev[chosen+1:])
	return ev[chosen].gone
}

// consider weighs the drops in order of time; chosen is the first that says
// something, -1: none.
func (s *signal) consider(b *bins, ripple float64, peak int) (ev []Event, chosen int) {
	ev, chosen = b.drops(standsOut(b.noise, ripple, s.step, b.y[peak])), -1
	b.look()
	for k := range ev {
		e := &ev[k]
		b.startFall(e)
		e.Time, e.Force, e.Ripple = b.t[e.top], b.y[e.top], ripple
		e.Drop = e.Force - b.y[e.bottom]
		e.Fall = s.fall(b, e)
		if chosen >= 0 || int(b.first[e.top+1]) > s.satAt {
			e.Meaning = MeansAfter
			continue
		}
		e.next = len(b.y) - 1
		if k+1 < len(ev) {
			e.next = ev[k+1].top
		}
		s.weigh(b, e)
		if e.Meaning == MeansSlip || e.Meaning == MeansVanish {
			chosen = k
		}
	}
	return ev, chosen
}

// withoutDrop decides where no drop spoke: a faint one with a flat top, a flat
// top that may be either, or held.
func (s *signal) withoutDrop(r *Result, b *bins, k knee, ripple float64, peak int) (tie bool) {
	r.Outcome = trial.Held
	if s.satAt < len(s.y) {
		return false
	}
	e, strength := b.flatTop(peak, ripple, s.step)
	from, to := b.plateau(peak, e.Before)
	stood := b.t[to] - b.t[from]
	switch {
	case strength > 2.5:
		s.setSharp(r, b, e, nil)
	case slices.ContainsFunc(r.Evidence.Events, func(e Event) bool { return e.Meaning == MeansSlide }):
		r.Evidence.Chosen = slices.IndexFunc(r.Evidence.Events, func(e Event) bool { return e.Meaning == MeansSlide })
		r.Outcome = trial.Unclear
		r.Flags = append(r.Flags, Faint)
	case strength > 1.3, strength > 0.8 && stood > 0.8, strength < 0 && stood > 1, k.faint && stood > 0.8, stood > 1.2, b.rose(from, to, ripple):
		e.Meaning = MeansFaint
		r.Evidence.add(e)
		r.Outcome = trial.Unclear
		r.Flags = append(r.Flags, Faint)
	}
	return false
}

// add takes an event for the one that decides.
func (e *Evidence) add(v Event) {
	e.Chosen = len(e.Events)
	e.Events = append(e.Events, v)
}

// setSharp puts a slip at the top of a drop; later are the drops after it.
func (s *signal) setSharp(r *Result, b *bins, e Event, later []Event) {
	if n := len(r.Evidence.Events) - len(later) - 1; n >= 0 && r.Evidence.Events[n].top == e.top && r.Evidence.Events[n].Meaning == e.Meaning {
		r.Evidence.Chosen = n
	} else {
		r.Evidence.add(e)
	}
	r.Outcome, r.Kind = trial.Slipped, b.kind(e, later)
	s.setForce(r, b, e)
}

// farBeyond is how many times the force of a slip no later load can be.
const farBeyond = 3

// weigh says what one drop means, in the light of what followed.
func (s *signal) weigh(b *bins, e *Event) {
	if e.Force < 0.08*s.y[s.peak] { // hardly loaded
		e.Meaning = MeansHand
		return
	}
	e.Before = b.loading(e.top)
	if mean := b.y[e.top] / (b.t[e.top] - b.t[0] + b.dt); mean < e.Before {
		e.Before = mean
	}
	low := b.y[e.bottom]
	for i := e.bottom; i <= e.next; i++ {
		e.Later = max(e.Later, b.y[i])
	}
	rate := 0.8 * e.Drop / e.Fall
	spacing := s.dt
	if !s.timed(e) {
		spacing = b.dt
	}
	if e.Drop < 0.015*e.Force {
		spacing /= 4 // a hand eases by little as soon as this: only what is surely quicker counts
	}
	pace := paceOf(e.Fall, rate, e.Before, spacing)
	if pace == tooSudden && (e.Drop < 0.015*e.Force || s.handFall > 0 && e.Fall > 0.6*s.handFall && b.ahead[e.bottom] > e.Force) {
		pace = slow // a hand eases by little as soon; and this one has shown such drops
	}
	quick := pace == tooQuick && rate > 2.2*e.Before || pace != slow && !b.resumes(e)
	rest := 0.1 // of the force: how near to nothing counts as nothing
	if s.restAgain {
		rest = 0.04
	}
	gone := low < rest*e.Force+3*s.sigma+s.step && b.ahead[e.bottom] < 0.3*e.Force
	rising := b.rising(e)
	e.gone = gone
	switch {
	case len(s.y)-int(b.first[e.top+1]) < 3:
		e.Meaning = MeansFaint // the record ends in it
	case gone && e.Fall <= max(tieTime, 4*s.dt) && (rising && b.pulled(e) || e.Fall < 0.12):
		e.Meaning = MeansVanish
	case gone && (e.Fall <= 0.06+s.dt || rising && b.pulled(e) && b.t[e.bottom]-b.t[e.top] < letTime):
		e.Meaning = MeansSlip // quicker than a hand, slower than a tie: it leaves the jaws
	case gone:
		e.Meaning = MeansHand
	case b.ahead[e.bottom] > farBeyond*e.Force && b.resumes(e):
		e.Meaning = MeansHand // or a tie: a part that slid here would not bear so much later
	case b.slower(e):
		e.Meaning = MeansSlip
	case quick && b.climbs(e):
		e.Meaning = MeansSeat
	case quick && b.comesBack(e), e.Drop < 3*e.Ripple && !(rising && s.timed(e) && pace == tooQuick && rate > e.Before):
		e.Meaning = MeansFaint
	case quick && b.goesOn(e) < 0.35*rate && (rising || outOfHold(e.Drop, e.Force, e.Fall, b.noise, e.Ripple, b.swing(e.top), b.dt)):
		e.Meaning = MeansSlip
	case b.settles(e, s.step) && e.Fall <= 0.2+b.dt && e.Drop > 0.018*e.Force && b.y[e.top]-b.y[e.bottom] > 6*b.noise:
		e.Meaning = MeansSlip
	case b.settles(e, s.step):
		e.Meaning = MeansSlide
	default:
		e.Meaning = MeansHand
	}
	if e.Meaning == MeansHand && e.Drop > 0.03*e.Force && b.resumes(e) && (s.handFall == 0 || e.Fall < s.handFall) {
		s.handFall = e.Fall
	}
}

// kind tells sharp from stick-slip by the drops after the slip.
func (b *bins) kind(e Event, later []Event) Kind {
	again := 0
	for _, v := range later {
		if v.Drop > 0.03*e.Force && v.Fall <= easeTime+1.5*b.dt {
			again++
		}
	}
	if again >= 2 {
		return StickSlip
	}
	return Sharp
}
