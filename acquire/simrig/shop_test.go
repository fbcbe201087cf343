package simrig

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

func TestShopShowsEveryKindOfPull(t *testing.T) {
	s := DefaultShop()
	kinds := map[string]int{}
	outcomes := map[trial.Outcome]int{}
	for _, f := range s.Facings {
		for _, l := range s.Levels {
			for _, sample := range f.Samples {
				for seed := range uint64(4) {
					p, err := s.Pull(f.Name, sample, l.Name, 3, 1000*seed+uint64(len(f.Name)+len(l.Name)))
					require.NoError(t, err)
					outcomes[p.Truth.Outcome]++
					kinds[p.Truth.Kind]++
					if p.TieLost {
						assert.Equal(t, trial.Unclear, p.Truth.Outcome)
						kinds["tie"]++
						continue
					}
					expect := 2 * p.Mu * p.Clamp * s.GripFactor()
					if p.Truth.Outcome == trial.Slipped {
						assert.InEpsilon(t, expect, p.Truth.SlipForce, 0.03, "%s %s", f.Name, l.Name)
						continue
					}
					assert.Equal(t, trial.Held, p.Truth.Outcome)
					assert.Greater(t, expect, 0.95*s.Cell.Capacity, "held only at the end of the scale")
					assert.InEpsilon(t, s.Cell.Capacity, p.Truth.PeakForce, 0.03)
				}
			}
		}
	}
	assert.Greater(t, outcomes[trial.Slipped], 70)
	assert.Greater(t, outcomes[trial.Held], 3)
	assert.Greater(t, kinds["tie"], 0)
	assert.Greater(t, kinds["stick-slip"], 10)
	assert.Greater(t, kinds["creep"], 10)
	assert.Greater(t, kinds["sharp"], 10)
}

func TestShopScatterIsAsStated(t *testing.T) {
	s := DefaultShop()
	s.TieFails = 0
	var mu, clamp []float64
	for seed := range uint64(40) {
		p, err := s.Pull("ground steel", "1", "usual", 0, seed)
		require.NoError(t, err)
		mu = append(mu, math.Log(p.Mu))
		clamp = append(clamp, math.Log(p.Clamp/1301.9))
	}
	// Forty draws: a standard deviation is known to about 11 %.
	assert.InEpsilon(t, s.Scatter, sd(mu), 0.35)
	assert.InEpsilon(t, s.Tighten, sd(clamp), 0.35)
}

func TestClothWears(t *testing.T) {
	s := DefaultShop()
	fresh, err := s.Pull("P240 cloth", "1", "usual", 0, 9)
	require.NoError(t, err)
	worn, err := s.Pull("P240 cloth", "1", "usual", 20, 9)
	require.NoError(t, err)
	assert.InEpsilon(t, math.Exp(-20*0.008), worn.Mu/fresh.Mu, 1e-12)
}

func TestShopNamesWhatItHas(t *testing.T) {
	s := DefaultShop()
	_, err := s.Pull("soap", "1", "usual", 0, 1)
	assert.ErrorContains(t, err, "ground steel")
	_, err = s.Pull("ground steel", "9", "usual", 0, 1)
	assert.ErrorContains(t, err, `not "9"`)
	_, err = s.Pull("ground steel", "1", "crushing", 0, 1)
	assert.ErrorContains(t, err, "light")
}

func TestHangIsTheStraightLineOfTheCell(t *testing.T) {
	s := DefaultShop()
	assert.InDelta(t, s.Cell.Zero, float64(s.Hang(0, 1)), 60)
	assert.InDelta(t, 100, s.Cell.Force(s.Hang(100, 2)), 0.01)
}

func TestStudyMatchesTheShop(t *testing.T) {
	s := DefaultShop()
	study := s.Study()
	require.Len(t, study.Facings, 4)
	assert.True(t, study.Facings[0].Control)
	for _, f := range study.Facings {
		for _, sample := range f.Samples {
			for _, l := range study.Levels {
				assert.NoError(t, s.knows(Order{f.Name, sample, l.Name}))
			}
		}
	}
}

func sd(v []float64) float64 {
	var mean, sum float64
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for _, x := range v {
		sum += (x - mean) * (x - mean)
	}
	return math.Sqrt(sum / float64(len(v)-1))
}
