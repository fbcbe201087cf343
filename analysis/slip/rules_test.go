package slip

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"griptrial/analysis/trial"
)

// Each record here shows one rule at work: the same drop means another thing
// with another course around it.

// bend rises by 20 N/s from 1 s to 100 N at 6 s, falls by drop within fall
// seconds, and climbs on by after N/s.
func bend(drop, fall, after float64) func(t float64) float64 {
	return func(t float64) float64 {
		f := ramp(t, 20, 6)
		if t > 6 {
			f += after*(t-6) - drop*math.Min(1, (t-6)/fall)
		}
		return f
	}
}

// A drop as slow as a hand's: where the load climbs on as steeply as before, a
// hand had eased it; where it climbs on for seconds at a quarter of the slope,
// the link has not become softer, so the part slides.
func TestSlopeAfterADropTells(t *testing.T) {
	r := detect(t, made(12, 80, 0.05, bend(6, 0.3, 5)))
	assert.Equal(t, trial.Slipped, r.Outcome)
	assert.InDelta(t, 100, r.SlipForce, 0.5)

	r = detect(t, made(12, 80, 0.05, bend(6, 0.3, 20)))
	assert.Equal(t, trial.Held, r.Outcome)
	assert.InDelta(t, 214, r.PeakForce, 0.5)
}

// A fall as slow as a hand's to a level that stays: eased and held, or slid.
func TestSlowFallToALevelIsUnclear(t *testing.T) {
	r := detect(t, made(12, 80, 0.05, bend(3, 0.34, 0)))
	assert.Equal(t, trial.Unclear, r.Outcome, r.Why(newton))
	assert.Contains(t, r.Flags, Faint)
	quick := detect(t, made(12, 80, 0.05, bend(3, 0.02, 0)))
	assert.Equal(t, trial.Slipped, quick.Outcome)
	assert.InDelta(t, 100, quick.SlipForce, 0.5)
}

// The slow swing of a crank is no trembling: a drop of 2 % after it stands out.
func TestSmallDropAfterACrank(t *testing.T) {
	r := detect(t, made(9, 200, 0.02, func(t float64) float64 {
		f := ramp(t, 20, 6) + 2.4*math.Sin(2*math.Pi*math.Max(0, math.Min(t, 6)-1)/0.8)
		if t > 6 {
			f -= 2
		}
		return f
	}))
	assert.Equal(t, trial.Slipped, r.Outcome)
	assert.InDelta(t, 6, r.SlipTime, 0.02)
}

// A load that trembles where it stands, as it did on the way up, is held, and
// one that swings so for long is left to a person; it is never a slip.
func TestTremblingIsNoSlip(t *testing.T) {
	for _, hz := range []float64{3, 5, 8, 11} {
		r := detect(t, made(6.6, 200, 0.05, func(t float64) float64 {
			return ramp(t, 20, 6) + 0.6*math.Sin(2*math.Pi*hz*t)
		}))
		assert.NotEqual(t, trial.Slipped, r.Outcome, "%g Hz", hz)
	}
}

// A zero that moved by more than the threshold of a load is still found after
// the pull, and taken off.
func TestZeroThatMoved(t *testing.T) {
	tr := made(12, 100, 0.02, func(t float64) float64 {
		f := ramp(t, 20, 6)
		if t > 6 {
			f = math.Max(0, 60-60*math.Max(0, t-7))
		}
		return f + 0.6*t
	})
	r := detect(t, tr)
	assert.Equal(t, trial.Slipped, r.Outcome)
	assert.Contains(t, r.Flags, Drift)
	assert.InDelta(t, 100, r.SlipForce, 0.6)
}
