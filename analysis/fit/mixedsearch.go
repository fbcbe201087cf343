package fit

import "math"

// stencil is the step of differences on log sigma and log tau.
const stencil = 1e-3

// climb finds the spreads of greatest adjusted profile likelihood and what it
// looks like around them. A walk over ratios tau/sigma picks the hill, unless
// the spreads of a like fit say where it is; Newton's method with differences
// climbs it, with few quadrature nodes first.
func (m *mixed) climb(sigma float64, like *Fitted) (spreads, around, error) {
	m.useNodes(5)
	best := spreads{boundary: true}
	if like != nil && like.Tau > 0 {
		best = spreads{logSigma: math.Log(like.Sigma), logTau: math.Log(like.Tau)}
	} else {
		top := math.Inf(-1)
		for _, ratio := range []float64{0, 0.1, 0.5, 1, 3} {
			s := spreads{logSigma: math.Log(sigma / math.Sqrt(1+ratio*ratio/2)), boundary: ratio == 0}
			s.logTau = s.logSigma + math.Log(ratio)
			s, v, ok := m.alongSigma(s)
			if ok && v > top {
				best, top = s, v
			}
		}
		if math.IsInf(top, -1) {
			return best, around{}, ErrNotConverged
		}
	}
	if best.boundary {
		return m.atZero(best)
	}
	m.useNodes(7)
	for range 60 {
		here, ok := m.differences(best)
		switch {
		case !ok && len(m.node) < quadratureNodes: // too few for a wide effect
			m.useNodes(quadratureNodes)
			continue
		case !ok:
			return best, here, ErrNotConverged
		}
		step, newton := newtonStep(here.slope, here.bend)
		size := 1.0
		next := best
		for ; size > 1e-6; size /= 2 {
			next.logSigma, next.logTau = best.logSigma+size*step[0], best.logTau+size*step[1]
			if at, ok := m.at(next); ok && at.value >= here.value-1e-11*math.Abs(here.value) {
				break
			}
		}
		moved := math.Abs(step[0]) + math.Abs(step[1])
		if newton && size == 1 && moved < 1e-7 && len(m.node) == quadratureNodes {
			return best, here, nil
		}
		best = next
		if best.logTau < best.logSigma-6 { // tau has run to zero
			return m.atZero(best)
		}
		if newton && moved < 1e-2 || size < 0.5 { // near, or misled
			m.useNodes(quadratureNodes)
		}
	}
	return best, around{}, ErrNotConverged
}

// atZero is the maximum where samples do not differ.
func (m *mixed) atZero(s spreads) (spreads, around, error) {
	m.useNodes(quadratureNodes)
	s, _, ok := m.alongSigma(spreads{logSigma: s.logSigma, boundary: true})
	if !ok {
		return s, around{}, ErrNotConverged
	}
	return s, around{}, nil
}

// newtonStep solves -H step = g where -H is positive definite. Otherwise, as
// where tau is small and the hill still bends upward along it, sigma takes a
// Newton step of its own and tau a fixed one uphill. No step is longer than 1.
func newtonStep(g [2]float64, h [3]float64) (step [2]float64, newton bool) {
	det := h[0]*h[2] - h[1]*h[1]
	if h[0] < 0 && det > 0 {
		step = [2]float64{-(h[2]*g[0] - h[1]*g[1]) / det, -(h[0]*g[1] - h[1]*g[0]) / det}
		newton = true
	} else {
		step = [2]float64{math.Copysign(0.2, g[0]), math.Copysign(0.5, g[1])}
		if h[0] < 0 {
			step[0] = -g[0] / h[0]
		}
	}
	if long := math.Hypot(step[0], step[1]); long > 1 {
		step[0], step[1] = step[0]/long, step[1]/long
	}
	return step, newton
}

// alongSigma maximises over sigma with the ratio tau/sigma held.
func (m *mixed) alongSigma(s spreads) (spreads, float64, bool) {
	ratio := s.logTau - s.logSigma
	value := func(x float64) (float64, bool) {
		at, ok := m.at(spreads{x, x + ratio, s.boundary})
		return at.value, ok
	}
	x := s.logSigma
	for range 60 {
		mid, ok := value(x)
		up, ok1 := value(x + stencil)
		down, ok2 := value(x - stencil)
		if !ok || !ok1 || !ok2 {
			return s, 0, false
		}
		g, h := (up-down)/(2*stencil), (up-2*mid+down)/(stencil*stencil)
		step := math.Copysign(0.5, g)
		if h < 0 {
			step = math.Max(-0.5, math.Min(0.5, -g/h))
		}
		x += step
		if math.Abs(step) < 1e-5 || (!s.boundary && math.Abs(step) < 0.05) {
			return spreads{x, x + ratio, s.boundary}, mid, true
		}
	}
	return s, 0, false
}

// around is the adjusted profile likelihood near a pair of spreads: its value,
// slope, second derivatives (by log sigma twice, by both, by log tau twice), and
// the inverse information of the effects a stencil off: log sigma more and less,
// log tau more and less.
type around struct {
	value   float64
	slope   [2]float64
	bend    [3]float64
	inverse [4][]float64
}

// differences looks around a pair of spreads.
func (m *mixed) differences(s spreads) (a around, ok bool) {
	var v [7]float64
	for i, by := range [7][2]float64{{0, 0}, {1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {-1, -1}} {
		at, ok := m.at(spreads{s.logSigma + by[0]*stencil, s.logTau + by[1]*stencil, false})
		if !ok {
			return a, false
		}
		v[i] = at.value
		if i >= 1 && i <= 4 {
			a.inverse[i-1] = at.inverse
		}
	}
	a.value = v[0]
	a.slope = [2]float64{(v[1] - v[2]) / (2 * stencil), (v[3] - v[4]) / (2 * stencil)}
	first, second := v[1]-2*v[0]+v[2], v[3]-2*v[0]+v[4]
	a.bend = [3]float64{first / (stencil * stencil), (v[5] - 2*v[0] + v[6] - first - second) / (2 * stencil * stencil), second / (stencil * stencil)}
	return a, true
}

// freedom gives f Satterthwaite's degrees of freedom from what lies around the
// maximum.
func (a around) freedom(f *Fitted) error {
	h := a.bend
	det := h[0]*h[2] - h[1]*h[1]
	if !(h[0] < 0 && det > 0) {
		return ErrNotConverged
	}
	cov := [3]float64{-h[2] / det, h[1] / det, -h[0] / det} // of (log sigma, log tau)
	df := func(v, g0, g1 float64) float64 { return 2 * v * v / (g0*g0*cov[0] + 2*g0*g1*cov[1] + g1*g1*cov[2]) }
	f.freedom = func(l []float64, v float64) float64 {
		return df(v, (quadratic(a.inverse[0], l)-quadratic(a.inverse[1], l))/(2*stencil), (quadratic(a.inverse[2], l)-quadratic(a.inverse[3], l))/(2*stencil))
	}
	s2, t2 := f.Sigma*f.Sigma, f.Tau*f.Tau
	f.TotalDF = df(s2+t2, 2*s2, 2*t2)
	return nil
}
