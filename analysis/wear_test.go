package analysis_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/analysis/trial"
)

// TestLasting: a grip that falls by 2 % a clamping falls below the need where
// the bound's line crosses it; a facing already below it lasts no clamping.
func TestLasting(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 8))
	var r []trial.Reading
	for i := range 30 {
		for f, name := range []string{"steel", "P240"} {
			r = append(r, trial.Reading{
				Facing: name, Clamp: 1000, Outcome: trial.Slipped, Clampings: trial.Count{N: i, Known: true},
				Force: []float64{400, 1000}[f] * math.Exp(-0.02*float64(i)+0.03*random.NormFloat64()),
			})
		}
	}
	res, err := analysis.Analyse(r, trial.Study{}, analysis.Options{Need: 400})
	require.NoError(t, err)
	wear := res.Checks.Wear
	require.NotNil(t, wear)
	require.Len(t, wear.Lasts, 2)
	assert.Equal(t, 0.0, float64(wear.Lasts[0].Clampings))
	// By hand: bound at the mean of 14.5 clampings, falling by the slope.
	bound := 2000 * float64(res.Facings[1].Tolerance[1].Lower)
	want := math.Floor(14.5 + math.Log(bound/400)/-float64(wear.Slope))
	assert.Equal(t, want, float64(wear.Lasts[1].Clampings))
	assert.LessOrEqual(t, float64(wear.Lasts[1].AtLeast), want)
	assert.Contains(t, codes(res), "wear")

	res, err = analysis.Analyse(r, trial.Study{}, analysis.Options{})
	require.NoError(t, err)
	assert.Nil(t, res.Checks.Wear.Lasts)
}

// TestSeveralStudies: benches read at once are blocks, and the scatter between
// them is reported.
func TestSeveralStudies(t *testing.T) {
	bench := func(name string, shift float64) []trial.Reading {
		return with(slices.Concat(pulls("steel", 380, 402, 371), pulls("P240", 930, 1012, 960)), func(r *trial.Reading) {
			r.Study = name
			r.Force *= shift
		})
	}
	r := analyse(t, slices.Concat(bench("A", 1), bench("B", 1.2), bench("C", 0.9)), trial.Study{})
	assert.Equal(t, "log mu ~ facing + block", r.Model.Formula)
	assert.InDelta(t, 0.147, float64(r.Variance.BlockSD), 0.01, "sd of log 1, 1.2, 0.9, less what scatter makes")
	assert.Greater(t, float64(r.Variance.ReproducibilitySD), float64(r.Variance.BlockSD))
	alone := analyse(t, bench("A", 1), trial.Study{})
	assert.False(t, alone.Variance.ReproducibilitySD.Known())
}
