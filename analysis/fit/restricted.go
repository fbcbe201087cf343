package fit

import "math"

// Restricted fits exact rows with a random sample effect by restricted maximum
// likelihood (REML).
//
//	y = X·b + Z·u + e,  u ~ N(0, tau²), e ~ N(0, sigma²),  V = sigma² I + tau² Z Z'
//
// LogLik is the restricted log-likelihood at its maximum,
//
//	-1/2 { (n - p) log 2 pi + log|V| + log|X'V⁻¹X| + r'V⁻¹r },
//
// with X in treatment coding; lme4 prints -2 times it as the REML criterion.
//
// Degrees of freedom of a contrast l are Satterthwaite's: with v(theta) =
// l'(X'V⁻¹X)⁻¹l and theta = (sigma², tau²),
//
//	df = 2 v² / (g' A g),  g = dv/dtheta,  A the inverse observed information of theta
//
// (F. E. Satterthwaite, Biometrics Bulletin 2 (1946) 110; in this form F. G.
// Giesbrecht and J. C. Burns, Biometrics 41 (1985) 477). Where the maximum
// lies at tau = 0 the data seem to say that samples do not differ, which a few
// samples cannot show: contrasts of facings then keep the degrees of freedom
// of the samples, their number less the facing parameters that they carry,
// and Boundary is set.
//
// Errors: ErrNoFreedom where rows or samples are as few as their parameters,
// ErrAliased, ErrNoSpread (no scatter within samples), ErrNotConverged. Rows
// that are not exact panic.
//
// Tested against lme4 and lmerTest.
func Restricted(d Data) (*Fitted, error) {
	l := newLayout(d)
	n, p := len(d.Lower), l.columns
	if n <= p {
		return nil, ErrNoFreedom
	}
	x := l.rows(d)
	y := make([]float64, n)
	for i := range y {
		if d.Lower[i] != d.Upper[i] {
			panic("fit: Restricted takes exact rows only")
		}
		y[i] = d.Lower[i] - d.Lower[0]
	}
	// The likelihood depends on y only through the least-squares residual.
	line, err := LeastSquares(x, p, y)
	if err != nil {
		return nil, err
	}
	m := newStrata(d, x, p, line.Residual)
	m.sampleDF = float64(d.Samples - p + rank(m.within, p))
	switch {
	case m.sampleDF < 1:
		return nil, ErrNoFreedom
	case m.rssWithin <= 1e-24*(1+line.RSS):
		return nil, ErrNoSpread
	}
	ratio := m.maximise()
	at, ok := m.at(ratio)
	if !ok {
		return nil, ErrNotConverged
	}
	s2 := at.rss / float64(n-p)
	f := &Fitted{
		Method: "reml", N: n, P: p, Sigma: math.Sqrt(s2), Tau: math.Sqrt(s2 * ratio),
		Converged: true, Boundary: ratio == 0, LogLik: at.logLik, layout: l,
		cov: append([]float64(nil), at.inverse...),
	}
	for i := range f.cov {
		f.cov[i] *= s2
	}
	coef := append([]float64(nil), line.Coef...)
	for j := range coef {
		coef[j] += at.shift[j]
	}
	f.place(coef, d.Lower[0])
	f.TotalSD = math.Hypot(f.Sigma, f.Tau)
	if f.Boundary {
		f.freedom, f.TotalDF = func([]float64, float64) float64 { return m.sampleDF }, m.sampleDF
	} else if f.freedom, f.TotalDF, ok = m.satterthwaite(s2, ratio*s2, at); !ok {
		return nil, ErrNotConverged
	}
	m.predict(f, d, x)
	return f, nil
}

// strata are the sums that the likelihood needs: within samples and between
// them, so that one evaluation costs samples × p², not rows.
type strata struct {
	n, p      int
	size      []float64 // rows of each sample
	mean      []float64 // samples×p: mean of the design rows
	rMean     []float64 // mean residual of each sample
	within    []float64 // sum of (x - mean)(x - mean)'
	withinR   []float64 // sum of (x - mean)(r - mean)
	rssWithin float64
	sampleDF  float64
}

func newStrata(d Data, x []float64, p int, r []float64) *strata {
	n := len(r)
	m := &strata{n: n, p: p, size: make([]float64, d.Samples), mean: make([]float64, d.Samples*p),
		rMean: make([]float64, d.Samples), within: make([]float64, p*p), withinR: make([]float64, p)}
	for i, s := range d.Sample {
		m.size[s]++
		m.rMean[s] += r[i]
		for j := range p {
			m.mean[s*p+j] += x[i*p+j]
		}
	}
	for s, c := range m.size {
		m.rMean[s] /= c
		for j := range p {
			m.mean[s*p+j] /= c
		}
	}
	dev := make([]float64, p)
	for i, s := range d.Sample {
		for j := range p {
			dev[j] = x[i*p+j] - m.mean[s*p+j]
		}
		e := r[i] - m.rMean[s]
		addOuter(m.within, dev, 1)
		for j := range p {
			m.withinR[j] += dev[j] * e
		}
		m.rssWithin += e * e
	}
	return m
}

// rank of a positive semidefinite matrix, by pivoted elimination.
func rank(a []float64, p int) int {
	w := append([]float64(nil), a...)
	scale := 0.0
	for i := range p {
		scale = math.Max(scale, w[i*p+i])
	}
	used := make([]bool, p)
	for r := range p {
		best := -1
		for i := range p {
			if !used[i] && (best < 0 || w[i*p+i] > w[best*p+best]) {
				best = i
			}
		}
		if !(w[best*p+best] > 1e-10*scale) {
			return r
		}
		used[best] = true
		for i := range p {
			if used[i] {
				continue
			}
			c := w[i*p+best] / w[best*p+best]
			for j := range p {
				w[i*p+j] -= c * w[best*p+j]
			}
		}
	}
	return p
}

// point is the restricted likelihood at one ratio tau²/sigma², with sigma²
// profiled out.
type point struct {
	logLik  float64
	rss     float64   // r'(V/sigma²)⁻¹r
	inverse []float64 // (X'(V/sigma²)⁻¹X)⁻¹
	shift   []float64 // what generalised least squares adds to the ordinary solution
}

func (m *strata) at(ratio float64) (point, bool) {
	p := m.p
	a := append([]float64(nil), m.within...)
	b := append([]float64(nil), m.withinR...)
	rss, logV := m.rssWithin, 0.0
	for s, c := range m.size {
		w := c / (1 + c*ratio)
		row := m.mean[s*p : (s+1)*p]
		addOuter(a, row, w)
		for j := range p {
			b[j] += w * row[j] * m.rMean[s]
		}
		rss += w * m.rMean[s] * m.rMean[s]
		logV += math.Log1p(c * ratio)
	}
	l, ok := cholesky(a, p)
	if !ok {
		return point{}, false
	}
	shift := cholSolve(l, p, b)
	rss -= dot(shift, b)
	if !(rss > 0) {
		return point{}, false
	}
	k := float64(m.n - p)
	return point{
		logLik: -0.5 * (k*(1+math.Log(2*math.Pi*rss/k)) + logV + cholLogDet(l, p)),
		rss:    rss, inverse: cholInverse(l, p), shift: shift,
	}, true
}

// score is the derivative of the profiled log-likelihood by the ratio, over
// which the search runs.
func (m *strata) score(ratio float64) float64 {
	at, ok := m.at(ratio)
	if !ok {
		return math.NaN()
	}
	p := m.p
	s2 := at.rss / float64(m.n-p)
	sum := 0.0
	for s, c := range m.size {
		row := m.mean[s*p : (s+1)*p]
		w := c / (1 + c*ratio)
		e := m.rMean[s] - dot(row, at.shift)
		sum += w*w*e*e/s2 - w + w*w*quadratic(at.inverse, row)
	}
	return sum / 2
}

// maximise finds the ratio tau²/sigma² of greatest restricted likelihood: 0
// where the score there is not positive and no greater point lies further out.
func (m *strata) maximise() float64 {
	// A coarse walk over the ratio's decades finds the highest hill; the
	// score's zero inside it is then found by bisection and secant.
	best, top := 0.0, math.Inf(-1)
	var grid []float64
	for e := -8.0; e <= 10; e += 0.5 {
		grid = append(grid, math.Pow(10, e))
	}
	if at, ok := m.at(0); ok {
		top = at.logLik
	}
	where := -1
	for i, g := range grid {
		if at, ok := m.at(g); ok && at.logLik > top {
			best, top, where = g, at.logLik, i
		}
	}
	if where < 0 && m.score(0) <= 0 {
		return 0
	}
	lo, hi := 0.0, grid[0]
	if where > 0 {
		lo = grid[where-1]
	}
	if where >= 0 {
		hi = grid[min(where+1, len(grid)-1)]
	}
	if !(m.score(lo) > 0 && m.score(hi) < 0) {
		return best
	}
	return bisect(m.score, lo, hi)
}

// bisect finds the zero of a falling function between lo and hi: regula falsi
// in the Illinois form, which keeps the bracket.
func bisect(f func(float64) float64, lo, hi float64) float64 {
	fl, fh := f(lo), f(hi)
	side := 0
	for range 200 {
		x := (lo*fh - hi*fl) / (fh - fl)
		if !(x > lo && x < hi) {
			x = lo + (hi-lo)/2
		}
		if hi-lo <= 1e-15*hi || x == lo || x == hi {
			return x
		}
		fx := f(x)
		switch {
		case fx == 0:
			return x
		case fx > 0:
			lo, fl = x, fx
			if side == 1 {
				fh /= 2
			}
			side = 1
		default:
			hi, fh = x, fx
			if side == -1 {
				fl /= 2
			}
			side = -1
		}
	}
	return lo + (hi-lo)/2
}

// predict fills the fitted values and the best linear predictions.
func (m *strata) predict(f *Fitted, d Data, x []float64) {
	ratio := f.Tau * f.Tau / (f.Sigma * f.Sigma)
	f.Fit = make([]float64, m.n)
	f.Predicted = make([]float64, m.n)
	sum := make([]float64, len(m.size))
	for i := range f.Fit {
		f.Fit[i] = dot(x[i*m.p:(i+1)*m.p], f.Coef)
		sum[d.Sample[i]] += d.Lower[i] - f.Fit[i]
	}
	for i, s := range d.Sample {
		f.Predicted[i] = f.Fit[i] + sum[s]*ratio/(1+m.size[s]*ratio)
	}
}
