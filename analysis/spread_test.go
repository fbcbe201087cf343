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

// scattered makes n pulls of two facings with log spreads of their own.
func scattered(n int, spread [2]float64) []trial.Reading {
	random := rand.New(rand.NewPCG(11, 3))
	var out []trial.Reading
	for f, name := range []string{"steel", "P240"} {
		for range n {
			out = append(out, trial.Reading{Facing: name, Clamp: 1000, Outcome: trial.Slipped, Force: 400 * math.Exp(0.8*float64(f)+spread[f]*random.NormFloat64())})
		}
	}
	return out
}

// TestSpreads: facings that scatter differently are taken with their own
// spreads, held rows too; either can be asked for.
func TestSpreads(t *testing.T) {
	unlike := scattered(12, [2]float64{0.03, 0.3})
	var someHeld []trial.Reading
	for _, r := range unlike {
		if r.Force > 1000 {
			r.Force, r.Outcome = 1000, trial.Held
		}
		someHeld = append(someHeld, r)
	}
	for name, readings := range map[string][]trial.Reading{"exact": unlike, "held": someHeld} {
		auto, err := analysis.Analyse(readings, trial.Study{}, analysis.Options{})
		require.NoError(t, err)
		assert.Equal(t, analysis.SpreadsByFacing, auto.Model.Spread, name)
		assert.Contains(t, codes(auto), "unequal-spread")
		common, err := analysis.Analyse(readings, trial.Study{}, analysis.Options{Spreads: analysis.SpreadsCommon})
		require.NoError(t, err)
		assert.Equal(t, analysis.SpreadsCommon, common.Model.Spread)
		assert.Contains(t, codes(common), "unequal-spread")
		assert.Less(t, float64(auto.AgainstControl[0].Single.DF), float64(common.AgainstControl[0].Single.DF))
		assert.Less(t, float64(auto.Facings[0].LogSD), float64(auto.Facings[1].LogSD)/3)
		assert.Equal(t, "games-howell", auto.Pairs[0].Adjusted)
		assert.Equal(t, "tukey-kramer", common.Pairs[0].Adjusted)
		assert.Equal(t, common.Model.LogLikelihood, auto.Model.LogLikelihood, "the model stays the common one")
	}
	alike := scattered(12, [2]float64{0.1, 0.1})
	r, err := analysis.Analyse(alike, trial.Study{}, analysis.Options{})
	require.NoError(t, err)
	assert.Equal(t, analysis.SpreadsCommon, r.Model.Spread)
	r, err = analysis.Analyse(alike, trial.Study{}, analysis.Options{Spreads: analysis.SpreadsByFacing})
	require.NoError(t, err)
	assert.Equal(t, analysis.SpreadsByFacing, r.Model.Spread)
	_, err = analysis.Analyse(alike, trial.Study{}, analysis.Options{Spreads: "odd"})
	assert.ErrorContains(t, err, "odd")
}

// TestBootstrapBesideTheModel: on exact, independent pulls, and on samples, the
// resampled interval lies near the model's, and repeats with its seed.
func TestBootstrapBesideTheModel(t *testing.T) {
	asked := analysis.Options{Bootstrap: true, Seed: 3}
	for name, readings := range map[string][]trial.Reading{
		"pulls":   scattered(15, [2]float64{0.1, 0.1}),
		"samples": design{"", 2, 8, 3, 0.05, 0.1, 0, 0}.draw(rand.New(rand.NewPCG(1, 1))),
		"blocks":  with(scattered(15, [2]float64{0.1, 0.1}), blockwise()),
	} {
		r, err := analysis.Analyse(readings, trial.Study{}, asked)
		require.NoError(t, err)
		a := r.AgainstControl[0]
		require.NotNil(t, a.Bootstrap, name)
		width := math.Log(float64(a.Single.Upper / a.Single.Lower))
		assert.InDelta(t, width, math.Log(float64(a.Bootstrap.Percentile.Upper/a.Bootstrap.Percentile.Lower)), 0.35*width, name)
		assert.InDelta(t, width, math.Log(float64(a.Bootstrap.BCa.Upper/a.Bootstrap.BCa.Lower)), 0.35*width, name)
		assert.Less(t, float64(a.Bootstrap.Percentile.Lower), float64(a.Ratio))
		assert.Equal(t, uint64(3), a.Bootstrap.Seed)
		again, err := analysis.Analyse(readings, trial.Study{}, asked)
		require.NoError(t, err)
		assert.Equal(t, a, again.AgainstControl[0])
		plain, err := analysis.Analyse(readings, trial.Study{}, analysis.Options{})
		require.NoError(t, err)
		assert.Nil(t, plain.AgainstControl[0].Bootstrap)
		assert.False(t, slices.Contains(codes(plain), "no-bootstrap"))
	}
}

// blockwise puts every third pull into one block, and makes it grip a quarter
// less.
func blockwise() func(*trial.Reading) {
	n := 0
	return func(r *trial.Reading) {
		if n++; n%3 == 0 {
			r.Block, r.Force = "tue", 0.75*r.Force
		} else {
			r.Block = "mon"
		}
	}
}

// TestNoAdjustmentWithoutInterval: what cannot be compared names no adjustment.
func TestNoAdjustmentWithoutInterval(t *testing.T) {
	r := analyse(t, slices.Concat(pulls("steel", 100), pulls("P240", 300), pulls("urethane", 200)), trial.Study{})
	for _, a := range r.AgainstControl {
		assert.Equal(t, "none", a.Adjusted)
	}
	for _, p := range r.Pairs {
		assert.Equal(t, "none", p.Adjusted)
	}
}
