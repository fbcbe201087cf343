package simrig

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

// plain is a steady straight pull with a clean sharp slip and a clean record.
func plain() Rig {
	return Rig{
		Drive: Drive{Idle: 0.5, Speed: 5e-3, AfterSlip: 8e-3, Hold: 0.3, Release: 0.05, Rest: 0.3},
		Link:  Link{Stiffness: 30e3, Damping: 1e-3},
		Part:  Part{Mass: 0.4},
		Jaws:  Jaws{Clamp: 1000, Static: 0.2, Kinetic: 0.15, RateEffect: 0.0004, Contact: 1e6},
		Cell:  Cell{Rate: 200},
	}
}

func TestStraightPullSlipsAtTwiceMuN(t *testing.T) {
	// Coulomb: the part starts to move at faces · mu · N. The rate law takes a
	// little off, for the part starts slower than the 1 mm/s at which mu holds.
	for _, clamp := range []float64{200, 1000, 2500} {
		for _, mu := range []float64{0.1, 0.2, 0.5} {
			r := plain()
			r.Jaws.Clamp, r.Jaws.Static, r.Jaws.Kinetic, r.Jaws.RateEffect = clamp, mu, 0.7*mu, 0.002*mu
			trace, truth := r.Pull(1)
			assert.Equal(t, trial.Slipped, truth.Outcome)
			assert.Equal(t, "sharp", truth.Kind)
			assert.InEpsilon(t, 2*mu*clamp, truth.SlipForce, 0.015, "clamp %g, mu %g", clamp, mu)
			top := 0.0
			for _, f := range trace.Force {
				top = max(top, f)
			}
			// Sampling misses at most what one sample interval of loading brings.
			assert.InDelta(t, truth.SlipForce, top, 30e3*5e-3/200+1e-9)
		}
	}
}

func TestLoadingFollowsTheLink(t *testing.T) {
	// Until it slips the part stands, and the tension is that of link and
	// contact in series: dT/dx = K·Kc/(K+Kc).
	r := plain()
	_, track := r.run(1)
	a, b := track.blocks[1000], track.blocks[2000]
	require.True(t, a.forward && b.forward)
	series := 1 / (1/r.Link.Stiffness + 1/r.Jaws.Contact)
	assert.InEpsilon(t, series, (b.tension-a.tension)/(b.drive-a.drive), 1e-3)
}

func TestSharpFallOvershoots(t *testing.T) {
	// Part and link swing freely while the part slides at kinetic friction, so
	// the tension falls as far below it as it was above, but for damping: to
	// 2·Fk − Fs at least, and below Fk at most.
	r := plain()
	_, track := r.run(1)
	v := track.judge(r)
	least := v.force
	for _, b := range track.blocks[v.at : v.at+60] {
		least = min(least, b.tension)
	}
	fs, fk := 400.0, 300.0
	assert.Less(t, least, 0.95*fk)
	assert.Greater(t, least, 2*fk-fs-0.02*fs)
}

func TestKindsComeFromParameters(t *testing.T) {
	for seed := uint64(1); seed <= 5; seed++ {
		r := plain()
		r.Drive.AfterSlip = 30e-3
		_, sharp := r.Pull(seed)
		assert.Equal(t, "sharp", sharp.Kind)

		r.Jaws.Healing = 0.3
		_, again := r.Pull(seed)
		assert.Equal(t, "stick-slip", again.Kind)
		assert.InEpsilon(t, sharp.SlipForce, again.SlipForce, 1e-3, "the first slip is the same")

		r = plain()
		r.Jaws.Kinetic, r.Jaws.RateEffect, r.Jaws.Hardening = r.Jaws.Static, 0.004, 2000
		_, creep := r.Pull(seed)
		assert.Equal(t, "creep", creep.Kind)
		assert.Greater(t, creep.PeakForce, 1.01*creep.SlipForce, "it goes on rising after the knee")
	}
}

func TestKneeIsWhereTheLogLawPutsIt(t *testing.T) {
	// The slope is half the loading slope where the part slides at half the
	// speed of the drive: T = C·(mu + A·ln((v/2+v0)/(vr+v0))), without hardening.
	r := plain()
	r.Jaws.Kinetic, r.Jaws.RateEffect = r.Jaws.Static, 0.004
	_, truth := r.Pull(1)
	require.Equal(t, "creep", truth.Kind)
	want := 2000 * (0.2 + 0.004*math.Log(5e-3/2/1e-3))
	assert.InEpsilon(t, want, truth.SlipForce, 0.01)
}

func TestTwistAgreesWithStraightThroughTheGripFactor(t *testing.T) {
	straight, twist := DefaultShop().Straight(), DefaultShop()
	twist.TieFails, straight.TieFails = 0, 0
	assert.Equal(t, 1.0, straight.GripFactor())
	// Rectangle 60 × 3 mm about its centre by the closed form, against the mean
	// distance from the centre summed over the patch.
	var sum float64
	n := 0
	for x := -29.95; x < 30; x += 0.1 {
		for y := -1.45; y < 1.5; y += 0.1 {
			sum += math.Hypot(x, y)
			n++
		}
	}
	assert.InEpsilon(t, sum/float64(n)*1e-3/leverArm, twist.GripFactor(), 1e-4)

	for _, f := range []string{"ground steel", "P240 cloth", "cross-cut serration", "polyurethane sheet"} {
		a, err := straight.Pull(f, "1", "light", 0, 5)
		require.NoError(t, err)
		b, err := twist.Pull(f, "1", "light", 0, 5)
		require.NoError(t, err)
		require.Equal(t, a.Mu, b.Mu)
		muA := a.Truth.SlipForce / (2 * a.Clamp)
		muB := b.Truth.SlipForce / (2 * b.Clamp * twist.GripFactor())
		assert.InEpsilon(t, muA, muB, 0.01, f)
		assert.InEpsilon(t, a.Mu, muA, 0.02, f)
	}
}

func TestSamePullSameBytes(t *testing.T) {
	for _, f := range Families() {
		a, at := Draw(f, 3).Pull(3)
		b, bt := Draw(f, 3).Pull(3)
		assert.Equal(t, a, b, f)
		assert.Equal(t, at.Outcome, bt.Outcome)
		assert.Equal(t, at.PeakForce, bt.PeakForce)
		c, _ := Draw(f, 4).Pull(4)
		assert.NotEqual(t, a, c, f)
		for i := 1; i < len(a.T); i++ {
			require.Greater(t, a.T[i], a.T[i-1], "%s: time increases", f)
		}
	}
}

func TestUnknownFamilyPanics(t *testing.T) {
	assert.PanicsWithValue(t, "simrig: unknown family soap", func() { Draw("soap", 1) })
}

func BenchmarkPull(b *testing.B) {
	r := plain()
	for b.Loop() {
		r.Pull(1)
	}
}
