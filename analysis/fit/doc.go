// Package fit estimates log-normal models of a grip trial: the log of what a
// pull gave, explained by facing, block and sample.
//
//	y_i = facing_f(i) + block_b(i) + slopes·x_i + sample_s(i) + e_i
//
// Facings and blocks are fixed effects. The sample effect, where there is one,
// is normal with standard deviation tau and nested in the facing; e is normal
// with standard deviation sigma. A row may be exact, a lower bound (a held
// pull) or an interval (a reading to a division).
//
// Five estimators, one result type:
//
//	Ordinary            least squares: exact rows, no sample effect
//	Restricted          REML: exact rows with a sample effect
//	Censored            maximum likelihood: bounds and intervals, no sample effect
//	RestrictedCensored  both: bounds and intervals with a sample effect
//	Separate            each facing alone, with its own spread
//
// Nothing here knows about shops and vises: rows carry numbers, facings and
// blocks are indices. Arguments are never changed.
package fit

import (
	"errors"
	"math"

	"griptrial/analysis/dist"
)

// Errors that say why there is no fit.
var (
	// ErrNoFreedom: as many parameters as rows, so no spread can be estimated.
	ErrNoFreedom = errors.New("fit: no degrees of freedom left for the spread")
	// ErrNoSpread: the rows of each cell are all equal; the spread is zero.
	ErrNoSpread = errors.New("fit: zero spread")
	// ErrAliased: a column is a combination of the others.
	ErrAliased = errors.New("fit: a term cannot be told apart from the others")
	// ErrNotConverged: the likelihood has no maximum inside, or the search
	// did not find it.
	ErrNotConverged = errors.New("fit: no convergence")
)

// Data are the rows of a model. All slices have one entry a row.
type Data struct {
	Lower, Upper []float64 // log value lies in [Lower, Upper]; equal: exact; Upper = +Inf: held
	Facing       []int     // 0 .. Facings-1, each present
	Facings      int
	Block        []int // 0 .. Blocks-1, each present; nil: one block
	Blocks       int
	Sample       []int // 0 .. Samples-1, each present, nested in Facing; nil: none
	Samples      int
	Slopes       [][]float64 // further columns, one slice a column
	Like         *Fitted     // a fit of nearly the same rows, whose spreads start the search; nil: none
}

// Fitted is a fitted model. Coef lists the facings' effects (at the reference
// blocks), then the blocks', then the slopes.
type Fitted struct {
	Method    string  // "ols", "reml", "censored-ml", "censored-reml" or "separate"
	N         int     // rows
	P         int     // fixed-effect parameters
	Sigma     float64 // standard deviation of a pull on one sample
	Tau       float64 // standard deviation between samples; 0 where there is no sample effect
	TotalSD   float64 // of a single pull on a fresh sample, corrected for small samples where Sigma is not
	TotalDF   float64 // degrees of freedom of TotalSD
	LogLik    float64 // see the estimator
	Converged bool
	Boundary  bool // REML ended at Tau = 0
	Coef      []float64
	Fit       []float64 // fitted value of each row, without the sample effect
	Predicted []float64 // with the sample effect (best linear prediction); nil where there is none

	layout  layout
	shift   float64 // common level that Coef includes and centred leaves out
	centred []float64
	cov     []float64    // P×P covariance of Coef
	rss     float64      // of least squares
	given   *conditional // of the effects, where they are not Student's
	own     []*Fitted    // each facing on its own, where there is no common spread
	crossed float64      // degrees of freedom that held rows are worth beside a sample effect
	data    Data         // likewise
	freedom
}

// place records the coefficients of y - shift.
func (f *Fitted) place(centred []float64, shift float64) {
	f.centred, f.shift = centred, shift
	f.Coef = append([]float64(nil), centred...)
	for a := range f.layout.component {
		f.Coef[a] += shift
	}
}

// freedom gives degrees of freedom of the contrast l, whose estimated variance
// is v.
type freedom func(l []float64, v float64) float64

// Contrast estimates l·Coef: the estimate, its standard error and its degrees
// of freedom. Where the distribution is not Student's (see Censored) the
// standard error is that which makes the 95 % interval as wide as it is.
func (f *Fitted) Contrast(l []float64) (estimate, se, df float64) {
	estimate = f.Estimate(l)
	v := quadratic(f.cov, l)
	df = f.freedom(l, v)
	if f.crossed > 0 {
		v, df = v*df/(df+f.crossed), df+f.crossed
	}
	if f.student() {
		return estimate, math.Sqrt(v), df
	}
	t := dist.TQuantile(0.025, df)
	lower, upper := f.LimitsAt(l, t)
	return estimate, (upper - lower) / (2 * t), df
}

// student reports whether contrasts follow Student's t.
func (f *Fitted) student() bool {
	return f.given == nil && (f.own == nil || f.own[0].given == nil)
}

// along is the distribution of l·Coef less the level, where it is not Student's.
func (f *Fitted) along(l []float64) along {
	if f.own != nil {
		return together(f.own, l)
	}
	return f.given.along(l, 0)
}

// Estimate is l·Coef.
func (f *Fitted) Estimate(l []float64) float64 {
	sum := 0.0
	for i, c := range f.centred {
		sum += l[i] * c
	}
	return sum + f.level(l) // the level last, so that differences keep their digits
}

// level is the part of a contrast that lies in the common level.
func (f *Fitted) level(l []float64) float64 {
	sum := 0.0
	for i := range f.layout.component {
		sum += l[i]
	}
	return sum * f.shift
}

// LimitsAt gives the limits of l·Coef that lie t standard errors off on the
// scale of Student's t with the contrast's degrees of freedom: estimate ± t·se,
// or, where the distribution is not Student's, those with the same tails. t may
// be the critical value of several comparisons.
func (f *Fitted) LimitsAt(l []float64, t float64) (lower, upper float64) {
	if f.student() {
		estimate, se, _ := f.Contrast(l)
		return estimate - t*se, estimate + t*se
	}
	tail := dist.TSurvival(t, f.freedom(l, quadratic(f.cov, l)))
	lower, upper = f.along(l).quantiles(tail)
	return lower + f.level(l), upper + f.level(l)
}

// Limits gives the interval of l·Coef at a confidence, equal tails.
func (f *Fitted) Limits(l []float64, confidence float64) (lower, upper float64) {
	_, _, df := f.Contrast(l)
	return f.LimitsAt(l, dist.TQuantile((1-confidence)/2, df))
}

// Statistic is Student's t of the hypothesis l·Coef = 0, or, where the
// distribution is not Student's, the t with the same tail.
func (f *Fitted) Statistic(l []float64) (t, df float64) {
	if f.student() {
		estimate, se, df := f.Contrast(l)
		return estimate / se, df
	}
	df = f.freedom(l, quadratic(f.cov, l))
	a := f.along(l)
	zero := -f.level(l)
	below, above := a.below(zero), a.above(zero)
	switch {
	case math.Min(below, above) < 1e-12: // beyond the grid: as far off as the limits reach
		estimate, se, _ := f.Contrast(l)
		return estimate / se, df
	case below < above:
		return dist.TQuantile(below, df), df
	}
	return -dist.TQuantile(above, df), df
}

// Covariance is the covariance of two contrasts.
func (f *Fitted) Covariance(l, m []float64) float64 {
	s := 0.0
	for i := range l {
		for j := range m {
			s += l[i] * f.cov[i*f.P+j] * m[j]
		}
	}
	return s
}

// Difference is the contrast facing b minus facing a. ok is false where blocks
// do not connect the two: the data then cannot tell the difference of the
// facings from that of the blocks.
func (f *Fitted) Difference(a, b int) (l []float64, ok bool) {
	l = make([]float64, f.P)
	l[b]++
	l[a]--
	return l, f.layout.component[a] == f.layout.component[b]
}

// Connected reports whether blocks connect all facings.
func (f *Fitted) Connected() bool {
	for _, c := range f.layout.component {
		if c != f.layout.component[0] {
			return false
		}
	}
	return true
}

// Mean is the contrast that gives facing a averaged evenly over the blocks
// that its component of the design holds.
func (f *Fitted) Mean(a int) []float64 {
	l := make([]float64, f.P)
	l[a] = 1
	blocks := 0.0
	for _, c := range f.layout.blockComponent {
		if c == f.layout.component[a] {
			blocks++
		}
	}
	for b, col := range f.layout.blockColumn {
		if col >= 0 && f.layout.blockComponent[b] == f.layout.component[a] {
			l[col] = 1 / blocks
		}
	}
	return l
}

// Slope is the contrast that picks the slope of column j of Data.Slopes.
func (f *Fitted) Slope(j int) []float64 {
	l := make([]float64, f.P)
	l[f.layout.firstSlope+j] = 1
	return l
}

// Block is the contrast that gives block b against the reference block of its
// component; all zero for the reference itself.
func (f *Fitted) Block(b int) []float64 {
	l := make([]float64, f.P)
	if col := f.layout.blockColumn[b]; col >= 0 {
		l[col] = 1
	}
	return l
}
