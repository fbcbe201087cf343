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
	line, fitted, ok := Line{}, []float64(nil), false
	if n > manyRows {
		line, fitted, ok = cellFit(d, l, y)
	}
	if !ok {
		var err error
		if line, fitted, err = rowFit(d, l, y); err != nil {
			return nil, err
		}
	}
	if !(math.Sqrt(line.RSS/float64(n)) > 4e-16*most) {
		return nil, ErrNoSpread
	}
	s2 := line.RSS / float64(line.DF)
	f := &Fitted{
		Method: "ols", N: n, P: p, Sigma: math.Sqrt(s2), TotalSD: math.Sqrt(s2), TotalDF: float64(line.DF), Converged: true, layout: l,
		LogLik:  -float64(n) / 2 * (math.Log(2*math.Pi*line.RSS/float64(n)) + 1),
		cov:     line.inverse,
		freedom: func([]float64, float64) float64 { return float64(line.DF) },
	}
	for i := range f.cov {
		f.cov[i] *= s2
	}
	f.place(line.Coef, shift)
	f.rss = line.RSS
	f.data = d
	f.Fit = fitted
	for i := range f.Fit {
		f.Fit[i] += shift
	}
	return f, nil
}

// rowFit solves the rows as they are.
func rowFit(d Data, l layout, y []float64) (line Line, fitted []float64, err error) {
	x, p := l.rows(d), l.columns
	if line, err = LeastSquares(x, p, y); err != nil {
		return line, nil, err
	}
	if len(d.Slopes) == 0 { // X'X holds counts, which are exact
		gram := make([]float64, p*p)
		for i := range y {
			addOuter(gram, x[i*p:(i+1)*p], 1)
		}
		chol, ok := cholesky(gram, p)
		if !ok {
			return line, nil, ErrAliased
		}
		line.inverse = cholInverse(chol, p)
	}
	fitted = make([]float64, len(y))
	for i := range fitted {
		fitted[i] = y[i] - line.Residual[i]
	}
	return line, fitted, nil
}

// BlockVariance is the variance of blocks by the analysis of variance, from a
// fit by least squares with blocks: what the blocks explain beyond the facings,
// less what scatter alone would,
//
//	s_b² = [RSS without blocks - RSS - (B - 1) sigma²]/k,  k = n - sum over f, b of n_fb²/n_f
//
// (C. R. Henderson's method 3, Biometrics 9 (1953) 226; with one facing it is
// s_L² of ISO 5725-2, for unequal n too). It may come out below zero. NaN where
// there are no blocks or slopes stand beside them.
func (f *Fitted) BlockVariance() float64 {
	d := f.data
	if d.Block == nil || len(d.Slopes) > 0 || !f.Connected() {
		return math.NaN()
	}
	cell := make([]float64, d.Facings*d.Blocks)
	size := make([]float64, d.Facings)
	for i, a := range d.Facing {
		cell[a*d.Blocks+d.Block[i]]++
		size[a]++
	}
	k := float64(f.N)
	for i, c := range cell {
		k -= c * c / size[i/d.Blocks]
	}
	blocks := float64(d.Blocks)
	d.Block, d.Blocks = nil, 0
	without, err := Ordinary(d)
	if err != nil {
		return math.NaN()
	}
	return (without.rss - f.rss - (blocks-1)*f.Sigma*f.Sigma) / k
}
