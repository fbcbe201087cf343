package dist

import "math"

// NewManyToOne is Dunnett's two-sided distribution: the greatest |T_i| of
// comparisons with a multivariate t whose correlations are products,
// corr(T_i, T_j) = load_i·load_j, each load in [0, 1); see Loads.
//
//	P(max |T_i| <= d) = ∫ f_S(s) G(d s) ds,
//	G(h) = ∫ phi(y) prod_i { Phi((load_i y + h)/r_i) - Phi((load_i y - h)/r_i) } dy,
//
// r_i = sqrt(1 - load_i²).
//
// Source: C. W. Dunnett, "A multiple comparison procedure for comparing
// several treatments with a control", JASA 50 (1955), equations (4) and (5);
// unequal sizes as in the same author's Biometrics 20 (1964) 482. Tested
// against the 1955 tables, 30-digit quadrature and R's double quadrature.
func NewManyToOne(load []float64) *Joint {
	for _, l := range load {
		if !(l >= 0 && l < 1) {
			return &Joint{}
		}
	}
	f := factors(load)
	d := newJoint(len(load), float64(len(load)), f.beyond, f.within)
	if len(load) == 1 {
		d.student = 1
	}
	return d
}

// Loads gives the loads for groups of the sizes n against a control of size
// n0: sqrt(n_i/(n_i + n_0)). Sizes need not be whole: an effective number of
// pulls will do.
func Loads(n0 float64, n []float64) []float64 {
	load := make([]float64, len(n))
	for i := range n {
		load[i] = math.Sqrt(n[i] / (n[i] + n0))
	}
	return load
}

// factor is one distinct load: slope = Load/r, per = 1/r, and how many
// comparisons share it.
type factor struct{ slope, per, times float64 }

type factorList struct {
	list []factor
	step float64
}

// factors groups equal loads, so that equal group sizes cost one factor. Loads
// that differ by rounding alone are equal.
func factors(load []float64) factorList {
	var f factorList
	growth := 1.0
next:
	for _, l := range load {
		r := math.Sqrt((1 - l) * (1 + l))
		growth += l * l / (r * r)
		for i := range f.list {
			if math.Abs(f.list[i].slope-l/r) <= 1e-12*f.list[i].slope {
				f.list[i].times++
				continue next
			}
		}
		f.list = append(f.list, factor{l / r, 1 / r, 1})
	}
	f.step = rangeStep(growth)
	return f
}

// beyond is 1 - G(h), from the tails.
func (f factorList) beyond(h float64) float64 {
	if h > 39 { // below the least double
		return 0
	}
	return f.integral(func(y float64) float64 {
		log := 0.0
		for _, c := range f.list {
			log += c.times * math.Log1p(-Below(-c.slope*y-c.per*h)-Below(c.slope*y-c.per*h))
		}
		return -math.Expm1(log)
	})
}

// within is G(h).
func (f factorList) within(h float64) float64 {
	if h > 39 {
		return 1
	}
	return f.integral(func(y float64) float64 {
		product := 1.0
		for _, c := range f.list {
			a, b := c.slope*y-c.per*h, c.slope*y+c.per*h
			var inside float64 // from the tail that keeps its digits; y >= 0
			if a > 0 {
				inside = Below(-a) - Below(-b)
			} else {
				inside = 1 - Below(a) - Below(-b)
			}
			if h*c.per < 0.5 { // a narrow window would cancel
				inside = window(c.slope*y, c.per*h)
			}
			product *= math.Pow(inside, c.times)
		}
		return product
	})
}

// window is Phi(m+h) - Phi(m-h) for a small half-width h, by a ten-point
// Gauss-Legendre rule.
func window(m, h float64) float64 {
	sum := 0.0
	for i, x := range legendreNodes {
		sum += legendreWeights[i] * (phi(m+h*x) + phi(m-h*x))
	}
	return h * sum
}

// The positive nodes and weights of the ten-point Gauss-Legendre rule
// (M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, table 25.4).
var (
	legendreNodes   = [5]float64{0.148874338981631211, 0.433395394129247191, 0.679409568299024406, 0.865063366688984511, 0.973906528517171720}
	legendreWeights = [5]float64{0.295524224714752870, 0.269266719309996355, 0.219086362515982044, 0.149451349150580593, 0.066671344308688138}
)

// integral is ∫ phi(y) g(y) dy for an even g.
func (f factorList) integral(g func(y float64) float64) float64 {
	term := func(i int) float64 {
		y := float64(i) * f.step
		return 2 * phi(y) * g(y)
	}
	first := term(0) / 2
	return f.step * (first + march(1, int(40/f.step), first, term))
}
