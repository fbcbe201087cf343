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

// noisy makes n pulls of each of two facings with the spreads given, changed
// one by one.
func noisy(seed uint64, n int, sd [2]float64, change func(i int, r *trial.Reading)) []trial.Reading {
	random := rand.New(rand.NewPCG(seed, 5))
	var out []trial.Reading
	for i := range 2 * n {
		r := trial.Reading{Facing: []string{"steel", "P240"}[i%2], Clamp: 1000, Outcome: trial.Slipped}
		r.Force = []float64{400, 900}[i%2] * math.Exp(sd[i%2]*random.NormFloat64())
		if change != nil {
			change(i, &r)
		}
		out = append(out, r)
	}
	return out
}

// ordered numbers the pulls it sees, not in the order of their forces.
func ordered() func(*trial.Reading) {
	n := 0
	return func(r *trial.Reading) { n++; r.Order = trial.Count{N: n * n % 11, Known: true} }
}

// TestEveryWarning raises each code of the manual, and no other.
func TestEveryWarning(t *testing.T) {
	count := func(n int) trial.Count { return trial.Count{N: n, Known: true} }
	even := [2]float64{0.05, 0.05}
	sample := func(i int, r *trial.Reading) { r.Sample = []string{"a", "b", "c"}[i/2%3] }
	for _, c := range []struct {
		code     string
		readings []trial.Reading
		study    trial.Study
		options  analysis.Options
	}{
		{code: "all-held", readings: noisy(1, 3, even, func(i int, r *trial.Reading) { r.Outcome = trial.Slipped + trial.Outcome(i%2) })},
		{code: "bound-only", readings: noisy(1, 3, even, func(i int, r *trial.Reading) { r.Outcome = trial.Slipped + trial.Outcome(i%2) })},
		{code: "clamp-mixed", readings: noisy(1, 3, even, func(i int, r *trial.Reading) {
			if i%4 == 1 {
				r.Clamp, r.Weight = 0, 5
			}
		}), study: trial.Study{
			Handle: trial.Handle{Arm: 0.15}, Screw: trial.Screw{PitchDiameter: 0.018, Lead: 0.004, HalfFlank: 0.26, ThreadLow: 0.1, ThreadHigh: 0.2}}},
		{code: "clamp-uncertain", readings: noisy(1, 3, even, func(_ int, r *trial.Reading) { r.Clamp, r.Weight = 0, 5 }), study: trial.Study{
			Handle: trial.Handle{Arm: 0.15}, Screw: trial.Screw{PitchDiameter: 0.018, Lead: 0.004, HalfFlank: 0.26, ThreadLow: 0.1, ThreadHigh: 0.2}}},
		{code: "drift", readings: noisy(1, 20, even, func(i int, r *trial.Reading) { r.Order = count(i); r.Force *= math.Exp(0.02 * float64(i)) })},
		{code: "facing-aliased", readings: noisy(1, 3, even, func(i int, r *trial.Reading) { r.Block = r.Facing })},
		{code: "large-scatter", readings: noisy(1, 9, [2]float64{0.05, 0.8}, nil)},
		{code: "mu-implausible", readings: noisy(1, 3, even, func(_ int, r *trial.Reading) { r.Clamp = 100_000 })},
		{code: "no-brown-forsythe", readings: noisy(1, 2, even, nil)},
		{code: "no-clamp", readings: noisy(1, 2, even, func(_ int, r *trial.Reading) { r.Clamp = 0 })},
		{code: "no-drift", readings: noisy(1, 3, even, nil)},
		{code: "no-group-tests", readings: noisy(1, 1, even, nil)},
		{code: "no-kruskal-wallis", readings: noisy(1, 3, even, func(_ int, r *trial.Reading) { r.Force = 500 })},
		{code: "no-lasting", readings: noisy(1, 9, even, func(i int, r *trial.Reading) { r.Clampings = count(i / 2) }), options: analysis.Options{Need: 100},
			study: trial.Study{Levels: []trial.Level{{Name: "usual", Usual: true}}}},
		{code: "no-permutation", readings: noisy(1, 6, even, sample)},
		{code: "no-proportionality", readings: noisy(1, 3, even, func(_ int, r *trial.Reading) { r.Clamp = 0 })},
		{code: "no-pulls", readings: noisy(1, 3, even, nil), study: trial.Study{Facings: []trial.Facing{{Name: "steel"}, {Name: "P240"}, {Name: "leather"}}}},
		{code: "no-shapiro-wilk", readings: noisy(1, 1, even, nil)},
		{code: "no-window", readings: noisy(1, 6, even, nil), study: trial.Study{Cut: []trial.Cut{{}}, Part: []trial.Part{{}}}},
		{code: "no-wear", readings: noisy(1, 3, even, nil)},
		{code: "no-welch", readings: noisy(1, 3, even, func(i int, r *trial.Reading) { r.Force = 400 + float64(i*(i%2)) })},
		{code: "not-normal", readings: noisy(1, 30, even, func(i int, r *trial.Reading) { r.Force *= math.Exp(float64(i / 57)) })},
		{code: "not-proportional", readings: noisy(1, 20, even, func(i int, r *trial.Reading) { r.Clamp = float64(500 * (1 + i/2%3)) })},
		{code: "nothing-slipped", readings: noisy(1, 3, even, func(_ int, r *trial.Reading) { r.Outcome = trial.Held })},
		{code: "one-level", readings: noisy(1, 3, even, nil)},
		{code: "one-pull", readings: noisy(1, 1, even, nil)},
		{code: "one-sample", readings: noisy(1, 3, even, func(_ int, r *trial.Reading) { r.Sample = "a" })},
		{code: "outlier", readings: noisy(1, 12, even, func(i int, r *trial.Reading) { r.Force *= math.Exp(float64(i / 23)) })},
		{code: "sample-missing", readings: noisy(1, 6, even, func(i int, r *trial.Reading) {
			if sample(i, r); i < 3 {
				r.Sample = ""
			}
		})},
		{code: "sample-spread-zero", readings: noisy(2, 9, even, sample)},
		{code: "no-spread-by-facing", readings: noisy(2, 9, even, sample), options: analysis.Options{Spreads: analysis.SpreadsByFacing}},
		{code: "no-bootstrap", readings: noisy(1, 3, even, nil), options: analysis.Options{Bootstrap: true}},
		{code: "scatter-unknown", readings: slices.Concat(pulls("steel", 100), with(pulls("steel", 120, 130), held), pulls("P240", 300), with(pulls("P240", 330), held))},
		{code: "slope-scatter", readings: with(slices.Concat(pulls("steel", 100, 108), with(pulls("steel", 120, 130, 104), held), pulls("P240", 300), with(pulls("P240", 330, 310), held)), ordered())},
		{code: "some-drift", readings: noisy(1, 5, even, func(i int, r *trial.Reading) { r.Order = trial.Count{N: i, Known: i > 1} })},
		{code: "some-wear", readings: noisy(1, 5, even, func(i int, r *trial.Reading) { r.Clampings = trial.Count{N: i, Known: i > 1} })},
		{code: "too-few-pulls", readings: noisy(1, 1, even, nil)},
		{code: "unequal-spread", readings: noisy(1, 15, [2]float64{0.01, 0.3}, nil)},
		{code: "wear", readings: noisy(1, 20, even, func(i int, r *trial.Reading) { r.Clampings = count(i / 2); r.Force *= math.Exp(-0.02 * float64(i)) })},
		{code: "zero-spread", readings: noisy(1, 3, even, func(i int, r *trial.Reading) { r.Force = 400 })},
	} {
		t.Run(c.code, func(t *testing.T) {
			r, err := analysis.Analyse(c.readings, c.study, c.options)
			require.NoError(t, err)
			assert.Contains(t, codes(r), c.code)
			for _, code := range codes(r) {
				assert.True(t, slices.ContainsFunc(analysis.WarningCodes, func(w analysis.WarningCode) bool { return w.Code == code }), code)
			}
		})
	}
}

// A scatter of 40 % of the mean is the limit: pulls of ±a about their log mean
// have the standard deviation a·√(4/3) for four of them, and CV² = exp(sd²)−1.
func TestLargeScatter(t *testing.T) {
	limit := math.Sqrt(math.Log1p(0.4*0.4) * 3 / 4)
	for _, c := range []struct {
		a    float64
		warn bool
	}{{0.99 * limit, false}, {1.01 * limit, true}} {
		up, down := math.Exp(c.a), math.Exp(-c.a)
		r, err := analysis.Analyse(slices.Concat(pulls("steel", 400, 404, 396, 401), pulls("P240", 900*up, 900*down, 900*up, 900*down)), trial.Study{}, analysis.Options{})
		require.NoError(t, err)
		assert.Equal(t, c.warn, slices.Contains(codes(r), "large-scatter"))
		for _, w := range r.Warnings {
			if w.Code == "large-scatter" {
				assert.Contains(t, w.Text, "on P240 (40 %). Readings may stand at the wrong pulls, or two conditions are mixed")
			}
		}
	}
}

// TestImplausibleMu holds the limits: the middle of the readings makes mu 0.019
// and 0.021, 2.9 and 3.1, and a comparison without clamp forces has no mu.
func TestImplausibleMu(t *testing.T) {
	for _, c := range []struct {
		mu, clamp float64
		warn      bool
	}{{0.019, 1000, true}, {0.021, 1000, false}, {2.9, 1000, false}, {3.1, 1000, true}, {0.019, 0, false}} {
		force := 2 * 1000 * c.mu
		all := with(slices.Concat(pulls("steel", force*0.999, force*1.001), pulls("P240", 400, 404)), func(r *trial.Reading) { r.Clamp = c.clamp })
		r, err := analysis.Analyse(all, trial.Study{}, analysis.Options{})
		require.NoError(t, err)
		assert.Equal(t, c.warn, slices.Contains(codes(r), "mu-implausible"), "mu %g", c.mu)
	}
}
