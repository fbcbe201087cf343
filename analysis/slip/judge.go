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
	h := standsOut(b.noise, rip, s.step, b.y[peak])
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
	spacing := s.dt
	if !s.timed(e) {
		spacing = b.dt
	}
	pace := paceOf(e.Fall, rate, e.Before, spacing)
	quick := pace == tooQuick && rate > 2.2*e.Before || pace != slow && !b.resumes(e)
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
	case quick && b.comesBack(e), e.Drop < 3*e.Ripple && !(rising && s.timed(e) && pace == tooQuick && rate > e.Before):
		e.Meaning = MeansFaint
	case quick && b.goesOn(e) < 0.35*rate && (rising || b.steps(e)):
		e.Meaning = MeansSlip
	case b.settles(e, s.step):
		e.Meaning = MeansSlip
	default:
		e.Meaning = MeansHand
	}
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
