package simrig

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

// TestFamiliesAreWhatTheySay looks at the motion behind each record.
func TestFamiliesAreWhatTheySay(t *testing.T) {
	const seeds = 12
	kinds := map[string]map[string]int{}
	outcomes := map[string]map[trial.Outcome]int{}
	for _, family := range Families() {
		kinds[family], outcomes[family] = map[string]int{}, map[trial.Outcome]int{}
		for seed := range uint64(seeds) {
			c := Pull(family, seed)
			kinds[family][c.Truth.Kind]++
			outcomes[family][c.Truth.Outcome]++
			require.Equal(t, c.Truth.Outcome, c.Accept[0])
			require.Len(t, c.Trace.Force, len(c.Trace.T))
			require.Greater(t, len(c.Trace.T), 20)
			if c.Truth.Outcome == trial.Slipped {
				first, last := c.Trace.T[0], c.Trace.T[len(c.Trace.T)-1]
				assert.Greater(t, c.Truth.SlipTime, first)
				assert.Less(t, c.Truth.SlipTime, last)
				assert.LessOrEqual(t, c.Truth.SlipForce, c.Truth.PeakForce)
				continue
			}
			assert.True(t, math.IsNaN(c.Truth.SlipForce) && math.IsNaN(c.Truth.SlipTime), "%s %d", family, seed)
			assert.Empty(t, c.Truth.Kind)
		}
	}
	assert.Equal(t, seeds, outcomes["tie-lost-before"][trial.Unclear])
	assert.Equal(t, seeds, outcomes["held-letdown"][trial.Held])
	assert.Equal(t, seeds, outcomes["held-end"][trial.Held])
	assert.Greater(t, outcomes["jerky"][trial.Held], 2)
	assert.Greater(t, outcomes["jerky"][trial.Slipped], 2)
	assert.Greater(t, outcomes["saturated"][trial.Held], 2)
	for _, family := range []string{"sharp", "stick-slip", "creep", "small-drop", "slip-then-higher", "jams", "tie-lost-after"} {
		assert.Equal(t, seeds, outcomes[family][trial.Slipped], family)
	}
	assert.GreaterOrEqual(t, kinds["stick-slip"]["stick-slip"], seeds-2)
	assert.GreaterOrEqual(t, kinds["sharp"]["sharp"], seeds-3)
	assert.GreaterOrEqual(t, kinds["creep"]["creep"], seeds/2)
}

func TestAcceptsAsksForTheTieFlag(t *testing.T) {
	c := Case{Accept: []trial.Outcome{trial.Unclear, trial.Slipped}, TieSuspect: true}
	assert.True(t, c.Accepts(trial.Unclear, true))
	assert.True(t, c.Accepts(trial.Slipped, true))
	assert.False(t, c.Accepts(trial.Slipped, false))
	assert.False(t, c.Accepts(trial.Held, true))
}

// TestSlipBeyondTheScaleIsABound: the record stops at the scale's end, so what
// it can show is that the part carried that much.
func TestSlipBeyondTheScaleIsABound(t *testing.T) {
	r := plain()
	r.Cell.ScaleEnd = 300
	trace, track := r.run(1)
	c := Case{Rig: r, Trace: trace, Truth: track.truth(r)}
	require.Equal(t, trial.Slipped, c.Truth.Outcome, "in the motion")
	c.judge(track)
	assert.Equal(t, trial.Held, c.Truth.Outcome)
	assert.Equal(t, []trial.Outcome{trial.Held, trial.Unclear}, c.Accept)
	for _, f := range trace.Force {
		assert.LessOrEqual(t, f, 300.0)
	}
}

// TestPartThatLeavesAtOnceLooksLikeALostTie: the same motion is clear to a
// fast converter and unclear to a slow one.
func TestPartThatLeavesAtOnceLooksLikeALostTie(t *testing.T) {
	r := plain()
	r.Jaws.Kinetic, r.Jaws.Leaves = 0.05, 1.5e-3
	r.Drive.AfterSlip, r.Drive.Release = 20e-3, 0
	for rate, want := range map[float64]trial.Outcome{50: trial.Unclear, 2000: trial.Slipped} {
		r.Cell.Rate = rate
		trace, track := r.run(1)
		c := Case{Rig: r, Trace: trace, Truth: track.truth(r)}
		c.judge(track)
		assert.Equal(t, want, c.Truth.Outcome, "%g Hz", rate)
		assert.Equal(t, want == trial.Unclear, c.TieSuspect)
	}
}

func TestTrapsOfTheChain(t *testing.T) {
	clean := plain()
	base, _ := clean.Pull(1)
	n := len(base.T)

	r := clean
	r.Cell.Dropped = 0.1
	lossy, _ := r.Pull(1)
	assert.InDelta(t, 0.9*float64(n), float64(len(lossy.T)), 0.05*float64(n))

	r = clean
	r.Cell.Batch = 4
	batched, _ := r.Pull(1)
	assert.Less(t, batched.T[1]-batched.T[0], 1e-3)
	assert.InDelta(t, 4/r.Cell.Rate, batched.T[8]-batched.T[4], 1e-3)

	r = clean
	r.Cell.Negative, r.Cell.Offset, r.Cell.Division = true, 7, 2
	down, _ := r.Pull(1)
	assert.Equal(t, -8.0, down.Force[0], "-7 N, to the nearest 2 N away from zero")

	r = clean
	r.Cell.Hum, r.Cell.Rate = 3, 1000
	humming, _ := r.Pull(1)
	var least, most float64
	for i := range 400 { // at rest
		least, most = min(least, humming.Force[i]), max(most, humming.Force[i])
	}
	assert.InDelta(t, 6, most-least, 0.1)

	r = clean
	r.Cell.Spikes, r.Cell.SpikeMax = 3, 500
	spiked, _ := r.Pull(1)
	differ := 0
	for i := range spiked.Force {
		if math.Abs(spiked.Force[i]-base.Force[i]) > 40 {
			differ++
		}
	}
	assert.LessOrEqual(t, differ, 3)
	assert.GreaterOrEqual(t, differ, 1)
}

// What counts of the scale's end is whether a reading reached it: a slip beyond
// the end that averaging kept below it is a slip that the record shows.
func TestScaleEndIsWhatReadingsReached(t *testing.T) {
	ends, slips := 0, 0
	for seed := range uint64(60) {
		c := Pull("saturated", seed)
		cell := c.Rig.Cell
		if cell.Spikes > 0 || cell.Division > 0 {
			continue
		}
		reached := math.Inf(1)
		for i, f := range c.Trace.Force {
			if math.Abs(f) >= cell.ScaleEnd-1e-9 {
				reached = c.Trace.T[i]
				break
			}
		}
		if c.Truth.Outcome == trial.Slipped {
			slips++
			assert.Greater(t, reached, c.Truth.SlipTime, "seed %d: slipped, and the readings stood at the end before", seed)
		} else if !math.IsInf(reached, 1) {
			ends++
		}
	}
	assert.Greater(t, min(ends, slips), 5, "both happen")
}

// A fall that an instrument smears out shows less of itself than happened.
func TestShownFallIsSmearedByTheInstrument(t *testing.T) {
	k := newTrack()
	for i := range 3000 { // 1 N a block to 1000 N, down by 100 N for 50 ms, back
		f := math.Min(float64(i), 1000)
		if i > 1000 && i <= 1050 {
			f = 900
		}
		k.blocks = append(k.blocks, block{t: float64(i) * blockTime, tension: f, peak: f, forward: true})
	}
	v := verdict{at: 1000, force: 1001}
	assert.InDelta(t, 100, k.shown(v, blockTime), 2)
	assert.InDelta(t, 100, k.shown(v, 0.05), 30)
	assert.Less(t, k.shown(v, 0.4), 15.0)
}
