package calibration

import (
	"errors"
	"fmt"
	"math"
)

var (
	// ErrTooFew tells that the points do not determine the curve.
	ErrTooFew = errors.New("too few points")
	// ErrNotFinite tells that a number is NaN or infinite.
	ErrNotFinite = errors.New("a number is not finite")
)

const lengthPanic = "calibration: x and y differ in length"

// Line is a straight line y = Intercept + Slope·x fitted by least squares.
type Line struct {
	Intercept, Slope     float64
	InterceptSE, SlopeSE float64 // standard uncertainties; NaN for two points
	Correlation          float64 // between intercept and slope
	ResidualSD           float64 // sqrt(SSE/DF), unit of y; NaN for two points
	DF                   int     // n − 2
	R2                   float64 // 1 − SSE/Σ(y−ȳ)²; NaN where all y are equal
	N                    int
	MeanX, Sxx           float64 // mean of x; Σ(x−x̄)²
	MinX, MaxX           float64
}

// FitLine fits a straight line to points with equal uncertainty in y and none
// in x:
//
//	Slope = Σ(x−x̄)(y−ȳ) / Σ(x−x̄)²      Intercept = ȳ − Slope·x̄
//	u(Slope) = s/√Sxx,  u(Intercept) = s·√(1/n + x̄²/Sxx),  s² = SSE/(n−2)
//	r(Intercept, Slope) = −x̄ / √(Sxx/n + x̄²)
//
// x and y are in any units, of one length, in any order. The sums are taken
// about the means, so a large offset costs no digits. It does not assume
// normal scatter; the uncertainties assume independent scatter of one size.
// Two points give a line without uncertainties. It panics if the lengths
// differ; fewer than two different x give ErrTooFew, a NaN or infinity
// ErrNotFinite.
//
// Source: JCGM 100:2008, H.3.2, equations (H.13a) to (H.13f), written about the
// means. Tested on NIST StRD Norris to 12 digits and on GUM H.3.
func FitLine(x, y []float64) (Line, error) {
	if len(x) != len(y) {
		panic(lengthPanic)
	}
	if err := finite(x, y); err != nil {
		return Line{}, err
	}
	n := len(x)
	if n == 0 {
		return Line{}, fmt.Errorf("a line through no points: %w", ErrTooFew)
	}
	mx, my := mean(x), mean(y)
	l := Line{N: n, DF: n - 2, MeanX: mx, MinX: x[0], MaxX: x[0]}
	var sxy, syy float64
	for i := range x {
		dx, dy := x[i]-mx, y[i]-my
		l.Sxx += dx * dx
		sxy += dx * dy
		syy += dy * dy
		l.MinX, l.MaxX = min(l.MinX, x[i]), max(l.MaxX, x[i])
	}
	if l.MinX == l.MaxX {
		return Line{}, fmt.Errorf("a line needs at least two different loads, not %d points at one: %w", n, ErrTooFew)
	}
	l.Slope = sxy / l.Sxx
	l.Intercept = my - l.Slope*mx
	var sse float64
	for i := range x {
		r := (y[i] - my) - l.Slope*(x[i]-mx)
		sse += r * r
	}
	l.ResidualSD, l.R2 = spread(sse, l.DF), 1-sse/syy
	l.SlopeSE = l.ResidualSD / math.Sqrt(l.Sxx)
	l.InterceptSE = l.ResidualSD * math.Sqrt(1/float64(n)+mx*mx/l.Sxx)
	l.Correlation = -mx / math.Sqrt(l.Sxx/float64(n)+mx*mx)
	return l, nil
}

// At predicts y at x, with the standard uncertainty of the line there:
//
//	u² = s²·(1/n + (x−x̄)²/Sxx)
//
// which is equation (H.15) of JCGM 100:2008, H.3.4, with the covariance of the
// coefficients worked in.
func (l Line) At(x float64) (y, u float64) {
	d := x - l.MeanX
	return l.Intercept + l.Slope*x, l.ResidualSD * math.Sqrt(1/float64(l.N)+d*d/l.Sxx)
}

// Proportion is a line through the origin, y = Slope·x.
type Proportion struct {
	Slope, SlopeSE float64 // standard uncertainty; NaN for one point
	ResidualSD     float64 // sqrt(SSE/DF); NaN for one point
	DF             int     // n − 1
	R2             float64 // 1 − SSE/Σy², not about the mean
}

// FitProportion fits a line through the origin by least squares, for a check
// with few known weights after the tare:
//
//	Slope = Σxy/Σx²,  u(Slope) = s/√Σx²,  s² = SSE/(n−1)
//
// A calibration is never forced through zero: use FitLine there. It panics if
// the lengths differ; no x other than 0 gives ErrTooFew, a NaN or infinity
// ErrNotFinite. Tested on NIST StRD NoInt1 and NoInt2 to 13 digits.
func FitProportion(x, y []float64) (Proportion, error) {
	if len(x) != len(y) {
		panic(lengthPanic)
	}
	if err := finite(x, y); err != nil {
		return Proportion{}, err
	}
	var sxx, sxy, syy float64
	for i := range x {
		sxx += x[i] * x[i]
		sxy += x[i] * y[i]
		syy += y[i] * y[i]
	}
	if sxx == 0 {
		return Proportion{}, fmt.Errorf("a span needs at least one load other than zero: %w", ErrTooFew)
	}
	p := Proportion{Slope: sxy / sxx, DF: len(x) - 1}
	var sse float64
	for i := range x {
		r := y[i] - p.Slope*x[i]
		sse += r * r
	}
	p.ResidualSD, p.R2 = spread(sse, p.DF), 1-sse/syy
	p.SlopeSE = p.ResidualSD / math.Sqrt(sxx)
	return p, nil
}

// Parabola is y = B[0] + B[1]·x + B[2]·x² fitted by least squares.
type Parabola struct {
	B, SE      [3]float64 // coefficients and their standard uncertainties; SE is NaN for three points
	ResidualSD float64
	DF         int // n − 3
	R2         float64
}

// FitParabola fits a parabola, to see whether a cell bends away from its line.
// It works with polynomials that are orthogonal on the points,
//
//	p₁ = x − x̄,  p₂ = p₁² − a·p₁ − b,  a = Σp₁³/Σp₁²,  b = Σp₁²/n,
//
// so the three coefficients are found one by one and lose no digits to each
// other; B and SE are those in powers of x. Conditions, panics and errors are
// those of FitLine, with three different x needed. Source of the method:
// G. E. Forsythe, J. SIAM 5 (1957) 74-88, cited from memory. Tested on NIST StRD
// Pontius, which is a load-cell calibration, and on the load cell of the
// NIST/SEMATECH e-Handbook, 2.3.6.
func FitParabola(x, y []float64) (Parabola, error) {
	if len(x) != len(y) {
		panic(lengthPanic)
	}
	if err := finite(x, y); err != nil {
		return Parabola{}, err
	}
	if !atLeastDifferent(x, 3) {
		return Parabola{}, fmt.Errorf("a curve needs at least three different loads: %w", ErrTooFew)
	}
	n := float64(len(x))
	mx, my := mean(x), mean(y)
	var s1, s3 float64
	for _, v := range x {
		d := v - mx
		s1 += d * d
		s3 += d * d * d
	}
	a, b := s3/s1, s1/n
	p2 := func(v float64) float64 { d := v - mx; return d*d - a*d - b }
	var s2, c1, c2, syy float64
	for i, v := range x {
		p := p2(v)
		s2 += p * p
		c1 += (v - mx) * (y[i] - my)
		c2 += p * (y[i] - my)
		syy += (y[i] - my) * (y[i] - my)
	}
	c1 /= s1
	c2 /= s2
	var sse float64
	for i, v := range x {
		r := (y[i] - my) - c1*(v-mx) - c2*p2(v)
		sse += r * r
	}
	f := Parabola{DF: len(x) - 3}
	f.ResidualSD, f.R2 = spread(sse, f.DF), 1-sse/syy
	s := f.ResidualSD
	// p₂ in powers of x: q0 + q1·x + x².
	q0, q1 := mx*mx+a*mx-b, -(a + 2*mx)
	f.B = [3]float64{my - c1*mx + c2*q0, c1 + c2*q1, c2}
	f.SE = [3]float64{
		s * math.Sqrt(1/n+mx*mx/s1+q0*q0/s2),
		s * math.Sqrt(1/s1+q1*q1/s2),
		s / math.Sqrt(s2),
	}
	return f, nil
}

// At is the value of the parabola at x.
func (f Parabola) At(x float64) float64 { return f.B[0] + x*(f.B[1]+x*f.B[2]) }

// spread is the residual standard deviation, NaN without degrees of freedom.
func spread(sse float64, df int) float64 {
	if df < 1 {
		return math.NaN()
	}
	return math.Sqrt(sse / float64(df))
}

// mean is the arithmetic mean, with one correction step for rounding.
func mean(v []float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x
	}
	m := sum / float64(len(v))
	var rest float64
	for _, x := range v {
		rest += x - m
	}
	return m + rest/float64(len(v))
}

func finite(lists ...[]float64) error {
	for _, list := range lists {
		for i, v := range list {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Errorf("point %d: %w", i+1, ErrNotFinite)
			}
		}
	}
	return nil
}

func atLeastDifferent(x []float64, n int) bool {
	seen := map[float64]bool{}
	for _, v := range x {
		seen[v] = true
		if len(seen) == n {
			return true
		}
	}
	return false
}
