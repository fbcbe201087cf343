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
	add(s.sat, Saturated)
	add(s.gaps > 0, Dropout)
	add(s.spikes > 0, Spike)
	add(math.Abs(s.drift) > 0, Drift)
	add(tie, TieSuspect)
	add(s.short, Short)
	add(s.step > 0.005*peak, Coarse)
	add(s.batched, Batched)
	add(s.noRest, NoRest)
	return f
}

// decide walks through the drops in order of time.
func (s *signal) decide(r *Result) (tie bool) {
	y, t := s.y, s.t
	peak := y[s.peak]
	h := max(5*s.sigma, 1.2*s.step, 0.004*peak)
	sw := s.swings(h)
	last := len(y) - 1
	seatRun := 0
	_ = seatRun
	for k, w := range sw {
		if s.sat && w.top >= s.satAt {
			break
		}
		d := y[w.top] - y[w.bottom]
		e := Event{Time: t[w.top], Force: y[w.top], Drop: d, Fall: s.fall(w), Noise: s.sigma, Before: s.loading(w.top)}
		next := last
		if k+1 < len(sw) {
			next = sw[k+1].top
		}
		e.Regained = y[next]
		for i := w.bottom; i <= next; i++ {
			e.Regained = max(e.Regained, y[i])
		}
		rate := 0.8 * d / e.Fall
		gone := y[w.bottom] < 0.12*y[w.top] && e.Regained < 0.3*y[w.top]
		quick := e.Fall <= max(4.2*s.dt, 0.12)
		// back above the top, and how long it took
		back := -1
		for i := w.bottom; i <= next; i++ {
			if y[i] > y[w.top] {
				back = i
				break
			}
		}
		if back > 0 {
			e.After = s.slope(w.bottom, back)
		} else if next > w.bottom+2 {
			e.After = s.slope(w.bottom, next)
		}
		switch {
		case y[w.top] < 0.1*peak:
			e.Meaning = MeansHand
		case gone && e.Fall <= max(3.2*s.dt, 0.05):
			e.Meaning = MeansVanish
		case gone:
			e.Meaning = MeansHand
		case back > 0 && e.Regained > y[w.top]+max(0.5*d, 0.03*y[w.top]) && e.After > 0.6*e.Before:
			e.Meaning = MeansSeat
			if !quick {
				e.Meaning = MeansHand
			}
		case quick && rate > 1.5*e.Before || d > 0.05*y[w.top] && rate > 6*e.Before:
			e.Meaning = MeansSlip
		case d < 0.05*y[w.top]:
			e.Meaning = MeansFaint
		default:
			e.Meaning = MeansHand
		}
		r.Evidence.Events = append(r.Evidence.Events, e)
	}
	for k, e := range r.Evidence.Events {
		switch e.Meaning {
		case MeansSlip:
			r.Evidence.Chosen = k
			r.Outcome = trial.Slipped
			r.Kind = Sharp
			r.SlipForce, r.SlipTime = e.Force, e.Time
			again := 0
			for _, f := range r.Evidence.Events[k+1:] {
				if f.Meaning == MeansSlip || f.Meaning == MeansSeat {
					again++
				}
			}
			if again >= 2 {
				r.Kind = StickSlip
			}
			s.interval(r, sw[k].top, e)
			return false
		case MeansVanish:
			r.Evidence.Chosen = k
			if s.knee(r, sw[k].top) {
				return false
			}
			return true
		}
	}
	if !s.sat && s.knee(r, s.peak) {
		return false
	}
	r.Outcome = trial.Held
	return false
}

// interval puts bounds on a sharp slip.
func (s *signal) interval(r *Result, top int, e Event) {
	se := math.Hypot(s.sigma, s.restErr)
	lag := e.Before * s.dt
	r.Low = e.Force - 2*se - s.step/2
	r.High = e.Force + 2*se + s.step/2 + 1.5*lag
	r.SlipForce = e.Force + 0.5*lag
}

// knee looks for a gradual loss of slope that ends at top.
func (s *signal) knee(r *Result, top int) bool {
	y, t := s.y, s.t
	// slopes over windows of a fixed share of the rise
	win := max((t[top]-t[s.onset])/25, 3*s.dt)
	type seg struct {
		a, b int
		m    float64
	}
	var segs []seg
	for a := s.onset; a < top; {
		b := a
		for b < top && t[b]-t[a] < win {
			b++
		}
		segs = append(segs, seg{a, b, s.slope(a, b)})
		a = b
	}
	if len(segs) < 8 {
		return false
	}
	ms := make([]float64, 0, len(segs))
	for _, g := range segs {
		if y[g.a] < 0.85*y[top] {
			ms = append(ms, g.m)
		}
	}
	if len(ms) < 4 {
		return false
	}
	ms = ms[len(ms)/2:]
	full := median(ms)
	// the last stretch that is steep
	k := len(segs) - 1
	for k >= 0 && segs[k].m < 0.5*full {
		k--
	}
	if k < 0 || k >= len(segs)-3 {
		return false
	}
	at := segs[k].b
	share := 1 - y[at]/y[top]
	if share < 0.025 || share > 0.35 || t[top]-t[at] < 0.08*(t[top]-t[s.onset]) {
		return false
	}
	r.Outcome = trial.Slipped
	r.Kind = Creep
	r.SlipForce, r.SlipTime = y[at], t[at]
	half := full * win
	r.Low, r.High = y[at]-half/2-2*s.sigma, y[at]+half/2+2*s.sigma
	return true
}
