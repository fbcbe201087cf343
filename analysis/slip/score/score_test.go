package score_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"griptrial/analysis/slip/score"
	"griptrial/analysis/trial"
)

func TestTally(t *testing.T) {
	slipped := trial.Sim{Outcome: trial.Slipped, SlipForce: 100, Kind: "sharp"}
	held := trial.Sim{Outcome: trial.Held, SlipForce: math.NaN()}
	var a, b score.Tally
	a.Add(score.Verdict{Outcome: trial.Slipped, Force: 101, Low: 99, High: 103, Kind: "sharp"}, slipped, true)
	a.Add(score.Verdict{Outcome: trial.Slipped, Force: 98, Low: 97, High: 99, Kind: "creep"}, slipped, true)
	a.Add(score.Verdict{Outcome: trial.Unclear}, slipped, true) // the record allows it
	b.Add(score.Verdict{Outcome: trial.Held}, slipped, false)
	b.Add(score.Verdict{Outcome: trial.Slipped, Force: 5, Low: 4, High: 6}, held, false)
	b.Add(score.Verdict{Outcome: trial.Held}, held, true)
	a.Merge(b)
	assert.Equal(t, []int{6, 4, 4, 1, 2, 1, 1, 1}, []int{a.Pulls, a.Right, a.Slips, a.Missed, a.Others, a.FalseSlips, a.Covered, a.Kinds})
	assert.InDeltaSlice(t, []float64{0.01, 0.02}, a.Errors, 1e-12)
	assert.InDeltaSlice(t, []float64{0.04, 0.02}, a.Widths, 1e-12)
	assert.InDelta(t, len(score.Header), len(a.Line("all")), 1, "the columns stand under their names")
	assert.Contains(t, a.Line("all"), "66.7")
	assert.NotContains(t, score.Tally{}.Line("none"), "NaN")
}
