package clamp

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
	"griptrial/analysis/uncertainty"
)

// Invented vise, 5 kg; mean, sd and 95 % computed elsewhere by quadrature.
func TestSpread(t *testing.T) {
	h, s := vise()
	for _, c := range []struct {
		name         string
		change       func(*Rig)
		mean, sd     float64
		lower, upper float64
	}{
		{"thread", func(r *Rig) { r.Thread = Band{0.10, 0.20} }, 2156.9, 171.7, 1896, 2463},
		{"both", func(r *Rig) { r.Thread, r.Collar = Band{0.10, 0.20}, Band{0.10, 0.20} }, 1969.8, 232.7, 1596, 2483},
		{"one grease", func(r *Rig) { r.Thread, r.SameGrease = Band{0.10, 0.20}, true }, 1996.5, 332.8, 1535, 2645},
	} {
		r, err := RigOf(h, s, 5)
		require.NoError(t, err)
		c.change(&r)
		d, err := r.Spread(uncertainty.Options{Seed: 1})
		require.NoError(t, err)
		assert.InDelta(t, c.mean, d.Mean, 1.5, c.name)
		assert.InDelta(t, c.sd, d.SD, 0.5, c.name)
		assert.InDelta(t, c.lower, d.Lower, 3, c.name)
		assert.InDelta(t, c.upper, d.Upper, 3, c.name)
		again, err := r.Spread(uncertainty.Options{Seed: 1})
		require.NoError(t, err)
		assert.Equal(t, d, again)
	}
}

func TestNominal(t *testing.T) {
	h, s := vise()
	r, err := RigOf(h, s, 5)
	require.NoError(t, err)
	torque, force, efficiency, err := r.Nominal()
	require.NoError(t, err)
	assert.InDelta(t, 7.4962758, torque, 1e-7)
	assert.InDelta(t, 2143.7309, force, 1e-3)
	assert.InDelta(t, 0.18, efficiency, 0.005)
	d, err := r.Spread(uncertainty.Options{})
	require.NoError(t, err)
	assert.Equal(t, force, d.Mean)
	assert.Zero(t, d.SD)

	// A torque wrench instead of a weight.
	r.Torque = Exactly(7.4962758)
	_, force, _, err = r.Nominal()
	require.NoError(t, err)
	assert.InDelta(t, 2143.7309, force, 1e-3)

	r.Thread = Band{0.2, 0.1}
	_, _, _, err = r.Nominal()
	assert.ErrorContains(t, err, "lower end first")
	_, err = RigOf(trial.Handle{HasPlace: true, Latitude: 2}, s, 5)
	assert.ErrorContains(t, err, "latitude")
	r, err = RigOf(h, s, 5)
	require.NoError(t, err)
	r.Thread = Band{0, 0.2}
	_, err = r.Spread(uncertainty.Options{})
	assert.ErrorContains(t, err, "thread friction")
}

func BenchmarkSpreadMillion(b *testing.B) {
	h, s := vise()
	r, err := RigOf(h, s, 5)
	if err != nil {
		b.Fatal(err)
	}
	r.Thread, r.Collar = Band{0.10, 0.20}, Band{0.10, 0.20}
	for b.Loop() {
		if _, err := r.Spread(uncertainty.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
