package fit

import "math"

// FacingF is the F statistic of the hypothesis that facings which blocks
// connect do not differ, with its degrees of freedom. NaN where there is
// nothing to test.
//
// After least squares it compares residual sums of squares with and without
// the facings,
//
//	F = [(RSS0 - RSS)/df1]/[RSS/df2],
//
// the classical analysis of variance; otherwise it is Wald's,
//
//	F = b'(L C L')⁻¹ b / df1, b the df1 differences to the first facing,
//
// with the degrees of freedom of the least certain difference (in balanced
// designs those of every difference). With bounds and intervals C is brought to
// the mean of the squared standard errors of Contrast, which know small samples.
func (f *Fitted) FacingF() (statistic, df1, df2 float64) {
	if f.Method == "ols" {
		return f.varianceF()
	}
	var rows [][]float64
	df2 = math.Inf(1)
	larger := 0.0
	for a := 1; a < len(f.layout.component); a++ {
		if l, ok := f.Difference(0, a); ok {
			rows = append(rows, l)
			_, se, df := f.Contrast(l)
			df2 = math.Min(df2, df)
			larger += se * se / f.Covariance(l, l)
		}
	}
	q := len(rows)
	cov := make([]float64, q*q)
	b := make([]float64, q)
	for i := range q {
		b[i] = f.Estimate(rows[i])
		for j := range q {
			cov[i*q+j] = f.Covariance(rows[i], rows[j]) * larger / float64(q)
		}
	}
	l, ok := cholesky(cov, q)
	if q == 0 || !ok {
		return math.NaN(), math.NaN(), math.NaN()
	}
	return dot(b, cholSolve(l, q, b)) / float64(q), float64(q), df2
}

// varianceF is the F of least squares.
func (f *Fitted) varianceF() (statistic, df1, df2 float64) {
	d := f.data
	d.Facing, d.Facings = make([]int, f.N), 1
	df2 = float64(f.N - f.P)
	without, err := Ordinary(d)
	if err != nil || without.P == f.P {
		return math.NaN(), math.NaN(), math.NaN()
	}
	df1 = float64(f.P - without.P)
	return (without.rss - f.rss) / df1 / (f.rss / df2), df1, df2
}
