package analysis_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

// TestClaims: each kind of claim is shown, refuted or left open by the interval
// that belongs to it.
func TestClaims(t *testing.T) {
	a := pulls("steel", 380, 402, 371, 395, 388)
	b := pulls("P240", 930, 1012, 960, 985, 941)
	c := pulls("steel too", 384, 398, 377, 391, 390)
	claims := []trial.Claim{
		{Kind: "ratio", Facing: "P240", Ratio: 2},
		{Kind: "ratio", Facing: "P240", Ratio: 3},
		{Kind: "ratio", Facing: "P240", Ratio: 2.5},
		{Kind: "same", Facing: "steel too", Within: 0.1},
		{Kind: "same", Facing: "P240", Within: 0.1},
		{Kind: "same", Facing: "steel too", Within: 0.01},
		{Kind: "force", Facing: "P240", Force: 700, Level: "usual", Coverage: 0.95},
		{Kind: "force", Facing: "P240", Force: 1500, Level: "usual"},
		{Kind: "force", Facing: "P240", Force: 880, Level: "usual", Coverage: 0.95},
		{Kind: "force", Facing: "P240", Force: 700, Level: "high"},
		{Kind: "ratio", Facing: "leather", Ratio: 2},
		{Kind: "ratio", Facing: "steel", Ratio: 2},
		{Kind: "wish", Facing: "steel"},
	}
	want := []string{"shown", "refuted", "not decided", "shown", "refuted", "not decided", "shown", "refuted", "not decided", "not decided", "not decided", "not decided", "not decided"}
	r := analyse(t, slices.Concat(a, b, c), trial.Study{Claims: claims, Levels: []trial.Level{{Name: "usual", Clamp: 1000}}})
	require.Len(t, r.Claims, len(claims))
	for i, v := range r.Claims {
		assert.Equal(t, want[i], v.Verdict, "%s: %s", v.Text, v.Reason)
		assert.NotEmpty(t, v.Reason)
	}
	assert.Equal(t, "P240 holds at least 700 N at level usual in 95 of 100 clampings", r.Claims[6].Text)
	assert.Contains(t, r.Claims[2].Reason, "would decide")

	// Held pulls alone: no interval, so nothing is decided.
	r = analyse(t, slices.Concat(a, with(b, held)), trial.Study{Claims: claims[:1]})
	assert.Equal(t, "not decided", r.Claims[0].Verdict)
	assert.Contains(t, r.Claims[0].Reason, "slipped pulls")
}

// TestForceClaimIsTheToleranceBound: the bound behind a force claim is the
// facing's tolerance bound at that clamp force.
func TestForceClaimIsTheToleranceBound(t *testing.T) {
	r := analyse(t, slices.Concat(pulls("steel", 380, 402, 371), pulls("P240", 930, 1012, 960)), trial.Study{
		Claims: []trial.Claim{{Kind: "force", Facing: "P240", Force: 1, Level: "double"}}, Levels: []trial.Level{{Name: "double", Clamp: 2000}},
	})
	require.Equal(t, 0.99, r.Facings[1].Tolerance[1].Coverage)
	assert.InEpsilon(t, 2*2000*float64(r.Facings[1].Tolerance[1].Lower), float64(r.Claims[0].Lower), 1e-12)
	assert.Greater(t, float64(r.Claims[0].Upper), float64(r.Claims[0].Lower))
	assert.False(t, math.IsNaN(float64(r.Claims[0].Upper)))
}

// TestOutlier: one wild pull among many is flagged and stays.
func TestOutlier(t *testing.T) {
	r := slices.Concat(pulls("steel", 380, 402, 371, 395, 388, 391, 384, 379, 399, 386), pulls("P240", 930, 1012, 960, 985, 941, 955, 970, 966, 948, 300))
	res := analyse(t, r, trial.Study{})
	assert.Contains(t, codes(res), "outlier")
	assert.Equal(t, 20, res.Model.Pulls)
}
