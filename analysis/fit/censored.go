package fit

import "math"

// Censored fits rows that may be lower bounds or intervals by maximum
// likelihood, without a sample effect.
//
//	exact     log phi((y - x·b)/sigma) - log sigma
//	held      log Phi(-(y - x·b)/sigma)
//	interval  log {Phi((u - x·b)/sigma) - Phi((l - x·b)/sigma)}
//
// The likelihood is maximised by Newton's method in delta = b/sigma and gamma
// = 1/sigma, in which it is concave (R. J. Olsen, Econometrica 46 (1978) 1211;
// for intervals J. Burridge, JRSS B 43 (1981) 41), so that the maximum, where
// there is one, is the only one. Sigma and LogLik are those of maximum
// likelihood: densities of the log for exact rows, probabilities for the rest.
//
// Limits and p-values come from the distribution of the effects over all the
// spreads that the rows leave open (type conditional), not from the curvature
// at the maximum: it is Student's t where every row is exact, and right at small
// n where they are not. The covariance, for correlations, is
// the inverse information of maximum likelihood.
//
// Where no more rows slipped than there are parameters there are estimates, but
// no limits: standard errors and degrees of freedom are NaN.
//
// Errors: ErrNoFreedom where there are no more rows than parameters, ErrAliased, ErrNoSpread where
// the likelihood rises without end as sigma falls to zero (every reading in
// one division, say), ErrNotConverged where some effect runs to infinity (all
// rows of a facing or block held).
//
// Tested against R's survreg and published examples.
func Censored(d Data) (*Fitted, error) {
	f, c, err := maximumLikelihood(d)
	if err != nil {
		return nil, err
	}
	if given, ok := c.given(); ok {
		f.given, f.freedom = given, given.freedom
		return f, nil
	}
	// Estimates, but nothing to judge them by.
	f.freedom = func([]float64, float64) float64 { return math.NaN() }
	for i := range f.cov {
		f.cov[i] = math.NaN()
	}
	return f, nil
}

// maximumLikelihood is Censored without limits: freedom is not set.
func maximumLikelihood(d Data) (*Fitted, *censored, error) {
	l := newLayout(d)
	n, p := len(d.Lower), l.columns
	if n <= p {
		return nil, nil, ErrNoFreedom
	}
	c := &censored{d: d, x: l.rows(d), n: n, p: p}
	c.lower, c.upper, c.shift = shiftRows(d)
	if err := c.start(); err != nil {
		return nil, nil, err
	}
	logLik, hessian, err := c.climb()
	if err != nil {
		return nil, nil, err
	}
	gamma := c.theta[p]
	f := &Fitted{Method: "censored-ml", N: n, P: p, Sigma: 1 / gamma, LogLik: logLik, Converged: true, layout: l}
	// From (delta, gamma) to (b, log sigma).
	q := p + 1
	chol, ok := cholesky(hessian, q)
	if !ok {
		return nil, nil, ErrNotConverged
	}
	inv := cholInverse(chol, q)
	j := make([]float64, q*q)
	coef := make([]float64, p)
	for i := range p {
		coef[i] = c.theta[i] / gamma
		j[i*q+i] = 1 / gamma
		j[i*q+p] = -coef[i] / gamma
	}
	j[p*q+p] = -1 / gamma
	full := product(product(j, inv, q), transpose(j, q), q)
	f.cov = make([]float64, p*p)
	for a := range p {
		copy(f.cov[a*p:(a+1)*p], full[a*q:a*q+p])
	}
	f.place(coef, c.shift)
	f.Fit = make([]float64, n)
	for i := range n {
		f.Fit[i] = dot(c.x[i*p:(i+1)*p], f.Coef)
	}
	return f, c, nil
}

// censored is a search in progress; theta holds delta and, last, gamma.
type censored struct {
	d            Data
	lower, upper []float64
	shift        float64
	x            []float64
	n, p         int
	theta        []float64
}

// shiftRows takes a common level off the bounds.
func shiftRows(d Data) (lower, upper []float64, shift float64) {
	for i := range d.Lower {
		if !math.IsInf(d.Lower[i], -1) {
			shift = d.Lower[i]
			break
		}
	}
	lower, upper = make([]float64, len(d.Lower)), make([]float64, len(d.Lower))
	for i := range lower {
		lower[i], upper[i] = d.Lower[i]-shift, d.Upper[i]-shift
	}
	return lower, upper, shift
}

// start takes the least-squares fit of the middles as the first guess.
func (c *censored) start() error {
	y := make([]float64, c.n)
	width := 0.0
	for i := range y {
		switch lo, hi := c.lower[i], c.upper[i]; {
		case math.IsInf(hi, 1):
			y[i] = lo
		case math.IsInf(lo, -1):
			y[i] = hi
		default:
			y[i] = (lo + hi) / 2
			width = math.Max(width, hi-lo)
		}
	}
	line, err := LeastSquares(c.x, c.p, y)
	if err != nil {
		return err
	}
	sigma := math.Max(math.Sqrt(line.RSS/float64(c.n)), width/4)
	if !(sigma > 1e-14) {
		return ErrNoSpread
	}
	c.theta = make([]float64, c.p+1)
	for j, b := range line.Coef {
		c.theta[j] = b / sigma
	}
	c.theta[c.p] = 1 / sigma
	return nil
}

// climb runs Newton's method to the maximum. It returns the log-likelihood and
// minus its second derivatives.
func (c *censored) climb() (logLik float64, information []float64, err error) {
	q := c.p + 1
	value, grad, info := c.likelihood(c.theta)
	first := c.theta[c.p]
	for range 200 {
		chol, ok := cholesky(info, q)
		if !ok {
			return 0, nil, c.blame(first)
		}
		step := cholSolve(chol, q, grad)
		decrement := dot(step, grad)
		size := 1.0
		if most := -0.9 * c.theta[c.p]; step[c.p] < most { // gamma stays above zero
			size = most / step[c.p]
		}
		var next []float64
		var nextValue float64
		var nextGrad, nextInfo []float64
		for ; size > 1e-10; size /= 2 {
			next = append(next[:0], c.theta...)
			for j := range next {
				next[j] += size * step[j]
			}
			nextValue, nextGrad, nextInfo = c.likelihood(next)
			if nextValue >= value-1e-12*math.Abs(value) {
				break
			}
		}
		c.theta, value, grad, info = append([]float64(nil), next...), nextValue, nextGrad, nextInfo
		if decrement < 1e-18*(1+math.Abs(value)) || (decrement < 1e-10 && size == 1 && c.small(step)) {
			return value, info, c.settled(value, first)
		}
	}
	return 0, nil, c.blame(first)
}

// small reports whether a step changes nothing that matters.
func (c *censored) small(step []float64) bool {
	for j, s := range step {
		if math.Abs(s) > 1e-11*(1+math.Abs(c.theta[j])) {
			return false
		}
	}
	return true
}

// settled rejects a maximum at infinity that only looks flat.
func (c *censored) settled(value, first float64) error {
	exact := false
	for i := range c.lower {
		exact = exact || c.lower[i] == c.upper[i]
	}
	// Without exact rows a likelihood of 1 is reached as sigma goes to zero.
	if c.theta[c.p] > 1e6*first || (!exact && value > -1e-6) {
		return ErrNoSpread
	}
	for _, t := range c.theta[:c.p] {
		if math.Abs(t) > 1e8 && math.Abs(t/c.theta[c.p]) > 100 {
			return ErrNotConverged
		}
	}
	return nil
}

// blame tells why the search ended nowhere.
func (c *censored) blame(first float64) error {
	if c.theta[c.p] > 1e3*first {
		return ErrNoSpread
	}
	return ErrNotConverged
}

// likelihood is the log-likelihood with its gradient and minus its Hessian.
func (c *censored) likelihood(theta []float64) (value float64, grad, info []float64) {
	q := c.p + 1
	grad, info = make([]float64, q), make([]float64, q*q)
	gamma := theta[c.p]
	// The row of derivatives of z is (-x, y) for the bound y.
	dz, dw := make([]float64, q), make([]float64, q)
	for i := range c.n {
		x := c.x[i*c.p : (i+1)*c.p]
		eta := dot(x, theta[:c.p])
		lo, hi := c.lower[i], c.upper[i]
		for j, v := range x {
			dz[j], dw[j] = -v, -v
		}
		if lo == hi {
			z := gamma*lo - eta
			value += math.Log(gamma) - z*z/2 - halfLog2Pi
			dz[c.p] = lo
			for j := range q {
				grad[j] -= z * dz[j]
			}
			grad[c.p] += 1 / gamma
			addOuter(info, dz, 1)
			info[q*q-1] += 1 / (gamma * gamma)
			continue
		}
		za, zb := gamma*lo-eta, gamma*hi-eta
		log, a, b := logBetween(za, zb)
		value += log
		dz[c.p], dw[c.p] = lo, hi
		if math.IsInf(lo, -1) {
			dz[c.p], za = 0, 0
		}
		if math.IsInf(hi, 1) {
			dw[c.p], zb = 0, 0
		}
		addOuter(info, dw, zb*b)
		addOuter(info, dz, -za*a)
		for j := range q {
			dz[j] = b*dw[j] - a*dz[j]
			grad[j] += dz[j]
		}
		addOuter(info, dz, 1)
	}
	return value, grad, info
}

// transpose of a q×q matrix.
func transpose(a []float64, q int) []float64 {
	t := make([]float64, q*q)
	for i := range q {
		for j := range q {
			t[j*q+i] = a[i*q+j]
		}
	}
	return t
}
