package analysis_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/analysis/trial"
)

// vise is an invented vise: 18 mm screw of 4 mm lead, 150 mm arm, one friction
// range in thread and collar.
func vise() trial.Study {
	return trial.Study{
		Handle: trial.Handle{Arm: 0.15, Mass: 0.2, MassArm: 0.07, HasPlace: true, Latitude: 51.5 * math.Pi / 180, Altitude: 50},
		Screw: trial.Screw{PitchDiameter: 0.018, Lead: 0.004, HalfFlank: 15 * math.Pi / 180,
			ThreadLow: 0.10, ThreadHigh: 0.20, CollarLow: 0.10, CollarHigh: 0.20, CollarDiameter: 0.024},
	}
}

// pulls5 makes five pulls of a facing at 5 kg whose logarithms have the mean of
// force and exactly the standard deviation sd.
func pulls5(facing string, force, sd float64) []trial.Reading {
	var out []trial.Reading
	for _, z := range []float64{-1.2649110640673518, -0.6324555320336759, 0, 0.6324555320336759, 1.2649110640673518} {
		out = append(out, trial.Reading{Facing: facing, Weight: 5, Outcome: trial.Slipped, Force: force * math.Exp(sd*z)})
	}
	return out
}

// The clamp force of this vise, computed elsewhere by quadrature over both
// uniform frictions: 1596 N to 2483 N in 95 % (invented vise, mean 1969.8 N), over
// 1943.67 N at the middle of the ranges.
func TestDoubt(t *testing.T) {
	readings := append(pulls5("steel", 200, 0.04), pulls5("P240", 300, 0.05)...)
	r := analyse(t, readings, vise())
	require.NotNil(t, r.Doubt)
	c := r.Doubt.Clamp
	require.NotNil(t, c)
	assert.InDelta(t, 1596.0/1943.67, float64(c.Lower), 2e-3)
	assert.InDelta(t, 2483.0/1943.67, float64(c.Upper), 4e-3)
	assert.InDelta(t, 0.118, float64(c.Standard), 4e-3, "first order; the quadrature has 11.8 %")

	// First order: what each friction gives mu adds up to the clamp force's doubt.
	square := 0.0
	ways := map[string]bool{}
	for _, term := range r.Doubt.Terms {
		ways[term.Ratio] = true
		if term.U.Known() {
			assert.Equal(t, analysis.Cancels, term.Ratio, term.Term)
			square += float64(term.U * term.U)
		} else {
			assert.NotEmpty(t, term.Note, term.Term)
		}
	}
	assert.InDelta(t, float64(c.Standard), math.Sqrt(square), 1e-12)
	assert.True(t, ways[analysis.Cancels] && ways[analysis.Stays])

	// Mu is wide, the ratio narrow: standard errors sd/sqrt(5) of each facing, the
	// pooled one for the ratio.
	for i, sd := range []float64{0.04, 0.05} {
		f := r.Facings[i]
		assert.Equal(t, "computed", f.Clamp)
		total := *f.MuTotal
		assert.Less(t, float64(total.Lower), float64(f.Mu.Lower))
		assert.Greater(t, float64(total.Upper), float64(f.Mu.Upper))
		// Friction alone moves mu from 1/1.2775 to 1/0.8211; scatter widens that a little.
		assert.InDelta(t, 1943.67/2483*(1-0.3*sd), float64(total.Lower/f.Mu.Estimate), 0.01)
		assert.InDelta(t, 1943.67/1596*(1+0.3*sd), float64(total.Upper/f.Mu.Estimate), 0.01)
	}
	last := r.Budgets[len(r.Budgets)-1]
	require.Equal(t, "steel", last.Against)
	pooled := math.Sqrt((0.04*0.04 + 0.05*0.05) / 2)
	assert.InDelta(t, pooled*math.Sqrt(2.0/5), float64(last.U), 1e-4)
	a, b := math.Hypot(0.04/math.Sqrt(5), float64(c.Standard)), math.Hypot(0.05/math.Sqrt(5), float64(c.Standard))
	assert.InDelta(t, math.Hypot(a, b), float64(last.Apart), 2e-4)
	assert.InDelta(t, float64(c.Standard*c.Standard)/(a*b), float64(last.Correlation), 2e-3)
	assert.Greater(t, float64(last.Apart), 5*float64(last.U))

	// The ratio does not know the screw.
	s := vise()
	s.Screw = trial.Screw{}
	plain := analyse(t, readings, s)
	assert.InDelta(t, float64(r.AgainstControl[0].Lower), float64(plain.AgainstControl[0].Lower), 1e-12)
	assert.InDelta(t, float64(r.AgainstControl[0].Upper), float64(plain.AgainstControl[0].Upper), 1e-12)
	assert.Nil(t, plain.Doubt.Clamp)
	assert.Nil(t, plain.Facings[0].MuTotal)
	assert.Empty(t, plain.Facings[0].Clamp)
}

// A measured clamp force: no band, and its gauge cancels.
func TestDoubtMeasured(t *testing.T) {
	r := analyse(t, noisy(1, 5, [2]float64{0.05, 0.05}, nil), trial.Study{})
	assert.Nil(t, r.Doubt.Clamp)
	assert.Equal(t, "gain of what measures the clamp force", r.Doubt.Terms[0].Term)
	assert.Equal(t, "measured", r.Facings[0].Clamp)
	assert.Nil(t, r.Window)
}

// A study with a cut and a part has its window in the results, by the source of
// its clamp forces.
func TestWindowInResults(t *testing.T) {
	s := vise()
	s.Levels = []trial.Level{{Name: "usual", Weight: 5, Usual: true}}
	s.Cut = []trial.Cut{{Kc11: 180e6, Mc: 0.25, Diameter: 0.006, Teeth: 2, FeedTooth: 0.04e-3, Depth: 0.002, Mode: "slot",
		Radial: 0.45, Axial: 0.3, Dullness: [2]float64{1.3, 1.3}, Dynamic: [2]float64{1.5, 1.5}, Safety: 1.5, X: 0.01, Y: 0.008, Z: 0.0095}}
	s.Part = []trial.Part{{Length: 0.025, Width: 0.04, Height: 0.012, Grip: 0.003, Yield: 120e6, Modulus: 3600e6}}
	readings := append(pulls5("steel", 600, 0.04), pulls5("P240", 1500, 0.05)...)
	r := analyse(t, readings, s)
	require.NotNil(t, r.Window)
	require.Len(t, r.Window.Facings, 2)
	for i, f := range r.Window.Facings {
		assert.Equal(t, "computed", f.Clamp)
		tolerance := r.Facings[i].Tolerance[1].Lower
		assert.Equal(t, tolerance, f.Tolerance)
		assert.Less(t, float64(f.Mu), float64(tolerance))
		assert.NotNil(t, f.Open)
		assert.NotEmpty(t, f.Usual)
	}
	assert.Less(t, float64(r.Window.Facings[1].Least), float64(r.Window.Facings[0].Least))
	assert.NotEmpty(t, r.Window.Cautions)
	s.Levels[0] = trial.Level{Name: "usual", Clamp: float64(r.Window.Facings[1].Least) * 1.01, Usual: true}
	measured, err := analysis.WindowOf(r, s, 0.99)
	require.NoError(t, err)
	assert.Equal(t, "holds", measured.Facings[1].Usual)
	assert.Equal(t, "slips", measured.Facings[0].Usual)
	other, err := analysis.WindowOf(r, s, 0.95)
	require.NoError(t, err)
	assert.Less(t, float64(other.Facings[0].Least), float64(r.Window.Facings[0].Least))
	_, err = analysis.WindowOf(r, trial.Study{}, 0.99)
	assert.ErrorIs(t, err, analysis.ErrNoCut)
}
