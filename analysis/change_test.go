package analysis

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

// trialOf simulates pulls of three facings with the given grips and 8 % scatter
// in two blocks.
func trialOf(t *testing.T, rng *rand.Rand, grips []float64, pulls int) Results {
	t.Helper()
	var readings []trial.Reading
	for i := range pulls {
		for k, g := range grips {
			readings = append(readings, trial.Reading{Facing: string(rune('a' + k)), Outcome: trial.Slipped, Block: string(rune('1' + i%2)),
				Force: 100 * g * math.Exp(0.08*rng.NormFloat64()), Clamp: 200})
		}
	}
	r, err := Analyse(readings, trial.Study{}, Options{Samples: 50}) // draws of the permutation test, which does not matter here
	require.NoError(t, err)
	return r
}

func TestChanges(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	old, now := trialOf(t, rng, []float64{1, 2, 3}, 6), trialOf(t, rng, []float64{1, 2, 4.5, 2}, 8)
	c := Changes(old, now, true)
	require.Len(t, c, 2, "a facing that only one of them has is left out")
	for i, x := range c {
		assert.Equal(t, now.AgainstControl[i].Facing, x.Facing)
		assert.Equal(t, old.AgainstControl[i].Ratio, x.Old.Estimate)
		assert.InDelta(t, float64(now.AgainstControl[i].Ratio/old.AgainstControl[i].Ratio), float64(x.Change.Estimate), 1e-12)
		assert.Less(t, float64(x.Change.Lower), float64(x.Change.Estimate))
		assert.Equal(t, "bonferroni", x.Adjusted)
		assert.Greater(t, float64(x.DF), 10.0)
	}
	assert.Greater(t, float64(c[1].Change.Lower), 1.2, "half as much again is more than chance")
	assert.Less(t, float64(c[0].Change.Lower), 1.0)
	assert.Greater(t, float64(c[0].P), 0.05)

	for _, x := range Changes(old, now, false) {
		assert.True(t, x.Change.Estimate.Known())
		assert.False(t, x.Change.Lower.Known() || x.Change.Upper.Known() || x.P.Known() || x.DF.Known())
	}
	one := Changes(trialOf(t, rng, []float64{1, 2}, 6), trialOf(t, rng, []float64{1, 2}, 6), true)
	require.Len(t, one, 1)
	assert.Equal(t, "none", one[0].Adjusted)
	other := now
	other.Control = "b"
	assert.Nil(t, Changes(old, other, true))
	other = now
	other.Confidence = 0.9
	assert.False(t, Changes(old, other, true)[0].Change.Lower.Known(), "intervals of two confidences do not go together")
}

// TestChangesCoverage: where nothing changed, the intervals of both facings hold
// 1 together in at least 95 of 100 pairs of trials, but for the scatter of 200
// draws (three standard errors: 4.6 %); Bonferroni is a little careful.
func TestChangesCoverage(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	const pairs = 200
	held := 0
	for range pairs {
		grips := []float64{1, 2, 3}
		both := true
		for _, x := range Changes(trialOf(t, rng, grips, 4), trialOf(t, rng, grips, 6), true) {
			both = both && x.Change.Lower <= 1 && x.Change.Upper >= 1
		}
		if both {
			held++
		}
	}
	share := float64(held) / pairs
	t.Logf("both intervals hold in %.1f %% of %d pairs of trials", 100*share, pairs)
	assert.Greater(t, share, 0.95-0.046)
	assert.Less(t, share, 0.995)
}
