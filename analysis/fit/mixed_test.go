package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// trial draws 3 facings, samples each, pulls on each; rows above end are held.
func mixedTrial(seed uint64, samples, pulls int, tau, end, division float64) Data {
	random := rand.New(rand.NewPCG(seed, 7))
	d := Data{Facings: 3, Samples: 3 * samples}
	for f := range 3 {
		for s := range samples {
			u := tau * random.NormFloat64()
			for range pulls {
				y := 0.3*float64(f) + u + 0.1*random.NormFloat64()
				lo, hi := y, y
				if division > 0 {
					lo = math.Floor(y/division) * division
					hi = lo + division
				}
				if y > end {
					lo, hi = end, math.Inf(1)
				}
				d.Lower, d.Upper = append(d.Lower, lo), append(d.Upper, hi)
				d.Facing, d.Sample = append(d.Facing, f), append(d.Sample, f*samples+s)
			}
		}
	}
	return d
}

// TestMixedIsREML: on exact rows the adjusted profile likelihood is the
// restricted one: estimates, likelihood and degrees of freedom agree.
func TestMixedIsREML(t *testing.T) {
	inside := 0
	for seed := range uint64(12) {
		d := mixedTrial(seed, 3, 3, 0.1, math.Inf(1), 0)
		a, err := Restricted(d)
		require.NoError(t, err)
		b, err := RestrictedCensored(d)
		require.NoError(t, err)
		assert.Equal(t, a.Boundary, b.Boundary)
		assert.InEpsilon(t, a.LogLik, b.LogLik, 1e-9)
		assert.InEpsilon(t, a.Sigma, b.Sigma, 1e-5)
		l, _ := a.Difference(0, 2)
		ba, sa, da := a.Contrast(l)
		bb, sb, db := b.Contrast(l)
		assert.InDelta(t, ba, bb, 1e-8)
		assert.InEpsilon(t, sa, sb, 1e-5)
		assert.InEpsilon(t, da, db, 1e-3)
		if !a.Boundary {
			inside++
			assert.InEpsilon(t, a.Tau, b.Tau, 1e-5)
			assert.InEpsilon(t, a.TotalDF, b.TotalDF, 1e-3)
		}
	}
	assert.Greater(t, inside, 6)
}

// TestMixedConverges: held and divided rows with samples have a fit, and it is
// the same again.
func TestMixedConverges(t *testing.T) {
	for seed := range uint64(20) {
		d := mixedTrial(seed, 3, 3, 0.1, 0.65, 0.1)
		a, err := RestrictedCensored(d)
		require.NoError(t, err, "seed %d", seed)
		b, err := RestrictedCensored(d)
		require.NoError(t, err)
		assert.Equal(t, a.Coef, b.Coef)
		l, _ := a.Difference(0, 1)
		_, se, df := a.Contrast(l)
		assert.Greater(t, se, 0.0)
		assert.Greater(t, df, 0.5)
	}
}
