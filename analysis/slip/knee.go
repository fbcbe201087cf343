package slip

import (
	"math"

	"griptrial/analysis/trial"
)

// knee is a lasting fall of the slope.
type knee struct {
	bin           int
	before, after float64 // N/s
	ok            bool
	faint         bool // something of the kind, not enough to say so
}

// findKnee fits the rise up to bin end by two straight lines, by least
// squares over all places of the bend, and says whether the bend is a part
// giving way: the slope falls below half and stays so, the force still grows by
// some percent, and for long enough that no hand was just stopping.
func (b *bins) findKnee(end int, ripple float64) knee {
	from := end
	for from > 0 && b.y[from] > 0.3*b.y[end] {
		from--
	}
	n := end - from + 1
	if n < 12 {
		return knee{}
	}
	// sums from the left; those from the right are the rest
	t0, y0 := b.t[from], b.y[end]
	var all sums
	for i := from; i <= end; i++ {
		all.add(b.t[i]-t0, b.y[i]-y0)
	}
	var left sums
	best, at := -1.0, 0
	for i := from; i <= end; i++ {
		left.add(b.t[i]-t0, b.y[i]-y0)
		if i-from < 4 || end-i < 4 {
			continue
		}
		right := all.minus(left)
		if sse := left.residual() + right.residual(); best < 0 || sse < best {
			best, at = sse, i
		}
	}
	if best < 0 {
		return knee{}
	}
	m1, c1 := line(b.t, b.y, from, at)
	m2, c2 := line(b.t, b.y, at+1, end)
	k := knee{bin: at, before: m1, after: m2}
	if m1 <= 0 || m2 >= 0.45*m1 {
		return k
	}
	// where the lines meet: c1 + m1(t−t_at) = c2 + m2(t−t_end)
	meet := (c2 - m2*b.t[end] - c1 + m1*b.t[at]) / (m1 - m2)
	for k.bin > from && b.t[k.bin] > meet {
		k.bin--
	}
	for k.bin < end && b.t[k.bin] < meet {
		k.bin++
	}
	share := 1 - b.y[k.bin]/b.y[end]
	long := b.t[end] - b.t[k.bin]
	rise := b.t[k.bin] - b.t[from]
	// a hand that stops slows down all the time; a part that creeps goes on
	half := (at + 1 + end) / 2
	late, _ := line(b.t, b.y, half, end)
	early, _ := line(b.t, b.y, k.bin, half)
	steady := late > 0.5*m2 && late > 0.4*early && late < 1.6*m2 && m2 < 0.42*m1 && share < 0.3 && b.steepest(k.bin, end, ripple) < 0.65*m1
	k.ok = steady && share > 0.025 && m2*long > 0.015*b.y[end] && long > max(0.35, 0.12*rise) && long > 2*b.slack(k.bin, 0.45*m1)
	k.faint = !k.ok && long > 0.8 && share > 0.008 && (steady || late > 0.08*m2 && m2 < 0.3*m1)
	return k
}

// steepest is the greatest slope over a fifth of a second or more after bin
// from, ripple taken off: a part that creeps never takes the load up again as
// before.
func (b *bins) steepest(from, end int, ripple float64) float64 {
	w := max(2, int(0.2/b.dt), (end-from)/7)
	m := 0.0
	for i := from + w/3; i+w <= end; i++ {
		m = max(m, (b.y[i+w]-b.y[i]-ripple)/(b.t[i+w]-b.t[i]))
	}
	return m
}

// slack is the longest time in s that the slope stayed under m before bin end,
// once the load stood at an eighth of what it is there: pauses and the dead
// points of a crank.
func (b *bins) slack(end int, m float64) float64 {
	w := max(2, int(0.1/b.dt))
	start, longest := -1, 0.0
	for i := max(0, end-5*reach); i+w <= end; i++ {
		if b.y[i] < 0.125*b.y[end] || (b.y[i+w]-b.y[i])/(b.t[i+w]-b.t[i]) >= m {
			start = -1
			continue
		}
		if start < 0 {
			start = i
		}
		if i+w < end-w { // not the bend itself
			longest = max(longest, b.t[i+w]-b.t[start])
		}
	}
	return longest
}

// sums are the running sums of a least-squares line.
type sums struct{ n, t, y, tt, ty, yy float64 }

func (s *sums) add(t, y float64) {
	s.n++
	s.t += t
	s.y += y
	s.tt += t * t
	s.ty += t * y
	s.yy += y * y
}

func (s sums) minus(o sums) sums {
	return sums{s.n - o.n, s.t - o.t, s.y - o.y, s.tt - o.tt, s.ty - o.ty, s.yy - o.yy}
}

// residual is the sum of squares about the line.
func (s sums) residual() float64 {
	tt := s.tt - s.t*s.t/s.n
	ty := s.ty - s.t*s.y/s.n
	yy := s.yy - s.y*s.y/s.n
	if tt <= 0 {
		return yy
	}
	return max(0, yy-ty*ty/tt)
}

// setCreep puts the slip at a knee.
func (s *signal) setCreep(r *Result, b *bins, k knee) {
	e := Event{Time: b.t[k.bin], Force: b.y[k.bin], Before: k.before, After: k.after, Meaning: MeansCreep, top: k.bin}
	for i := range r.Evidence.Events {
		if r.Evidence.Events[i].top > k.bin {
			r.Evidence.Events[i].Meaning = MeansAfter
		}
	}
	r.Evidence.add(e)
	r.Outcome, r.Kind = trial.Slipped, Creep
	r.SlipForce, r.SlipTime = e.Force, e.Time
	// where a bend lies is less sure than where a peak does: 95 % bounds from
	// simulated pulls, in time and in share
	noise := 2 * math.Hypot(b.noise, s.restErr)
	r.Low = e.Force - 0.03*k.before - 0.012*e.Force - noise - s.step/2
	r.High = e.Force + 0.08*k.before + 0.015*e.Force + noise + s.step/2
}
