package fit

import (
	"math"

	"griptrial/analysis/dist"
)

// conditional is the distribution of the effects given what the rows show,
// over the whole range of spreads that they leave open: at each sigma of a grid
// the effects that fit best, how sure they are, and the weight of that sigma.
//
//	weight(sigma) ∝ L(b(sigma), sigma) |I_bb(sigma)|^(-1/2) sigma^(-B) pi(sigma),  by steps of log sigma
//
// b(sigma) maximises the likelihood L at that sigma and I_bb is its information
// there; B, which is 0 without held rows, is explained at crossed. Given sigma, l·b is normal about it but for the skewness that the rows
// in bounds bring (third derivatives; Pearson's type III by Wilson and
// Hilferty's cube root).
//
// A location-scale family is known by what its pivots do given the residuals'
// pattern: (b - l·estimate)/sigma then has this very distribution with pi = 1,
// which is Student's t where every row is exact, noncentral t for tolerance
// bounds, and exact too where rows are censored beyond the r-th (J. F. Lawless,
// Statistical Models and Methods for Lifetime Data, 2nd ed. (2003), section 5.1
// and appendix E, from memory; the expansion over the other effects is Laplace's,
// as in T. J. DiCiccio and M. A. Martin, Biometrika 78 (1991) 891). A held pull's
// bound was fixed beforehand, so that it holds nearly: coverage is measured in
// TestCoverage of package analysis.
//
// A reading to a division of width h tells of sqrt(sigma² + h²/12) rather than
// of sigma, so there pi = sigma²/(sigma² + h²/12), the root of the information
// about log sigma; and a scatter below a quarter of the division, which no
// reading can show, is not supposed.
type conditional struct {
	p     int
	rows  []float64 // distinct design rows of those that are not exact
	nodes []spreadNode
}

// spreadNode is one sigma of the grid.
type spreadNode struct {
	weight, sigma float64
	b             []float64 // centred effects that fit best
	cov           []float64 // I_bb⁻¹
	third         []float64 // third derivatives, summed over the rows alike
	lean          []float64 // third times half the variance of the row's mean
}

// given searches the grid from the maximum-likelihood fit on, both ways until
// nothing is left. ok is false where the rows tell too little of the spread.
func (c *censored) given() (m *conditional, ok bool) {
	slipped, narrow := 0, math.Inf(1)
	for i := range c.lower {
		if !math.IsInf(c.upper[i], 1) && !math.IsInf(c.lower[i], -1) {
			slipped++
			narrow = math.Min(narrow, c.upper[i]-c.lower[i])
		}
	}
	if slipped <= c.p {
		return nil, false
	}
	g := newGrid(c)
	start := make([]float64, c.p)
	sigma := 1 / c.theta[c.p]
	for j := range start {
		start[j] = c.theta[j] * sigma
	}
	floor := math.Inf(-1)
	if narrow > 0 {
		floor = math.Log(narrow / 4)
		sigma = math.Max(sigma, narrow/4)
	}
	at := math.Log(sigma)
	// The bend of the weight says how fine the grid must be.
	const probe = 0.05
	var three [3]float64
	for k := range three {
		_, w, fine := g.node(at+float64(k)*probe, start)
		if !fine {
			return nil, false
		}
		three[k] = w
	}
	bend := (2*three[1] - three[0] - three[2]) / (2 * probe * probe) // degrees of freedom, nearly
	bend = math.Max(bend, 1)
	// With many rows the weight is a normal density, for which the trapezium
	// rule needs few points, and no p-value hangs on its far tail.
	step, faint := math.Min(0.25, 0.45/math.Sqrt(bend)), 40.0
	if bend > 50 {
		step, faint = 0.7/math.Sqrt(bend), 30
	}
	m = &conditional{p: c.p, rows: g.x}
	top := math.Inf(-1)
	march := func(from, step float64) {
		b := start
		for k := range 400 {
			t := from + float64(k)*step
			if t < floor-1e-9 {
				return
			}
			node, w, fine := g.node(t, b)
			top = math.Max(top, w)
			if !fine || w < top-faint {
				return
			}
			node.weight, b = w, node.b
			m.nodes = append(m.nodes, node)
		}
	}
	march(at, step)
	march(at-step, -step)
	sum := 0.0
	for i := range m.nodes {
		m.nodes[i].weight = math.Exp(m.nodes[i].weight - top)
		sum += m.nodes[i].weight
	}
	for i := range m.nodes {
		m.nodes[i].weight /= sum
	}
	return m, true
}

// grid evaluates nodes. Exact rows enter by their sums alone, so that a node
// costs the bounded rows.
type grid struct {
	p            int
	x            []float64 // distinct design rows of the bounded rows
	alike        []int     // which of them each bounded row has
	lower, upper []float64
	widths       []float64 // of the slipped rows among them
	exact        float64   // number of exact rows
	gram, moment []float64 // X'X and X'y of the exact rows
	square       float64   // y'y
	crossed      float64   // B
}

func newGrid(c *censored) *grid {
	g := &grid{p: c.p, gram: make([]float64, c.p*c.p), moment: make([]float64, c.p)}
	place := map[int]int{}
	for i := range c.lower {
		row, lo, hi := c.x[i*c.p:(i+1)*c.p], c.lower[i], c.upper[i]
		if lo == hi {
			g.exact++
			addOuter(g.gram, row, 1)
			for j, v := range row {
				g.moment[j] += v * lo
			}
			g.square += lo * lo
			continue
		}
		if !math.IsInf(hi, 1) && !math.IsInf(lo, -1) {
			g.widths = append(g.widths, hi-lo)
		}
		key := i
		if len(c.d.Slopes) == 0 {
			key = c.d.Facing[i]
			if c.d.Block != nil {
				key = key*c.d.Blocks + c.d.Block[i]
			}
		}
		if _, ok := place[key]; !ok {
			place[key] = len(place)
			g.x = append(g.x, row...)
		}
		g.alike = append(g.alike, place[key])
		g.lower, g.upper = append(g.lower, lo), append(g.upper, hi)
	}
	g.crossed = c.crossed()
	return g
}

// crossed is the exponent B that makes up for held rows, in which level and
// spread go together: integrating the effects out by |I_bb|^(-1/2) needs effects
// lambda whose information is orthogonal to sigma's (D. R. Cox and N. Reid, JRSS
// B 49 (1987) 1), and from b to them
//
//	d log|db/dlambda| / d log sigma = d(i_12/i_11)/dxi = B(xi),
//
// i the information of one row about level and spread where pulls beyond xi
// standard deviations are held,
//
//	i_11 = Phi + phi d,  i_12 = phi (xi d - 1),  d = phi/(1 - Phi) - xi  at xi.
//
// Each row counts with its leverage, and xi is that of the share held of its
// facing. Simulation agrees: with half of five rows held the derivative of the
// log weight at the true sigma has mean 0.55 without the factor, and B is 0.54.
func (c *censored) crossed() float64 {
	held, all := make([]float64, c.d.Facings), make([]float64, c.d.Facings)
	any := false
	for i, f := range c.d.Facing {
		all[f]++
		if math.IsInf(c.upper[i], 1) {
			held[f]++
			any = true
		}
	}
	if !any {
		return 0
	}
	sigma := 1 / c.theta[c.p]
	info, curve := make([]float64, c.p*c.p), make([]float64, c.n)
	for i := range c.n {
		row := c.x[i*c.p : (i+1)*c.p]
		_, _, curve[i] = rowLikelihood(c.lower[i], c.upper[i], dot(row, c.theta[:c.p])*sigma, sigma)
		addOuter(info, row, curve[i])
	}
	chol, ok := cholesky(info, c.p)
	if !ok {
		return 0
	}
	inverse := cholInverse(chol, c.p)
	sum := 0.0
	for i, f := range c.d.Facing {
		if held[f] > 0 {
			sum += curve[i] * quadratic(inverse, c.x[i*c.p:(i+1)*c.p]) * crossing(held[f]/all[f])
		}
	}
	return sum
}

// crossing is B(xi) where the share held lies beyond xi.
func crossing(held float64) float64 {
	if held >= 1 {
		return 0
	}
	xi := -dist.NormalQuantile(held)
	density := math.Exp(-xi*xi/2 - halfLog2Pi)
	d := hazard(xi) - xi
	level := 1 - held + density*d
	return density * d * ((1+xi*d)*level - (xi*d-1)*density*d) / (level * level)
}

// node finds the effects that fit best at log sigma t, from b on, and the log
// of the weight.
func (g *grid) node(t float64, b []float64) (node spreadNode, weight float64, ok bool) {
	p, sigma := g.p, math.Exp(t)
	b = append([]float64(nil), b...)
	grad, info := make([]float64, p), make([]float64, p*p)
	kinds := len(g.x) / p
	mean, slope, curve := make([]float64, kinds), make([]float64, kinds), make([]float64, kinds)
	for range 100 {
		value := -g.exact*(t+halfLog2Pi) - (g.square+quadratic(g.gram, b)-2*dot(g.moment, b))/(2*sigma*sigma)
		fitted := multiply(g.gram, b)
		for j := range grad {
			grad[j] = (g.moment[j] - fitted[j]) / (sigma * sigma)
		}
		for j, v := range g.gram {
			info[j] = v / (sigma * sigma)
		}
		for k := range kinds {
			mean[k], slope[k], curve[k] = dot(g.x[k*p:(k+1)*p], b), 0, 0
		}
		for i, k := range g.alike {
			v, s, h := rowLikelihood(g.lower[i], g.upper[i], mean[k], sigma)
			value += v
			slope[k] += s
			curve[k] += h
		}
		for k := range kinds {
			row := g.x[k*p : (k+1)*p]
			for j, x := range row {
				grad[j] += slope[k] * x
			}
			addOuter(info, row, curve[k])
		}
		chol, fine := cholesky(info, p)
		if !fine || math.IsNaN(value) {
			return node, 0, false
		}
		step := cholSolve(chol, p, grad)
		decrement := dot(step, grad)
		// Concave, but far from the maximum a full step may leave the quadratic.
		size := 1.0
		if decrement > 1 {
			size = 1 / math.Sqrt(decrement)
		}
		for j := range b {
			b[j] += size * step[j]
		}
		if decrement > 1e-14 {
			continue
		}
		node = spreadNode{sigma: sigma, b: b, cov: cholInverse(chol, p), third: make([]float64, kinds), lean: make([]float64, kinds)}
		for i, k := range g.alike {
			node.third[k] += rowThird(g.lower[i], g.upper[i], mean[k], sigma)
		}
		for k := range kinds {
			node.lean[k] = node.third[k] * quadratic(node.cov, g.x[k*p:(k+1)*p]) / 2
		}
		return node, value - cholLogDet(chol, p)/2 + g.prior(sigma) - g.crossed*t, true
	}
	return node, 0, false
}

// prior is log pi(sigma).
func (g *grid) prior(sigma float64) float64 {
	sum := g.exact
	for _, h := range g.widths {
		share := sigma * sigma / (sigma*sigma + h*h/12)
		sum += share * share
	}
	return math.Log(sum) / 2
}

// along is the distribution of l·b + k·sigma.
type along struct{ weight, mean, sd, skew []float64 }

func (m *conditional) along(l []float64, k float64) along {
	n := len(m.nodes)
	a := along{make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)}
	for i, node := range m.nodes {
		cl := multiply(node.cov, l)
		v := dot(cl, l)
		shift, cube := 0.0, 0.0
		for r, third := range node.third {
			if third == 0 {
				continue
			}
			s := dot(m.rows[r*m.p:(r+1)*m.p], cl)
			shift += node.lean[r] * s
			cube += third * s * s * s
		}
		a.weight[i], a.mean[i] = node.weight, dot(l, node.b)+k*node.sigma+shift
		a.sd[i] = math.Sqrt(v)
		a.skew[i] = cube / (v * a.sd[i])
	}
	return a
}

// below is the probability of a value at most v; above that of one beyond it.
func (a along) below(v float64) float64 {
	s := 0.0
	for i, w := range a.weight {
		s += w * dist.Below(unskew((v-a.mean[i])/a.sd[i], a.skew[i]))
	}
	return s
}

func (a along) above(v float64) float64 {
	s := 0.0
	for i, w := range a.weight {
		s += w * dist.Below(-unskew((v-a.mean[i])/a.sd[i], a.skew[i]))
	}
	return s
}

// quantile is the value below which the probability is tail, and the one above
// which it is.
func (a along) quantiles(tail float64) (lower, upper float64) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, w := range a.weight {
		if w > 1e-6 {
			lo, hi = math.Min(lo, a.mean[i]-a.sd[i]), math.Max(hi, a.mean[i]+a.sd[i])
		}
	}
	find := func(share func(float64) float64, inner, outer float64) float64 {
		for share(outer) > tail {
			inner, outer = outer, outer+2*(outer-inner)
		}
		f := func(v float64) float64 { return math.Log(share(v)) - math.Log(tail) }
		for share(inner) < tail {
			inner, outer = inner-2*(outer-inner), inner
		}
		if inner < outer {
			return bisect(f, inner, outer)
		}
		return bisect(func(v float64) float64 { return -f(v) }, outer, inner)
	}
	return find(a.below, hi, lo), find(a.above, lo, hi)
}

// unskew takes a standardised value of a distribution of the skewness given to
// a normal one: Pearson's type III by the cube root of E. B. Wilson and M. M.
// Hilferty, PNAS 17 (1931) 684.
func unskew(z, skew float64) float64 {
	switch {
	case math.Abs(skew) < 1e-4:
		return z - skew/6*(z*z-1)
	case skew < 0:
		return -unskew(-z, -skew)
	}
	shape := 4 / (skew * skew)
	y := 1 + z*skew/2
	if y <= 0 {
		return math.Inf(-1)
	}
	return (math.Cbrt(y) - 1 + 1/(9*shape)) * 3 * math.Sqrt(shape)
}

// freedom gives the degrees of freedom of the precision 1/v of l·b, which over
// the spreads is nearly a multiple of chi-squared: 2 mean²/variance, that of
// Student's t where every row is exact.
func (m *conditional) freedom(l []float64, _ float64) float64 {
	var first, second float64
	for _, node := range m.nodes {
		u := 1 / quadratic(node.cov, l)
		first += node.weight * u
		second += node.weight * u * u
	}
	return 2 * first * first / (second - first*first)
}
