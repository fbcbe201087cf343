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
	for seed := range uint64(100) {
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

// TestMixedLikelihood: the marginal likelihood of held and divided rows with a
// sample effect, against R's integrate (testdata/reference/mixed.R).
func TestMixedLikelihood(t *testing.T) {
	inf := math.Inf(1)
	d := Data{
		Lower:   []float64{-0.11, 0.02, 0.05, 0.21, 0.18, 0.30, -0.05, -0.20, -0.01, 0.41, 0.60, 0.60, 0.35, 0.28, 0.44, 0.55, 0.60, 0.60},
		Upper:   []float64{-0.11, 0.02, 0.05, 0.26, 0.23, 0.30, -0.05, -0.15, 0.04, 0.41, inf, inf, 0.40, 0.33, 0.44, 0.55, inf, 0.65},
		Facings: 2, Samples: 6,
	}
	for i := range d.Lower {
		d.Facing, d.Sample = append(d.Facing, i/9), append(d.Sample, i/3)
	}
	start, err := Censored(d)
	require.NoError(t, err)
	m, err := newMixed(d, start)
	require.NoError(t, err)
	at := func(b0, b1, sigma, tau float64) float64 {
		v, _, _ := m.likelihood([]float64{b0 - m.shift, b1 - m.shift}, spreads{math.Log(sigma), math.Log(tau), false})
		return v
	}
	assert.InDelta(t, -14.3490453417, at(0.05, 0.5, 0.08, 0.1), 2e-8)
	assert.InDelta(t, -16.9463828112, at(0, 0.6, 0.15, 0.05), 2e-8)
	assert.InDelta(t, -22.5395291471, at(0.1, 0.4, 0.05, 0.3), 1e-5)
	// R finds the same value, solution and standard error at the maximum, and
	// less 2 % away on every side.
	f, err := RestrictedCensored(d)
	require.NoError(t, err)
	assert.InDelta(t, 0.0949002798534, f.Sigma, 1e-8)
	assert.InDelta(t, 0.1422943453076, f.Tau, 1e-8)
	assert.InDelta(t, -17.1939691686, f.LogLik, 1e-8)
	assert.InDelta(t, 0.0545863375748, f.Coef[0], 1e-6)
	assert.InDelta(t, 0.525662551751, f.Coef[1], 1e-6)
	l, _ := f.Difference(0, 1)
	_, corrected, df := f.Contrast(l)
	se := math.Sqrt(f.Covariance(l, l))
	assert.InEpsilon(t, se*math.Sqrt((df-f.crossed)/df), corrected, 1e-12, "held rows")
	assert.Greater(t, f.crossed, 0.0)
	assert.InDelta(t, 0.125158275089, se, 1e-8)
	assert.InDelta(t, 4, df, 0.5, "near the samples' four")
}
