package uncertainty_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/clamp"
	"griptrial/analysis/trial"
	"griptrial/analysis/uncertainty"
)

const deg = math.Pi / 180

func share(b uncertainty.Budget, name string) float64 {
	for _, t := range b.Terms {
		if t.Name == name {
			return t.Share
		}
	}
	return math.NaN()
}

// An invented trial with a load cell and a measured clamp force, in N; the
// figures were computed elsewhere.
func TestFrictionFromCell(t *testing.T) {
	// The reference draws the clamp force as normal and gives it 30 degrees of
	// freedom in the budget alone.
	force := uncertainty.Normal("clamp", 620, 12.4)
	force.DF = 30
	inputs := []uncertainty.Input{
		uncertainty.Readings("pulls", 214.0, 5.2, 6),
		uncertainty.Normal("tare", 1.8, 0.15),
		uncertainty.Normal("gain", 1, 0.005),
		uncertainty.Resolution("division", 0.1),
		uncertainty.CosineOf("angle", 5*deg),
		force,
		uncertainty.Uniform("phi", 0.975, 0.995),
	}
	mu := func(x []float64) float64 { return x[2] * (x[0] - x[1] + x[3]) * x[4] / (2 * x[5] * x[6]) }
	b, err := uncertainty.Propagate(inputs, mu, nil, 0)
	require.NoError(t, err)
	assert.InDelta(t, 0.17351463, b.Value, 1e-8)
	assert.InDelta(t, 0.00411068, b.U, 1e-8)
	assert.InDelta(t, 42.9, b.DF, 0.05)
	assert.InDelta(t, 0.00829, b.Expanded, 5e-6)
	for name, want := range map[string]float64{"clamp": 0.71, "pulls": 0.18, "phi": 0.06, "gain": 0.04} {
		assert.InDelta(t, want, share(b, name), 0.01, name)
	}
	d, err := uncertainty.MonteCarlo(inputs, mu, uncertainty.Options{Seed: 1})
	require.NoError(t, err)
	assert.InDelta(t, 0.17359, d.Mean, 2e-5)
	assert.InDelta(t, 0.00435, d.SD, 2e-5)
	assert.InDelta(t, 0.1653, d.Lower, 1e-4)
	assert.InDelta(t, 0.1823, d.Upper, 1e-4)
}

// One series of pulls with a spring scale in kg and a weight on the handle.
// Shared inputs come first, so that two series can be put side by side.
func handleSeries(mean, s float64) (shared, own []uncertainty.Input) {
	shared = []uncertainty.Input{
		uncertainty.Normal("zero", 0, 0.1),
		uncertainty.Uniform("gain", 0.99, 1.01),
		uncertainty.Normal("weight", 5, 0.01),
		uncertainty.Normal("arm", 0.150, 0.0005),
		uncertainty.Uniform("thread", 0.10, 0.20),
		uncertainty.Uniform("collar", 0.10, 0.20),
	}
	for i := range shared {
		shared[i].Shared = true
	}
	own = []uncertainty.Input{
		uncertainty.Readings("pulls", mean, s, 5),
		uncertainty.Resolution("reading", 0.5),
		uncertainty.CosineOf("angle", 8*deg),
		uncertainty.CosineOf("tilt", 10*deg),
		uncertainty.Normal("tightening", 1, 0.03),
		uncertainty.Uniform("phi", 0.96, 0.99),
	}
	return shared, own
}

// handleForce is the clamp force of the invented vise; x are the shared inputs,
// y one series' own.
func handleForce(x, y []float64) float64 {
	s := trial.Screw{PitchDiameter: 0.018, Lead: 0.004, HalfFlank: 15 * deg, CollarDiameter: 0.024}
	k, err := clamp.TorquePerForce(s, x[4], x[5])
	if err != nil {
		return math.NaN()
	}
	return 9.8118793 * x[2] * x[3] * y[3] * y[4] / k
}

func handleMu(x, y []float64) float64 {
	return 9.80665 * x[1] * (y[0] + y[1] - x[0]) * y[2] / (2 * handleForce(x, y) * y[5])
}

// Friction from a hand scale and a handle weight is uncertain by 12 %, most of
// it from the screw; the ratio of two facings at the same weight only by 5 %.
// Invented; the figures were computed elsewhere.
func TestFrictionFromHandleAndRatio(t *testing.T) {
	shared, a := handleSeries(28.5, 1.2)
	_, b := handleSeries(19.0, 0.9)
	inputs := append(append(append([]uncertainty.Input(nil), shared...), a...), b...)
	n, m := len(shared), len(a)
	muA := func(x []float64) float64 { return handleMu(x[:n], x[n:n+m]) }
	muB := func(x []float64) float64 { return handleMu(x[:n], x[n+m:]) }
	ratio := func(x []float64) float64 { return muA(x) / muB(x) }

	budgetA, err := uncertainty.Propagate(inputs, muA, nil, 0)
	require.NoError(t, err)
	assert.InDelta(t, 0.07525645, budgetA.Value, 1e-8)
	assert.InDelta(t, 0.00910897, budgetA.U, 1e-8)
	for name, want := range map[string]float64{"collar": 0.55, "thread": 0.35, "tightening": 0.06, "pulls": 0.024} {
		assert.InDelta(t, want, share(budgetA, name), 0.006, name)
	}
	force, err := uncertainty.Propagate(inputs, func(x []float64) float64 { return handleForce(x[:n], x[n:n+m]) }, nil, 0)
	require.NoError(t, err)
	assert.InDelta(t, 1898.34, force.Value, 0.01)

	budgetB, err := uncertainty.Propagate(inputs, muB, nil, 0)
	require.NoError(t, err)
	assert.InDelta(t, 0.121, budgetA.Relative(), 5e-4)
	assert.InDelta(t, 0.122, budgetB.Relative(), 5e-4)
	assert.InDelta(t, 0.90, uncertainty.Correlation(budgetA, budgetB), 0.005)

	r, err := uncertainty.Propagate(inputs, ratio, nil, 0)
	require.NoError(t, err)
	assert.InDelta(t, 1.5, r.Value, 1e-12)
	assert.InDelta(t, 0.054, r.Relative(), 5e-4)
	assert.InDelta(t, 0.172, math.Hypot(budgetA.Relative(), budgetB.Relative()), 5e-4)
	for _, term := range r.Terms {
		if term.Shared && term.Name != "zero" {
			assert.InDelta(t, 0, term.Share, 1e-9, "%s cancels", term.Name)
		}
	}
	tightening := 0.0
	for _, term := range r.Terms {
		if term.Name == "tightening" {
			tightening += term.Share
		}
	}
	assert.InDelta(t, 0.62, tightening, 0.01)

	d, err := uncertainty.MonteCarlo(inputs, muA, uncertainty.Options{Seed: 2})
	require.NoError(t, err)
	assert.InDelta(t, 0.07536, d.Mean, 5e-5)
	assert.InDelta(t, 0.00923, d.SD, 4e-5)
	assert.InDelta(t, 0.0582, d.Lower, 2e-4)
	assert.InDelta(t, 0.0933, d.Upper, 2e-4)
	d, err = uncertainty.MonteCarlo(inputs, ratio, uncertainty.Options{Seed: 3})
	require.NoError(t, err)
	assert.InDelta(t, 0.062, d.SD/d.Mean, 1e-3)
	assert.InDelta(t, 1.33, d.Lower, 0.01)
	assert.InDelta(t, 1.69, d.Upper, 0.01)
}
