package fit

import "math"

// Ordinary fits exact rows without a sample effect by least squares.
//
//	sigma² = RSS/(n - p), cov(Coef) = sigma² (X'X)⁻¹, n - p degrees of freedom
//
// LogLik is the greatest log density of the rows, at the maximum-likelihood
// spread: -n/2 (log(2 pi RSS/n) + 1).
//
// Errors: ErrNoFreedom where n = p, ErrAliased where a slope cannot be told
// from the other terms, ErrNoSpread where the residuals are nothing but
// rounding. Rows that are not exact are the caller's fault and panic.
//
// Tested against the NIST StRD ANOVA sets and R's lm.
func Ordinary(d Data) (*Fitted, error) {
	l := newLayout(d)
	n, p := len(d.Lower), l.columns
	if n <= p {
		return nil, ErrNoFreedom
	}
	// A common shift leaves all but the facings' level as it is and saves the
	// digits that a large level would eat.
	shift := d.Lower[0]
	y := make([]float64, n)
	most := 0.0
	for i := range y {
		if d.Lower[i] != d.Upper[i] {
			panic("fit: Ordinary takes exact rows only")
		}
		y[i] = d.Lower[i] - shift
		most = math.Max(most, math.Abs(d.Lower[i]))
	}
	line, err := LeastSquares(l.rows(d), p, y)
	if err != nil {
		return nil, err
	}
	if !(math.Sqrt(line.RSS/float64(n)) > 4e-16*most) {
		return nil, ErrNoSpread
	}
	s2 := line.RSS / float64(line.DF)
	f := &Fitted{
		Method: "ols", N: n, P: p, Sigma: math.Sqrt(s2), Converged: true, Coef: line.Coef, layout: l,
		LogLik:  -float64(n) / 2 * (math.Log(2*math.Pi*line.RSS/float64(n)) + 1),
		cov:     line.inverse,
		freedom: func([]float64, float64) float64 { return float64(line.DF) },
	}
	for i := range f.cov {
		f.cov[i] *= s2
	}
	for a := range d.Facings {
		f.Coef[a] += shift
	}
	f.Fit = make([]float64, n)
	for i := range f.Fit {
		f.Fit[i] = d.Lower[i] - line.Residual[i]
	}
	return f, nil
}

// FacingF is the F statistic of the hypothesis that all facings of the first
// facing's component are equal, with its degrees of freedom.
//
//	F = b'(L C L')⁻¹ b / q, b the q differences to the first facing
//
// df2 is that of the least certain difference. q = 0 gives NaN.
func (f *Fitted) FacingF() (statistic, df1, df2 float64) {
	var rows [][]float64
	df2 = math.Inf(1)
	for a := 1; a < len(f.layout.component); a++ {
		if l, ok := f.Difference(0, a); ok {
			rows = append(rows, l)
			_, _, df := f.Contrast(l)
			df2 = math.Min(df2, df)
		}
	}
	q := len(rows)
	if q == 0 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	cov := make([]float64, q*q)
	b := make([]float64, q)
	for i := range q {
		b[i], _, _ = f.Contrast(rows[i])
		for j := range q {
			cov[i*q+j] = f.Covariance(rows[i], rows[j])
		}
	}
	l, ok := cholesky(cov, q)
	if !ok {
		return math.NaN(), math.NaN(), math.NaN()
	}
	return dot(b, cholSolve(l, q, b)) / float64(q), float64(q), df2
}
