package plan

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// R 4.2.2, power.t.test; testdata/reference/power.R. R's pt with a
// noncentrality is good to about 1e-12 (AS 243).
func TestPowerAgainstR(t *testing.T) {
	const tol = 1e-10
	assert.InDelta(t, 0.924489065275, OneSample(11, 1, 1, 0.05, OneSided), tol)
	effect := math.Log(2.5 / 2)
	for n, want := range map[int]float64{2: 0.145928067014, 3: 0.289064443063, 4: 0.424257441860, 6: 0.642438430340, 10: 0.881891388836, 30: 0.999893908302} {
		assert.InDelta(t, want, TwoSample(n, effect, 0.15, 0.025, OneSided), tol, n)
	}
	for n, want := range map[int]float64{3: 0.243274284196, 6: 0.549987356546, 20: 0.984129422015} {
		assert.InDelta(t, want, TwoSample(n, 0.2, 0.15, 0.05, TwoSided), tol, n)
	}
}

// NIST/SEMATECH e-Handbook 7.2.2.2: one-sided test of a mean, alpha 0.05, beta
// 0.10, a shift of one sd. The page gets 11 from normal and t approximations;
// the exact noncentral t gives 10.08 (R 4.2.2), so 11.
func TestPullsNeededHandbook(t *testing.T) {
	n, ok := least(0.9, func(n int) float64 { return OneSample(n, 1, 1, 0.05, OneSided) })
	require.True(t, ok)
	assert.Equal(t, 11, n)
}

func TestPowerRefusesWhatIsNoTest(t *testing.T) {
	assert.True(t, math.IsNaN(TwoSample(1, 1, 1, 0.05, OneSided)))
	assert.True(t, math.IsNaN(OneSample(1, 1, 1, 0.05, OneSided)))
	assert.True(t, math.IsNaN(Power(1, 0, 0.05, OneSided)))
	assert.True(t, math.IsNaN(Power(1, 5, 0, OneSided)))
	assert.True(t, math.IsNaN(Power(math.NaN(), 5, 0.05, OneSided)))
}
