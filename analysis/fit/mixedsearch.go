package fit

import "math"

// stencil is the step of differences on log sigma and log tau.
const stencil = 1e-3

// climb finds the spreads of greatest adjusted profile likelihood. A walk over
// ratios tau/sigma picks the hill; Newton's method with differences climbs it.
func (m *mixed) climb(sigma float64) (spreads, error) {
	best, top := spreads{boundary: true}, math.Inf(-1)
	m.useNodes(5) // enough to see the hill
	for _, ratio := range []float64{0, 0.1, 0.5, 1, 3} {
		s := spreads{logSigma: math.Log(sigma / math.Sqrt(1+ratio*ratio/2)), boundary: ratio == 0}
		s.logTau = s.logSigma + math.Log(ratio)
		s, v, ok := m.alongSigma(s)
		if ok && v > top {
			best, top = s, v
		}
	}
	m.useNodes(quadratureNodes)
	if math.IsInf(top, -1) {
		return best, ErrNotConverged
	}
	if best.boundary {
		return best, nil
	}
	for range 60 {
		g, h, ok := m.differences(best)
		if !ok {
			return best, ErrNotConverged
		}
		step, newton := newtonStep(g, h)
		size := 1.0
		value, _ := m.at(best)
		next := best
		for ; size > 1e-6; size /= 2 {
			next.logSigma, next.logTau = best.logSigma+size*step[0], best.logTau+size*step[1]
			if at, ok := m.at(next); ok && at.value >= value.value-1e-11*math.Abs(value.value) {
				break
			}
		}
		best = next
		if best.logTau < best.logSigma-6 { // tau has run to zero
			best, _, ok = m.alongSigma(spreads{logSigma: best.logSigma, boundary: true})
			if !ok {
				return best, ErrNotConverged
			}
			return best, nil
		}
		if newton && size == 1 && math.Abs(step[0])+math.Abs(step[1]) < 1e-7 {
			return best, nil
		}
	}
	return best, ErrNotConverged
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

// differences gives gradient and second derivatives (by log sigma twice, by
// both, by log tau twice) of the adjusted profile likelihood.
func (m *mixed) differences(s spreads) (g [2]float64, h [3]float64, ok bool) {
	var v [3][3]float64
	for a := range 3 {
		for b := range 3 {
			at, ok := m.at(spreads{s.logSigma + float64(a-1)*stencil, s.logTau + float64(b-1)*stencil, false})
			if !ok {
				return g, h, false
			}
			v[a][b] = at.value
		}
	}
	g = [2]float64{(v[2][1] - v[0][1]) / (2 * stencil), (v[1][2] - v[1][0]) / (2 * stencil)}
	h = [3]float64{
		(v[2][1] - 2*v[1][1] + v[0][1]) / (stencil * stencil),
		(v[2][2] - v[2][0] - v[0][2] + v[0][0]) / (4 * stencil * stencil),
		(v[1][2] - 2*v[1][1] + v[1][0]) / (stencil * stencil),
	}
	return g, h, true
}

// freedom gives f Satterthwaite's degrees of freedom at the maximum s.
func (m *mixed) freedom(f *Fitted, s spreads) error {
	_, h, ok := m.differences(s)
	det := h[0]*h[2] - h[1]*h[1]
	if !ok || !(h[0] < 0 && det > 0) {
		return ErrNotConverged
	}
	cov := [3]float64{-h[2] / det, h[1] / det, -h[0] / det} // of (log sigma, log tau)
	var inverse [4][]float64
	for i, at := range [4]spreads{
		{s.logSigma + stencil, s.logTau, false}, {s.logSigma - stencil, s.logTau, false},
		{s.logSigma, s.logTau + stencil, false}, {s.logSigma, s.logTau - stencil, false},
	} {
		p, ok := m.at(at)
		if !ok {
			return ErrNotConverged
		}
		inverse[i] = p.inverse
	}
	df := func(v, g0, g1 float64) float64 { return 2 * v * v / (g0*g0*cov[0] + 2*g0*g1*cov[1] + g1*g1*cov[2]) }
	f.freedom = func(l []float64, v float64) float64 {
		return df(v, (quadratic(inverse[0], l)-quadratic(inverse[1], l))/(2*stencil), (quadratic(inverse[2], l)-quadratic(inverse[3], l))/(2*stencil))
	}
	s2, t2 := f.Sigma*f.Sigma, f.Tau*f.Tau
	f.TotalDF = df(s2+t2, 2*s2, 2*t2)
	return nil
}
