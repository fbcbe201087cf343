package fit

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// quadratureNodes of the adaptive Gauss-Hermite rule for each sample. With
// normal rows one node is exact; fifteen leave nothing to see where all rows
// of a sample are held.
const quadratureNodes = 15

// RestrictedCensored fits rows that may be lower bounds or intervals with a
// random sample effect.
//
//	L(b, sigma, tau) = prod over samples ∫ phi(v) prod over rows f(row; x·b + tau·v, sigma) dv
//
// with the row likelihoods f of Censored. The integrals are taken by adaptive
// Gauss-Hermite quadrature about each sample's mode (J. C. Pinheiro and D. M.
// Bates, Journal of Computational and Graphical Statistics 4 (1995) 12). sigma
// and tau maximise the profile likelihood adjusted for the fixed effects,
//
//	l(sigma, tau) = max over b of log L - 1/2 log|I_bb| + p/2 log 2 pi,
//
// I_bb the observed information of b (D. R. Cox and N. Reid, JRSS B 49 (1987)
// 1), which is the restricted likelihood where every row is exact. LogLik is
// its maximum. Covariances are I_bb⁻¹ there, and degrees of freedom are
// Satterthwaite's as in Restricted, with derivatives of l by differences.
//
// Held rows bend this likelihood towards large spreads by sigma^B (see crossed);
// for contrasts that is made up as least squares would have it: B more degrees of
// freedom, df, and variances times df/(df + B).
//
// Where the maximum lies at tau = 0, contrasts keep the degrees of freedom of
// the samples that slipped, and Boundary is set.
//
// Errors: as Restricted and Censored.
//
// Tested against Restricted on exact rows, Censored at tau = 0, and an
// independent quadrature in R.
func RestrictedCensored(d Data) (*Fitted, error) {
	start, search, err := maximumLikelihood(d)
	if err != nil {
		return nil, err
	}
	m, err := newMixed(d, start)
	if err != nil {
		return nil, err
	}
	best, near, err := m.climb(start.Sigma, d.Like)
	if err != nil {
		return nil, err
	}
	at, ok := m.at(best)
	if !ok {
		return nil, ErrNotConverged
	}
	f := &Fitted{
		Method: "censored-reml", N: m.n, P: m.p, Sigma: best.sigma(), Tau: best.tau(), Boundary: best.boundary,
		TotalSD: math.Hypot(best.sigma(), best.tau()), LogLik: at.value, Converged: true, layout: start.layout, cov: at.inverse,
		crossed: search.crossed(),
	}
	f.place(at.b, m.shift)
	f.Fit = make([]float64, m.n)
	for i := range f.Fit {
		f.Fit[i] = dot(m.x[i*m.p:(i+1)*m.p], f.Coef)
	}
	if best.boundary {
		f.freedom, f.TotalDF = func([]float64, float64) float64 { return m.sampleDF }, m.sampleDF
		return f, nil
	}
	return f, near.freedom(f)
}

// mixed is a search in progress.
type mixed struct {
	n, p         int
	x            []float64
	lower, upper []float64
	shift        float64
	members      [][]int // rows of each sample
	mode         []float64
	b            []float64 // last solution, where the next search starts
	sampleDF     float64
	node, weight []float64 // of exp(-x²)
}

func newMixed(d Data, start *Fitted) (*mixed, error) {
	m := &mixed{n: len(d.Lower), p: start.P, x: start.layout.rows(d), members: make([][]int, d.Samples), mode: make([]float64, d.Samples)}
	m.lower, m.upper, m.shift = shiftRows(d)
	m.useNodes(quadratureNodes)
	m.b = append([]float64(nil), start.Coef...)
	for a := range d.Facings {
		m.b[a] -= m.shift
	}
	slipped := make([]bool, d.Samples)
	for i, s := range d.Sample {
		m.members[s] = append(m.members[s], i)
		slipped[s] = slipped[s] || !math.IsInf(d.Upper[i], 1)
	}
	count := 0.0
	for _, ok := range slipped {
		if ok {
			count++
		}
	}
	s := newStrata(d, m.x, m.p, make([]float64, m.n))
	m.sampleDF = count - float64(m.p-rank(s.within, m.p))
	if m.sampleDF < 1 {
		return nil, ErrNoFreedom
	}
	return m, nil
}

// useNodes sets the number of quadrature nodes.
func (m *mixed) useNodes(n int) {
	m.node, m.weight = make([]float64, n), make([]float64, n)
	quad.Hermite{}.FixedLocations(m.node, m.weight, math.Inf(-1), math.Inf(1))
	for i, w := range m.weight { // the rule is stated for exp(-x²) f(x)
		m.weight[i] = math.Log(w) + m.node[i]*m.node[i]
	}
}

// spreads are sigma and tau on the log scale, or tau = 0.
type spreads struct {
	logSigma, logTau float64
	boundary         bool
}

func (s spreads) sigma() float64 { return math.Exp(s.logSigma) }

func (s spreads) tau() float64 {
	if s.boundary {
		return 0
	}
	return math.Exp(s.logTau)
}

// profiled is the adjusted profile likelihood at one pair of spreads.
type profiled struct {
	value   float64
	b       []float64
	inverse []float64 // I_bb⁻¹
}

// at maximises over b by Newton's method; the likelihood is concave in b.
func (m *mixed) at(s spreads) (profiled, bool) {
	b := append([]float64(nil), m.b...)
	value, grad, info := m.likelihood(b, s)
	for range 100 {
		l, ok := cholesky(info, m.p)
		if !ok || math.IsNaN(value) {
			return profiled{}, false
		}
		step := cholSolve(l, m.p, grad)
		decrement := dot(step, grad)
		if decrement < 1e-18*(1+math.Abs(value)) {
			m.b = b
			return profiled{value - cholLogDet(l, m.p)/2 + float64(m.p)*halfLog2Pi, b, cholInverse(l, m.p)}, true
		}
		next := make([]float64, m.p)
		for size := 1.0; size > 1e-9; size /= 2 {
			for j := range next {
				next[j] = b[j] + size*step[j]
			}
			v, g, i := m.likelihood(next, s)
			// The quadrature's value and gradient differ a little, so that a
			// fall in the last digits is none.
			if v >= value-1e-6*(1+math.Abs(value)) {
				b, value, grad, info = next, v, g, i
				break
			}
		}
	}
	return profiled{}, false
}

// likelihood is log L with its gradient by b and minus its second derivatives,
// by Louis's identity: the information is the mean of the complete one less the
// variance of the complete score (T. A. Louis, JRSS B 44 (1982) 226).
func (m *mixed) likelihood(b []float64, s spreads) (value float64, grad, info []float64) {
	p := m.p
	grad, info = make([]float64, p), make([]float64, p*p)
	sigma, tau := s.sigma(), s.tau()
	mean := make([]float64, m.n)
	for i := range mean {
		mean[i] = dot(m.x[i*p:(i+1)*p], b)
	}
	if tau == 0 {
		for i := range mean {
			v, g, h := rowLikelihood(m.lower[i], m.upper[i], mean[i], sigma)
			value += v
			row := m.x[i*p : (i+1)*p]
			for j := range p {
				grad[j] += g * row[j]
			}
			addOuter(info, row, h)
		}
		return value, grad, info
	}
	q := len(m.node)
	logs := make([]float64, q)
	scores := make([]float64, q*p)
	average := make([]float64, p)
	for k, rows := range m.members {
		centre, scale := m.findMode(k, rows, mean, sigma, tau)
		most := math.Inf(-1)
		slopes, curves := make([]float64, q*len(rows)), make([]float64, q*len(rows))
		for a := range q {
			v := centre + math.Sqrt2*scale*m.node[a]
			logs[a] = m.weight[a] - v*v/2 - halfLog2Pi
			for c, i := range rows {
				l, g, h := rowLikelihood(m.lower[i], m.upper[i], mean[i]+tau*v, sigma)
				logs[a] += l
				slopes[a*len(rows)+c], curves[a*len(rows)+c] = g, h
			}
			most = math.Max(most, logs[a])
		}
		sum := 0.0
		for a := range q {
			logs[a] = math.Exp(logs[a] - most)
			sum += logs[a]
		}
		value += most + math.Log(sum*math.Sqrt2*scale)
		clear(scores)
		clear(average)
		curve := make([]float64, len(rows)) // mean over the effect
		for a := range q {
			w := logs[a] / sum
			for c, i := range rows {
				row := m.x[i*p : (i+1)*p]
				g := slopes[a*len(rows)+c]
				for j, x := range row {
					if x != 0 {
						scores[a*p+j] += g * x
					}
				}
				curve[c] += w * curves[a*len(rows)+c]
			}
			for j := range p {
				average[j] += w * scores[a*p+j]
			}
		}
		for c, i := range rows {
			addOuter(info, m.x[i*p:(i+1)*p], curve[c])
		}
		for a := range q {
			addOuter(info, scores[a*p:(a+1)*p], -logs[a]/sum)
		}
		addOuter(info, average, 1)
		for j := range p {
			grad[j] += average[j]
		}
	}
	return value, grad, info
}

// findMode is the mode of a sample's effect v and its spread there. The density
// is log-concave, so its slope falls and has one zero: Newton's method from the
// last mode, kept inside the bracket that the signs of the slope give.
func (m *mixed) findMode(k int, rows []int, mean []float64, sigma, tau float64) (mode, scale float64) {
	v, lo, hi := m.mode[k], math.Inf(-1), math.Inf(1)
	second := 1.0
	for range 100 {
		first := -v
		second = 1.0
		for _, i := range rows {
			_, g, h := rowLikelihood(m.lower[i], m.upper[i], mean[i]+tau*v, sigma)
			first += tau * g
			second += tau * tau * h
		}
		if first > 0 {
			lo = v
		} else {
			hi = v
		}
		next := v + math.Max(-2, math.Min(2, first/second))
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-v) < 1e-9 || math.IsInf(next, 0) {
			break
		}
		v = next
	}
	m.mode[k] = v
	return v, 1 / math.Sqrt(second)
}
