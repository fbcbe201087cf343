package plan

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

// claimed is the shop's study (samples named) with a claim on the cloth.
func claimed() (trial.Study, trial.Claim) {
	s := shop()
	s.Facings = s.Facings[:2]
	return s, trial.Claim{Kind: "ratio", Facing: "P240 cloth", Ratio: 2, Expect: 2.5, Spread: 0.15, SampleSpread: 0.1}
}

func unsampled() (trial.Study, trial.Claim) {
	s, c := claimed()
	for i := range s.Facings {
		s.Facings[i].Samples = nil
	}
	return s, c
}

// R 4.2.2: power.t.test gives n = 8.175 for power 0.8; testdata/reference/power.R.
func TestForByPulls(t *testing.T) {
	s, c := unsampled()
	s.Plan.Blocks, s.Plan.Repeats = 1, 2 // 6 pulls of each at three levels
	d, err := For(s, c, Pilot{})
	require.NoError(t, err)
	assert.Equal(t, 9, d.Needed.Each)
	assert.Equal(t, 18, d.Needed.Pulls)
	assert.Zero(t, d.Needed.Samples)
	assert.Equal(t, 6, d.Planned.Each)
	assert.InDelta(t, 0.642438430340, d.Planned.Power, 1e-10)
	assert.Empty(t, d.Ways)
	require.Len(t, d.Table, 5)
	for i := 1; i < len(d.Table); i++ {
		assert.Greater(t, d.Table[i].Each, d.Table[i-1].Each)
	}
}

// R 4.2.2, power.t.test on sample means, sd = sqrt(0.1² + 0.15²/r);
// testdata/reference/power.R.
func TestForBySamples(t *testing.T) {
	s, c := claimed()
	d, err := For(s, c, Pilot{})
	require.NoError(t, err)
	// 12 pulls of each facing, three samples of the cloth: four a sample.
	assert.Equal(t, Step{Samples: 2, Each: 4, Pulls: 16, Power: d.Planned.Power}, d.Planned)
	assert.InDelta(t, 0.186135930451, d.Planned.Power, 1e-9)
	assert.Equal(t, 7, d.Needed.Samples) // n = 6.055
	assert.Equal(t, 4, d.Needed.Each)
	assert.Equal(t, 56, d.Needed.Pulls)
	samples := map[int]int{}
	for _, w := range d.Ways {
		samples[w.Each] = w.Samples
		assert.GreaterOrEqual(t, w.Power, 0.8)
	}
	assert.Equal(t, map[int]int{1: 12, 2: 8, 3: 7, 5: 6, 10: 6}, samples) // 11.29, 7.79, 6.63, 5.71, 5.03
}

func TestForTakesThePilot(t *testing.T) {
	s, c := claimed()
	c.Spread, c.SampleSpread = 0, 0
	want, err := For(s, trial.Claim{Kind: "ratio", Facing: c.Facing, Ratio: 2, Expect: 2.5, Spread: 0.2, SampleSpread: 0.05}, Pilot{})
	require.NoError(t, err)
	d, err := For(s, c, Pilot{Spread: 0.2, Pulls: 6, SampleSpread: 0.05, Samples: 2})
	require.NoError(t, err)
	assert.True(t, d.FromPilot)
	assert.Equal(t, want.Needed, d.Needed)
	// A pilot in which samples do not differ at all is still knowledge.
	d, err = For(s, c, Pilot{Spread: 0.2, Pulls: 6, SampleSpread: 0, Samples: 2})
	require.NoError(t, err)
	assert.Zero(t, d.SampleSpread)
}

func TestForRefuses(t *testing.T) {
	for want, spoil := range map[string]func(*trial.Study, *trial.Claim){
		"say what you expect":           func(_ *trial.Study, c *trial.Claim) { c.Expect = 0 },
		"cannot be shown":               func(_ *trial.Study, c *trial.Claim) { c.Expect = 1.9 },
		"spread of repeated pulls":      func(_ *trial.Study, c *trial.Claim) { c.Spread = 0 },
		"how much samples of one":       func(_ *trial.Study, c *trial.Claim) { c.SampleSpread = 0 },
		"one sample only":               func(s *trial.Study, _ *trial.Claim) { s.Facings[1].Samples = []string{"1"} },
		"for the facing or the control": func(s *trial.Study, _ *trial.Claim) { s.Facings[1].Samples = nil },
		"more than 10000":               func(_ *trial.Study, c *trial.Claim) { c.Expect = 2.0001 },
		"not in the study":              func(_ *trial.Study, c *trial.Claim) { c.Facing = "cork" },
		"is not known":                  func(_ *trial.Study, c *trial.Claim) { c.Kind = "cheaper" },
		"cannot be shown where a ratio": func(_ *trial.Study, c *trial.Claim) { c.Kind, c.Within, c.Expect = "same", 0.1, 1.2 },
		"how many times the claimed":    func(_ *trial.Study, c *trial.Claim) { c.Kind, c.Force, c.Expect = "force", 100, 0 },
	} {
		s, c := claimed()
		spoil(&s, &c)
		_, err := For(s, c, Pilot{})
		assert.ErrorContains(t, err, want)
	}
}

// The formula against trials that were made up and fitted as the analysis fits
// them: 2000 draws, so the standard error is at most 0.011; four of them.
func TestPowerAgainstSimulation(t *testing.T) {
	const draws = 2000
	for _, step := range []Step{{0, 6, 12, 0}, {4, 1, 8, 0}, {4, 3, 24, 0}, {7, 2, 28, 0}} {
		s, c := claimed()
		if step.Samples == 0 {
			s, c = unsampled()
		}
		d, err := For(s, c, Pilot{})
		require.NoError(t, err)
		sim, err := Simulate(d, step, nil, draws, 4, nil)
		require.NoError(t, err)
		assert.Zero(t, sim.NoFit)
		assert.InDelta(t, d.power(step.Samples, step.Each), sim.Power, 4*0.011, "%+v", step)
	}
}

// Held pulls say less: with most of a facing's pulls at the scale's end the
// power falls, and a far end changes nothing.
func TestPowerWithHeldPulls(t *testing.T) {
	s, c := unsampled()
	d, err := For(s, c, Pilot{})
	require.NoError(t, err)
	step := Step{Each: 12}
	free, err := Simulate(d, step, nil, 1000, 5, nil)
	require.NoError(t, err)
	far, err := Simulate(d, step, []float64{10}, 1000, 5, nil)
	require.NoError(t, err)
	assert.Equal(t, free.Power, far.Power)
	near, err := Simulate(d, step, []float64{-0.1}, 1000, 5, nil)
	require.NoError(t, err)
	// P(Z > -0.1/0.15) = 0.7475 of the facing's pulls reach it.
	assert.InDelta(t, 0.7475, near.Held, 0.02)
	assert.Less(t, near.Power, free.Power)
	again, err := Simulate(d, step, []float64{-0.1}, 1000, 5, nil)
	require.NoError(t, err)
	assert.Equal(t, near, again, "the same seed gives the same power")

	// Samples and held pulls together.
	s, c = claimed()
	d, err = For(s, c, Pilot{})
	require.NoError(t, err)
	all, err := Simulate(d, Step{Samples: 6, Each: 3}, nil, 60, 1, nil)
	require.NoError(t, err)
	some, err := Simulate(d, Step{Samples: 6, Each: 3}, []float64{0.05}, 60, 1, nil)
	require.NoError(t, err)
	assert.InDelta(t, 0.39, some.Held, 0.06)
	assert.InDelta(t, all.Power, some.Power, 0.25)
	assert.Less(t, some.NoFit, 3)
	_, err = Simulate(d, Step{Each: 1}, nil, 10, 1, nil)
	assert.ErrorContains(t, err, "nothing to simulate")
}

// The power of every kind of claim against made-up trials; the formula for a
// bound from samples is an approximation.
func TestPowerOfEveryKind(t *testing.T) {
	const draws = 500 // standard error at most 0.022
	for name, c := range map[string]struct {
		claim  trial.Claim
		step   Step
		within float64
	}{
		"ratio beside four": {trial.Claim{Kind: "ratio", Ratio: 2, Expect: 2.5}, Step{Each: 9}, 0.08},
		"same":              {trial.Claim{Kind: "same", Within: 0.15}, Step{Each: 14}, 0.08},
		"same, not quite":   {trial.Claim{Kind: "same", Within: 0.2, Expect: 1.05}, Step{Each: 14}, 0.08},
		"force":             {trial.Claim{Kind: "force", Force: 100, Coverage: 0.95, Expect: 1.6}, Step{Each: 8}, 0.08},
		"force, of samples": {trial.Claim{Kind: "force", Force: 100, Coverage: 0.95, Expect: 2.2}, Step{Samples: 5, Each: 3}, 0.12},
		"ratio, of samples": {trial.Claim{Kind: "ratio", Ratio: 2, Expect: 2.6}, Step{Samples: 6, Each: 3}, 0.08},
	} {
		s := shop()
		for i := range s.Facings {
			s.Facings[i].Samples = nil
			if c.step.Samples > 0 {
				s.Facings[i].Samples = []string{"1", "2"}
			}
		}
		c.claim.Facing, c.claim.Spread = "P240 cloth", 0.15
		if c.step.Samples > 0 {
			c.claim.SampleSpread = 0.1
		}
		d, err := For(s, c.claim, Pilot{})
		require.NoError(t, err, name)
		sim, err := Simulate(d, c.step, nil, draws, 9, nil)
		require.NoError(t, err)
		assert.InDelta(t, d.power(c.step.Samples, c.step.Each), sim.Power, c.within, name)
		assert.Greater(t, sim.Power, 0.2, name)
	}
}

// TestEquivalence: R 4.2.2 (testdata/reference/power.R).
func TestEquivalence(t *testing.T) {
	for _, c := range []struct{ delta, margin, df, want float64 }{
		{0, 3, 10, 0.7474065373}, {0.5, 3, 10, 0.6980358137}, {0, 2, 4, 0.2057864684}, {1, 5, 30, 0.9881601483},
	} {
		assert.InDelta(t, c.want, Equivalence(c.delta, c.margin, c.df, 0.05), 1e-8)
	}
	assert.True(t, math.IsNaN(Equivalence(0, 3, 0, 0.05)))
}

// TestBound: R 4.2.2, 1 - pt(qt(0.95, n-1, qnorm(p)*sqrt(n)), n-1, gap*sqrt(n)).
func TestBound(t *testing.T) {
	assert.InDelta(t, 0.4821281994, Bound(8, 7, 3, 0.95, 0.95), 1e-8)
	assert.InDelta(t, 0.6725515250, Bound(20, 19, 3.5, 0.99, 0.95), 1e-8)
	// A gap of z is the truth itself: the bound lies above it as often as it errs.
	assert.InDelta(t, 0.05, Bound(8, 7, 1.6448536269514722, 0.95, 0.95), 1e-9)
}

// A force is planned by the facing's own pulls, and one sample of the control
// does not matter.
func TestForForce(t *testing.T) {
	s, _ := claimed()
	s.Facings[0].Samples = []string{"1"}
	d, err := For(s, trial.Claim{Kind: "force", Facing: "P240 cloth", Force: 100, Level: "5 kg", Expect: 2, Spread: 0.1, SampleSpread: 0.05}, Pilot{})
	require.NoError(t, err)
	assert.Equal(t, 0.99, d.Claim.Coverage)
	assert.Equal(t, d.Needed.Samples*d.Needed.Each, d.Needed.Pulls)
	assert.GreaterOrEqual(t, d.Needed.Power, 0.8)
	s.Scale.Capacity = 300
	room := Headroom(s, d.Claim, nil)
	require.Len(t, room, 3)
	assert.InDelta(t, math.Log(300.0/200), room[1], 1e-12)
	assert.InDelta(t, math.Log(300.0/320), room[2], 1e-12)
}

func TestHeadroom(t *testing.T) {
	s, c := claimed()
	s.Scale.Capacity = 500
	pulls := []trial.Reading{
		{Facing: "ground steel", Outcome: trial.Slipped, Force: 20, Weight: 2},
		{Facing: "ground steel", Outcome: trial.Slipped, Force: 80, Weight: 8},
		{Facing: "ground steel", Outcome: trial.Void, Force: 1, Weight: 8},
		{Facing: "P240 cloth", Outcome: trial.Slipped, Force: 400, Weight: 8},
	}
	room := Headroom(s, c, pulls) // 10 N a kilogram, 2.5 times as much expected
	require.Len(t, room, 3)
	assert.InDelta(t, math.Log(500.0/(10*2*2.5)), room[0], 1e-12)
	assert.InDelta(t, math.Log(500.0/(10*8*2.5)), room[2], 1e-12)
	assert.Nil(t, Headroom(s, c, nil))
	s.Scale.Capacity = 0
	assert.Nil(t, Headroom(s, c, pulls))
}

// R 4.2.2, aov with an error stratum; testdata/reference/power.R.
func TestPilotAgainstR(t *testing.T) {
	var pulls []trial.Reading
	for _, x := range []struct {
		facing, sample string
		force          []float64
	}{
		{"ground steel", "1", []float64{10, 11, 10.5}},
		{"ground steel", "2", []float64{12, 12.5, 11.5}},
		{"P240 cloth", "1", []float64{25, 27, 26}},
		{"P240 cloth", "2", []float64{30, 29, 31}},
		{"P240 cloth", "3", []float64{27, 26, 28}},
	} {
		for _, f := range x.force {
			pulls = append(pulls, trial.Reading{Facing: x.facing, Sample: x.sample, Force: f, Weight: 5, Outcome: trial.Slipped})
		}
	}
	pulls = append(pulls, trial.Reading{Facing: "P240 cloth", Sample: "1", Force: 35, Outcome: trial.Held}, trial.Reading{Facing: "P240 cloth", Sample: "1", Outcome: trial.Void})
	p := FromReadings(pulls)
	assert.Equal(t, 10, p.Pulls)
	assert.Equal(t, 3, p.Samples)
	assert.Equal(t, 1, p.Held)
	assert.InDelta(t, 0.039939798939, p.Spread, 1e-9)
	assert.InDelta(t, 0.078238097114, p.SampleSpread, 1e-9)

	p = FromReadings(pulls[1:14]) // numbers unequal
	assert.InDelta(t, 0.036154034301, p.Spread, 1e-9)
	assert.InDelta(t, 0.077021242043, p.SampleSpread, 1e-9)

	assert.Equal(t, Pilot{}, FromReadings(nil))
	assert.Zero(t, FromReadings(pulls[:1]).Pulls)
	one := FromReadings(pulls[:3])
	assert.Equal(t, 2, one.Pulls)
	assert.Zero(t, one.Samples, "one sample says nothing of samples")
}
