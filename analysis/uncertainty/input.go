// Package uncertainty carries what is not known about the inputs of a
// measurement through its formula to the result, in two ways: the first-order
// budget of the GUM (JCGM 100), which says where the uncertainty comes from,
// and the Monte Carlo method of JCGM 101, which gives the distribution where
// the formula bends or an input is far from normal.
package uncertainty

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
)

type shape uint8

const (
	exact shape = iota
	normal
	uniform
	student
	arcsine
	cosine
)

// Input is one quantity of a measurement. Constructors make valid ones; Shared
// may be set afterwards.
type Input struct {
	Name string
	Mean float64
	U    float64 // standard uncertainty, of the GUM
	DF   float64 // degrees of freedom of U; +Inf where U is sure
	// Shared marks what is the same for both results that a ratio compares.
	Shared bool

	shape shape
	half  float64 // half width of uniform, arcsine and cosine; scale of student
}

// Exactly is a quantity without uncertainty.
func Exactly(name string, value float64) Input {
	return Input{Name: name, Mean: value, DF: math.Inf(1)}
}

// Normal is a quantity with a known standard uncertainty.
func Normal(name string, mean, u float64) Input {
	return Input{Name: name, Mean: mean, U: u, DF: math.Inf(1), shape: normal}
}

// Estimated is a quantity whose standard uncertainty u has df degrees of
// freedom. Monte Carlo draws it from the scaled and shifted t-distribution
// (JCGM 101, 6.4.9), whose variance is larger by df/(df − 2).
func Estimated(name string, mean, u, df float64) Input {
	return Input{Name: name, Mean: mean, U: u, DF: df, shape: student, half: u}
}

// Readings is the mean of n readings with the standard deviation s: u = s/√n
// with n − 1 degrees of freedom (JCGM 100, 4.2).
func Readings(name string, mean, s float64, n int) Input {
	return Estimated(name, mean, s/math.Sqrt(float64(n)), float64(n-1))
}

// Uniform is a quantity that lies between two ends, anywhere equally likely:
// u = width/√12 (JCGM 100, 4.3.7). Its degrees of freedom may be set where the
// ends themselves are uncertain.
func Uniform(name string, low, high float64) Input {
	half := (high - low) / 2
	return Input{Name: name, Mean: low + half, U: half / math.Sqrt(3), DF: math.Inf(1), shape: uniform, half: half}
}

// Resolution is a reading taken to the nearest step: uniform within half a step.
func Resolution(name string, step float64) Input { return Uniform(name, -step/2, step/2) }

// Arcsine is a quantity that swings like a sine between mean ± half:
// u = half/√2 (JCGM 101, 6.4.6).
func Arcsine(name string, mean, half float64) Input {
	return Input{Name: name, Mean: mean, U: half / math.Sqrt2, DF: math.Inf(1), shape: arcsine, half: half}
}

// CosineOf is the cosine of an angle that lies within ± half (rad), anywhere
// equally likely. At the angle 0 the first-order term of a cosine vanishes, so
// the cosine is an input of its own, with its mean sin(A)/A and its variance
// 1/2 + sin(2A)/(4A) − (sin(A)/A)².
func CosineOf(name string, half float64) Input {
	i := Input{Name: name, Mean: 1, DF: math.Inf(1), shape: cosine, half: half}
	if half == 0 {
		i.shape = exact
		return i
	}
	i.Mean = math.Sin(half) / half
	variance := 0.5 + math.Sin(2*half)/(4*half) - i.Mean*i.Mean
	if half < 0.02 { // the difference loses its digits: use its series
		h2 := half * half
		variance = h2 * h2 * (1.0/45 - h2/315)
	}
	i.U = math.Sqrt(variance)
	return i
}

func (i Input) check() error {
	switch {
	case math.IsNaN(i.Mean) || math.IsInf(i.Mean, 0):
		return fmt.Errorf("input %q: its value must be finite", i.Name)
	case !(i.U >= 0) || math.IsInf(i.U, 0):
		return fmt.Errorf("input %q: its uncertainty must be finite and not below 0 (write ranges low end first)", i.Name)
	case !(i.DF > 0):
		return fmt.Errorf("input %q: one reading has no scatter; give its uncertainty", i.Name)
	case i.shape == cosine && i.half > math.Pi/2:
		return fmt.Errorf("input %q: the angle must stay within 90°", i.Name)
	}
	return nil
}

// source is a seeded generator. It calls PCG directly, which spares a million
// draws the detour through an interface.
type source struct {
	*rand.Rand
	pcg *rand.PCG
}

func newSource(seed uint64) *source {
	pcg := rand.NewPCG(seed, 0x6772697074726961)
	return &source{rand.New(pcg), pcg}
}

// Float64 is uniform in [0, 1).
func (s *source) Float64() float64 { return float64(s.pcg.Uint64()>>11) * 0x1p-53 }

// draw gives one value at random.
func (i *Input) draw(r *source) float64 {
	switch i.shape {
	case normal:
		return i.Mean + i.U*r.NormFloat64()
	case uniform:
		return i.Mean + i.half*(2*r.Float64()-1)
	case student:
		return i.Mean + i.half*drawStudent(r, i.DF)
	case arcsine:
		return i.Mean + i.half*math.Sin(2*math.Pi*r.Float64())
	case cosine:
		return math.Cos(i.half * r.Float64())
	}
	return i.Mean
}

// drawStudent is the polar method of R. W. Bailey, Mathematics of Computation
// 62 (1994), for the t-distribution (memory; tested against its variance and
// quantiles).
func drawStudent(r *source, df float64) float64 {
	if math.IsInf(df, 1) {
		return r.NormFloat64()
	}
	for {
		u, v := 2*r.Float64()-1, 2*r.Float64()-1
		w := u*u + v*v
		if w < 1 && w > 0 {
			return u * math.Sqrt(df*(math.Pow(w, -2/df)-1)/w)
		}
	}
}

// Model is the formula of a measurement; x holds the inputs in their order and
// must not be kept or changed.
type Model func(x []float64) float64

// Correlations between inputs: a symmetric matrix with ones on the diagonal,
// or nil where all are independent.
type Correlations [][]float64

var errNotDefined = errors.New("the formula gives no finite value here")

func checkAll(inputs []Input, r Correlations) error {
	if len(inputs) == 0 {
		return errors.New("no inputs")
	}
	for _, i := range inputs {
		if err := i.check(); err != nil {
			return err
		}
	}
	if r == nil {
		return nil
	}
	if len(r) != len(inputs) {
		return fmt.Errorf("correlations: %d rows for %d inputs", len(r), len(inputs))
	}
	for i := range r {
		if len(r[i]) != len(inputs) {
			return fmt.Errorf("correlations: row %d has %d entries for %d inputs", i+1, len(r[i]), len(inputs))
		}
		for j := range i + 1 {
			if want := r[j][i]; r[i][j] != want || !(math.Abs(want) <= 1) || i == j && want != 1 {
				return fmt.Errorf("correlations: entry %d, %d must equal its mirror, lie between -1 and 1, and be 1 on the diagonal", i+1, j+1)
			}
		}
	}
	return nil
}

// cholesky is the lower triangle L with L·Lᵀ = r.
func cholesky(r Correlations) ([][]float64, error) {
	l := make([][]float64, len(r))
	for i := range r {
		l[i] = make([]float64, i+1)
		for j := range i + 1 {
			v := r[i][j]
			for k := range j {
				v -= l[i][k] * l[j][k]
			}
			switch {
			case i != j && l[j][j] > 0:
				l[i][j] = v / l[j][j]
			case i == j && v < -1e-12:
				return nil, errors.New("correlations: the matrix is not possible (not positive semidefinite)")
			case i == j:
				l[i][i] = math.Sqrt(math.Max(v, 0))
			case math.Abs(v) > 1e-6:
				return nil, errors.New("correlations: the matrix is not possible (not positive semidefinite)")
			}
		}
	}
	return l, nil
}
