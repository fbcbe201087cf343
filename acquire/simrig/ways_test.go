package simrig

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
)

// pulledBy makes a study of one facing on one simulated vise, pulled as set up,
// and gives what the trial says of its friction. phi is the share of the friction
// that this way of pulling really meets.
func pulledBy(t *testing.T, setup trial.PullSetup, phi float64) (mu analysis.Estimate, truth float64) {
	s := DefaultShop().Straight() // a cell that is large enough for a straight pull
	s.TieFails = 0
	f, err := s.facing("ground steel", "1")
	require.NoError(t, err)
	l, err := s.level("usual")
	require.NoError(t, err)
	study := s.Study()
	study.Pull = setup
	var readings []trial.Reading
	for seed := range uint64(12) {
		rng := rand.New(rand.NewPCG(seed, 77))
		clamp := l.Clamp * math.Exp(s.Tighten*rng.NormFloat64())
		friction := f.Static * math.Exp(s.Scatter*rng.NormFloat64())
		truth += math.Log(friction*clamp/l.Clamp) / 12
		rig := s.rig(f, clamp, friction, rng)
		rig.Jaws.GripFactor = phi
		trace, _ := rig.Pull(seed)
		r, err := slip.Detect(trace, slip.Options{})
		require.NoError(t, err)
		require.Equal(t, trial.Slipped, r.Outcome)
		readings = append(readings, trial.Reading{Facing: f.Name, Level: l.Name, Weight: l.Weight, Outcome: trial.Slipped, Force: r.SlipForce})
	}
	res, err := analysis.Analyse(readings, study, analysis.Options{})
	require.NoError(t, err)
	require.Equal(t, analysis.Mu, res.Quantity)
	return *res.Facings[0].Mu, math.Exp(truth)
}

// The same facing on the same vise, pulled straight, by twist and at an offset,
// has the same friction coefficient. The rig's shares come from elsewhere: 1; the
// twist radius of 60 mm x 3 mm in closed form over the arm; and for 25 mm x 3 mm
// along the jaw at 12.5 mm the value 0.4660910546 of thirty thousand point pads and
// of 25 digits.
func TestMuDoesNotKnowHowItWasPulled(t *testing.T) {
	twist := DefaultShop()
	straight, truth := pulledBy(t, trial.PullSetup{How: "straight", Faces: 2}, 1)
	assert.InEpsilon(t, truth, float64(straight.Estimate), 0.03)
	for _, c := range []struct {
		setup trial.PullSetup
		phi   float64
	}{
		{twist.Setup, twist.GripFactor()},
		{trial.PullSetup{How: "offset", Arm: 12.5e-3, Patch: "rectangle 25 mm x 3 mm", Faces: 2}, 0.4660910546},
	} {
		other, _ := pulledBy(t, c.setup, c.phi)
		assert.InEpsilon(t, float64(straight.Estimate), float64(other.Estimate), 0.01, c.setup.How)
		assert.Less(t, float64(other.Lower), float64(straight.Upper))
		assert.Less(t, float64(straight.Lower), float64(other.Upper))
		forgotten := c.setup
		forgotten.How, forgotten.Arm = "straight", 0
		wrong, _ := pulledBy(t, forgotten, c.phi)
		assert.InEpsilon(t, c.phi*float64(other.Estimate), float64(wrong.Estimate), 1e-6, "forgetting the way of pulling")
	}
}
