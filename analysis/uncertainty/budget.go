package uncertainty

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Budget is the result of a first-order propagation.
type Budget struct {
	Value    float64 // the formula at the means
	U        float64 // combined standard uncertainty
	DF       float64 // effective degrees of freedom; NaN where they have no meaning
	K        float64 // coverage factor: the t value for DF
	Expanded float64 // K·U
	// HigherOrder is U with the next terms of the series; NaN with correlated
	// inputs. Where it differs much from U, trust Monte Carlo.
	HigherOrder float64
	Terms       []Term

	cov [][]float64
}

// Term is one input's part in a budget.
type Term struct {
	Name         string
	Sensitivity  float64 // dy/dx
	Contribution float64 // |dy/dx|·u, in the unit of the result
	Share        float64 // of U², without correlations: the squares' share
	Shared       bool
}

// Relative is the relative standard uncertainty.
func (b Budget) Relative() float64 { return b.U / math.Abs(b.Value) }

// Propagate carries the inputs' uncertainties through f to first order:
//
//	U² = Σ (dy/dx_i·u_i)² + 2 Σ_{i<j} dy/dx_i·dy/dx_j·u_i·u_j·r_ij
//	DF = U⁴ / Σ (dy/dx_i·u_i)⁴/DF_i                 (Welch-Satterthwaite)
//
// Derivatives are central differences with one Richardson step. With correlated
// inputs of finite degrees of freedom DF has no meaning: DF, K and Expanded are
// then NaN. confidence 0 means 0.95.
// Errors: inputs or correlations that are not valid, a formula without a finite
// value at or beside the means.
// Source: JCGM 100:2008, equations 10, 13 and G.2b; the higher-order terms are
// those of the note to 5.1.2. Tested against its examples H.1, H.2 and G.4.1.
func Propagate(inputs []Input, f Model, r Correlations, confidence float64) (Budget, error) {
	if err := checkAll(inputs, r); err != nil {
		return Budget{}, err
	}
	if confidence == 0 {
		confidence = 0.95
	}
	if !(confidence > 0 && confidence < 1) {
		return Budget{}, fmt.Errorf("confidence %.6g: must lie between 0 and 1", confidence)
	}
	p := &probe{f: f, inputs: inputs, x: make([]float64, len(inputs))}
	b := Budget{Value: p.at(-1, 0, -1, 0), cov: covariance(inputs, r)}
	squares, fourths := 0.0, 0.0
	for i, in := range inputs {
		c := p.first(i)
		t := Term{Name: in.Name, Sensitivity: c, Contribution: math.Abs(c) * in.U, Shared: in.Shared}
		b.Terms = append(b.Terms, t)
		squares += t.Contribution * t.Contribution
		if !math.IsInf(in.DF, 1) {
			fourths += math.Pow(t.Contribution, 4) / in.DF
		}
	}
	for i := range b.Terms {
		if squares > 0 {
			b.Terms[i].Share = b.Terms[i].Contribution * b.Terms[i].Contribution / squares
		}
	}
	variance := Covariance(b, b)
	b.U = math.Sqrt(math.Max(variance, 0))
	b.DF = math.Pow(b.U, 4) / fourths
	b.HigherOrder = math.Sqrt(variance + p.higher(b.Terms))
	if correlated(r) {
		b.HigherOrder = math.NaN()
		if fourths > 0 {
			b.DF = math.NaN()
		}
	}
	if fourths == 0 {
		b.DF = math.Inf(1)
	}
	b.K = StudentQuantile((1+confidence)/2, b.DF)
	b.Expanded = b.K * b.U
	if p.failed {
		return Budget{}, errNotDefined
	}
	return b, nil
}

// Covariance of two results of the same inputs, in the same order and with the
// same correlations: Σ Σ c_i·d_j·u_i·u_j·r_ij (JCGM 100, H.2.3).
func Covariance(a, b Budget) float64 {
	sum := 0.0
	for i, s := range a.Terms {
		for j, t := range b.Terms {
			if c := a.cov[i][j]; c != 0 {
				sum += s.Sensitivity * t.Sensitivity * c
			}
		}
	}
	return sum
}

// Correlation of two results of the same inputs; NaN where one is exact.
func Correlation(a, b Budget) float64 { return Covariance(a, b) / (a.U * b.U) }

// StudentQuantile is the quantile of the t-distribution; df may be fractional
// or +Inf, and gives NaN for NaN.
func StudentQuantile(p, df float64) float64 {
	switch {
	case math.IsNaN(df):
		return math.NaN()
	case math.IsInf(df, 1):
		return distuv.UnitNormal.Quantile(p)
	}
	return distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(p)
}

func covariance(inputs []Input, r Correlations) [][]float64 {
	cov := make([][]float64, len(inputs))
	for i := range inputs {
		cov[i] = make([]float64, len(inputs))
		cov[i][i] = inputs[i].U * inputs[i].U
		for j := range r {
			cov[i][j] = r[i][j] * inputs[i].U * inputs[j].U
		}
	}
	return cov
}

func correlated(r Correlations) bool {
	for i := range r {
		for j := range i {
			if r[i][j] != 0 {
				return true
			}
		}
	}
	return false
}

// probe takes derivatives of a formula at the means of its inputs.
type probe struct {
	f      Model
	inputs []Input
	x      []float64
	failed bool
}

// at evaluates with input i moved by di and input j by dj standard uncertainties.
func (p *probe) at(i int, di float64, j int, dj float64) float64 {
	for k, in := range p.inputs {
		p.x[k] = in.Mean
		if k == i {
			p.x[k] += di * in.U
		}
		if k == j {
			p.x[k] += dj * in.U
		}
	}
	y := p.f(p.x)
	if math.IsNaN(y) || math.IsInf(y, 0) {
		p.failed = true
	}
	return y
}

// stepU is the difference step in standard uncertainties.
const stepU = 0.1

// first is dy/dx_i.
func (p *probe) first(i int) float64 {
	if p.inputs[i].U == 0 {
		return 0
	}
	d := func(h float64) float64 { return (p.at(i, h, -1, 0) - p.at(i, -h, -1, 0)) / (2 * h) }
	return (4*d(stepU/2) - d(stepU)) / 3 / p.inputs[i].U
}

// higher is Σ_i Σ_j [ (y_ij)²/2 + y_i·y_ijj ]·u_i²·u_j², derivatives in units of u.
func (p *probe) higher(terms []Term) float64 {
	const h = 5 * stepU
	sum := 0.0
	for i := range p.inputs {
		if p.inputs[i].U == 0 {
			continue
		}
		slope := terms[i].Sensitivity * p.inputs[i].U
		for j := range p.inputs {
			if p.inputs[j].U == 0 {
				continue
			}
			var mixed, third float64
			if i == j {
				up, mid, down := p.at(i, h, -1, 0), p.at(-1, 0, -1, 0), p.at(i, -h, -1, 0)
				up2, down2 := p.at(i, 2*h, -1, 0), p.at(i, -2*h, -1, 0)
				mixed = (up - 2*mid + down) / (h * h)
				third = (up2 - 2*up + 2*down - down2) / (2 * h * h * h)
			} else {
				uu, ud, du, dd := p.at(i, h, j, h), p.at(i, h, j, -h), p.at(i, -h, j, h), p.at(i, -h, j, -h)
				mixed = (uu - ud - du + dd) / (4 * h * h)
				third = ((uu - 2*p.at(i, h, -1, 0) + ud) - (du - 2*p.at(i, -h, -1, 0) + dd)) / (2 * h * h * h)
			}
			sum += mixed*mixed/2 + slope*third
		}
	}
	return sum
}
