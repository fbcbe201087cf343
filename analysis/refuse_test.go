package analysis_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/analysis/trial"
)

// pulls makes slipped readings of one facing.
func pulls(facing string, forces ...float64) []trial.Reading {
	var out []trial.Reading
	for _, f := range forces {
		out = append(out, trial.Reading{Facing: facing, Force: f, Outcome: trial.Slipped, Clamp: 1000})
	}
	return out
}

// with changes every reading.
func with(r []trial.Reading, change func(*trial.Reading)) []trial.Reading {
	out := slices.Clone(r)
	for i := range out {
		change(&out[i])
	}
	return out
}

func held(r *trial.Reading) { r.Outcome = trial.Held }

// codes lists the codes of the warnings.
func codes(r analysis.Results) []string {
	var c []string
	for _, w := range r.Warnings {
		c = append(c, w.Code)
	}
	return c
}

// analyse must not fail; its JSON must hold no NaN, and lists where there is
// nothing.
func analyse(t testing.TB, r []trial.Reading, s trial.Study) analysis.Results {
	t.Helper()
	before := slices.Clone(r)
	res, err := analysis.Analyse(r, s, analysis.Options{})
	require.NoError(t, err)
	assert.Equal(t, before, r, "the readings were changed")
	text, err := json.Marshal(res)
	require.NoError(t, err)
	assert.NotContains(t, string(text), "NaN")
	var back map[string]any
	require.NoError(t, json.Unmarshal(text, &back))
	for _, list := range []string{"facings", "against_control", "pairs", "bounds", "less_squeeze", "claims", "warnings", "pulls", "lines"} {
		assert.NotNil(t, back[list], list)
	}
	return res
}

// TestRefusals: what cannot be estimated is unknown, and a coded warning says
// what to add.
func TestRefusals(t *testing.T) {
	day := func(name string) func(*trial.Reading) { return func(r *trial.Reading) { r.Block = name } }
	sample := func(name string) func(*trial.Reading) { return func(r *trial.Reading) { r.Sample = name } }
	divided := func(r *trial.Reading) { r.Division = 50 }
	a, b := pulls("steel", 100, 110, 120), pulls("P240", 300, 290, 330)
	for _, c := range []struct {
		name     string
		readings []trial.Reading
		codes    []string
		interval bool // the ratio has one
		ratio    bool // the ratio is known
	}{
		{"one pull each", slices.Concat(pulls("steel", 100), pulls("P240", 300)), []string{"too-few-pulls", "one-pull"}, false, true},
		{"one pull of one facing", slices.Concat(a, pulls("P240", 300)), []string{"one-pull"}, true, true},
		{"all held", with(slices.Concat(a, b), held), []string{"nothing-slipped", "all-held"}, false, false},
		{"one facing all held", slices.Concat(a, with(b, held)), []string{"all-held", "bound-only"}, false, false},
		{"zero spread", slices.Concat(pulls("steel", 100, 100), pulls("P240", 300, 300)), []string{"zero-spread"}, false, true},
		{"one level", slices.Concat(a, b), []string{"one-level"}, true, true},
		{"facing goes with block", slices.Concat(with(a, day("mon")), with(b, day("tue"))), []string{"facing-aliased"}, false, false},
		{"one sample each", slices.Concat(with(a, sample("1")), with(b, sample("1"))), []string{"one-sample"}, false, true},
		{"all in one division", with(slices.Concat(pulls("steel", 100, 100), pulls("P240", 300, 300)), divided), []string{"zero-spread"}, false, true},
		{"no clamp", with(slices.Concat(a, b), func(r *trial.Reading) { r.Clamp = 0 }), []string{"no-clamp"}, true, true},
		{"one facing", a, nil, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := analyse(t, c.readings, trial.Study{})
			for _, code := range c.codes {
				assert.Contains(t, codes(r), code)
			}
			if len(r.AgainstControl) == 0 {
				assert.False(t, c.ratio)
				return
			}
			require.Len(t, r.AgainstControl, 1)
			got := r.AgainstControl[0]
			assert.Equal(t, c.ratio, got.Ratio.Known(), "ratio %v", got.Ratio)
			assert.Equal(t, c.interval, got.Lower.Known() && got.Upper.Known() && got.P.Known())
		})
	}
}

// TestQuestions: a question that makes no sense is an error.
func TestQuestions(t *testing.T) {
	good := slices.Concat(pulls("steel", 100, 110), pulls("P240", 300, 290))
	for name, c := range map[string]struct {
		r []trial.Reading
		s trial.Study
		o analysis.Options
	}{
		"no pulls":       {nil, trial.Study{}, analysis.Options{}},
		"only unclear":   {with(good, func(r *trial.Reading) { r.Outcome = trial.Unclear }), trial.Study{}, analysis.Options{}},
		"control":        {good, trial.Study{}, analysis.Options{Control: "leather"}},
		"confidence":     {good, trial.Study{}, analysis.Options{Confidence: 95}},
		"faces":          {good, trial.Study{}, analysis.Options{Faces: -1}},
		"force":          {pulls("steel", 100, math.NaN()), trial.Study{}, analysis.Options{}},
		"slipped at 0":   {pulls("steel", 100, 0), trial.Study{}, analysis.Options{}},
		"clamp below 0":  {with(good, func(r *trial.Reading) { r.Clamp = -1 }), trial.Study{}, analysis.Options{}},
		"way of pulling": {good, trial.Study{Pull: trial.PullSetup{How: "offset"}}, analysis.Options{}},
	} {
		_, err := analysis.Analyse(c.r, c.s, c.o)
		assert.Error(t, err, name)
	}
}

// TestTenAndThirtyFive: common practice, no source: at one handle torque an
// engineering-plastic part between ground jaws began to twist at about 10 kgf
// on a hand scale read to the kilo; with fine abrasive paper bonded to the same
// jaws it held 35 kgf without slipping. That earns a lower bound of about 3.5
// from one pull each, no interval, and the number of pulls that would earn one.
func TestTenAndThirtyFive(t *testing.T) {
	const kgf = 9.80665
	for _, division := range []float64{0, kgf} {
		r := analyse(t, []trial.Reading{
			{Facing: "ground jaws", Force: 10 * kgf, Outcome: trial.Slipped, Division: division, Weight: 5},
			{Facing: "abrasive paper", Force: 35 * kgf, Outcome: trial.Held, Division: division, Weight: 5},
		}, trial.Study{})
		require.Len(t, r.Bounds, 1)
		b := r.Bounds[0]
		assert.InEpsilon(t, 3.5, float64(b.AtLeast), 1e-12)
		assert.Equal(t, analysis.BoundRatio{A: "ground jaws", B: "abrasive paper", AtLeast: b.AtLeast, PullsA: 1, PullsB: 1, PullsFor: 3}, b)
		assert.False(t, r.AgainstControl[0].Ratio.Known())
		assert.False(t, r.AgainstControl[0].Lower.Known())
		assert.Equal(t, analysis.PerWeight, r.Quantity)
		require.Len(t, r.LessSqueeze, 1)
		assert.True(t, r.LessSqueeze[0].Bound)
		assert.InEpsilon(t, 5/3.5, float64(r.LessSqueeze[0].Weight.Estimate), 1e-12)
		assert.False(t, r.LessSqueeze[0].Weight.Lower.Known())
	}
}

// mixture is a study with held, divided and exact rows, blocks and levels.
func mixture(seed uint64) []trial.Reading {
	random := rand.New(rand.NewPCG(seed, 1))
	var out []trial.Reading
	for i := range 36 {
		f := i % 3
		r := trial.Reading{
			Facing: []string{"steel", "P240", "urethane"}[f], Clamp: []float64{1500, 2500, 4000}[random.IntN(3)], Outcome: trial.Slipped,
			Block: []string{"mon", "tue"}[random.IntN(2)], Order: trial.Count{N: i + 1, Known: true}, Clampings: trial.Count{N: random.IntN(9), Known: true},
		}
		r.Force = 2 * r.Clamp * []float64{0.12, 0.31, 0.26}[f] * math.Exp(0.1*random.NormFloat64())
		if seed%2 == 1 && r.Force > 2100 {
			r.Force, r.Outcome = 2100, trial.Held
		}
		if seed%4 == 3 {
			r.Division = 20
		}
		if seed%3 == 0 && seed%2 == 0 {
			r.Sample = []string{"a", "b", "c"}[random.IntN(3)]
		}
		out = append(out, r)
	}
	return out
}

// same compares what must not depend on how the study is written down.
func same(t *testing.T, a, b analysis.Results, scaleMu float64) {
	t.Helper()
	near := func(x, y analysis.Number, what string) {
		t.Helper()
		require.Equal(t, x.Known(), y.Known(), what)
		if x.Known() {
			assert.InDelta(t, float64(x), float64(y), 1e-7*(1+math.Abs(float64(x))), what)
		}
	}
	for i, f := range a.Facings {
		g := b.Facings[i]
		near(f.Mu.Estimate*analysis.Number(scaleMu), g.Mu.Estimate, "mu")
		near(f.Mu.Lower*analysis.Number(scaleMu), g.Mu.Lower, "mu lower")
		near(f.LogSD, g.LogSD, "scatter")
		near(f.Tolerance[1].Lower*analysis.Number(scaleMu), g.Tolerance[1].Lower, "tolerance")
	}
	for i, r := range a.AgainstControl {
		near(r.Ratio, b.AgainstControl[i].Ratio, "ratio")
		near(r.Lower, b.AgainstControl[i].Lower, "lower")
		near(r.P, b.AgainstControl[i].P, "p")
		near(r.Single.DF, b.AgainstControl[i].Single.DF, "df")
	}
	for i, p := range a.Pairs {
		near(p.Upper, b.Pairs[i].Upper, "pair upper")
	}
	near(a.Checks.Proportionality.Slope, b.Checks.Proportionality.Slope, "proportionality")
	near(a.Checks.Drift.P, b.Checks.Drift.P, "drift")
	near(a.Variance.ResidualSD, b.Variance.ResidualSD, "residual")
	near(a.Variance.BlockSD, b.Variance.BlockSD, "blocks")
}

// TestInvariance: the order of rows, names, the unit of force and a common
// factor on all clamp forces leave the results as they should be.
func TestInvariance(t *testing.T) {
	study := trial.Study{Facings: []trial.Facing{{Name: "steel", Control: true}, {Name: "P240"}, {Name: "urethane"}}}
	for seed := range uint64(12) {
		r := mixture(seed)
		base := analyse(t, r, study)
		require.NotEqual(t, "none", base.Model.Method, "seed %d", seed)

		shuffled := slices.Clone(r)
		rand.New(rand.NewPCG(seed, 2)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		same(t, base, analyse(t, shuffled, study), 1)

		names := map[string]string{"steel": "zinc", "P240": "A", "urethane": "m"}
		renamed := study
		renamed.Facings = []trial.Facing{{Name: "zinc", Control: true}, {Name: "A"}, {Name: "m"}}
		same(t, base, analyse(t, with(r, func(x *trial.Reading) { x.Facing = names[x.Facing]; x.Block = "b" + x.Block }), renamed), 1)

		const pound = 4.4482216152605
		same(t, base, analyse(t, with(r, func(x *trial.Reading) { x.Force *= pound; x.Clamp *= pound; x.Division *= pound }), study), 1)

		same(t, base, analyse(t, with(r, func(x *trial.Reading) { x.Clamp *= 1.7 }), study), 1/1.7)
	}
}

// TestSameBytes: the same study gives the same bytes.
func TestSameBytes(t *testing.T) {
	for seed := range uint64(4) {
		a, err := json.Marshal(analyse(t, mixture(seed), trial.Study{}))
		require.NoError(t, err)
		b, err := json.Marshal(analyse(t, mixture(seed), trial.Study{}))
		require.NoError(t, err)
		assert.Equal(t, string(a), string(b))
	}
}
