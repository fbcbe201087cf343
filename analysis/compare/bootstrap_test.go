package compare

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// each makes a unit of every value.
func each(values ...float64) []Unit {
	var u []Unit
	for _, v := range values {
		u = append(u, Unit{v, 1})
	}
	return u
}

var (
	bootControl = each(-2.10, -2.05, -2.22, -1.98, -2.15, -2.08, -2.31, -2.02, -2.11, -2.19, -2.04, -2.27, -1.90, -2.13, -2.09)
	bootFacing  = each(-1.21, -1.05, -1.32, -1.18, -1.02, -1.25, -0.71, -1.12, -1.19, -1.27, -1.08, -1.15, -1.30, -1.22, -1.17)
)

// TestBootstrapAgainstR: R's boot with strata and boot.ci, 400,000 draws
// (testdata/reference/boot.R).
func TestBootstrapAgainstR(t *testing.T) {
	r, ok := Bootstrap(bootControl, bootFacing, 0.95, 400000, 1)
	require.True(t, ok)
	assert.InDelta(t, 0.8753, r.Percentile.Lower, 0.001)
	assert.InDelta(t, 1.0553, r.Percentile.Upper, 0.001)
	assert.InDelta(t, 0.8833, r.BCa.Lower, 0.001)
	assert.InDelta(t, 1.0687, r.BCa.Upper, 0.001)
}

// TestBootstrapSamples: with samples the spread is that between them: pulls
// repeated on a sample change nothing.
func TestBootstrapSamples(t *testing.T) {
	threefold := func(u []Unit) (out []Unit) {
		for _, one := range u {
			out = append(out, Unit{3 * one.Sum, 3})
		}
		return out
	}
	once, ok := Bootstrap(bootControl, bootFacing, 0.95, 2000, 7)
	require.True(t, ok)
	thrice, ok := Bootstrap(threefold(bootControl), threefold(bootFacing), 0.95, 2000, 7)
	require.True(t, ok)
	assert.InDelta(t, once.Percentile.Lower, thrice.Percentile.Lower, 1e-12)
	assert.InDelta(t, once.BCa.Upper, thrice.BCa.Upper, 1e-3, "ties with the estimate fall either way by rounding")
	again, _ := Bootstrap(bootControl, bootFacing, 0.95, 2000, 7)
	assert.Equal(t, math.Float64bits(once.BCa.Lower), math.Float64bits(again.BCa.Lower), "the same seed gives the same bits")
	back, _ := Bootstrap(bootFacing, bootControl, 0.95, 2000, 7)
	assert.InDelta(t, -once.Percentile.Lower, back.Percentile.Upper, 0.01)
}

func TestBootstrapRefuses(t *testing.T) {
	_, ok := Bootstrap(each(1, 2, 3), bootFacing, 0.95, 1000, 1)
	assert.False(t, ok, "three units")
	_, ok = Bootstrap(each(1, 1, 1, 1), each(2, 2, 2, 2), 0.95, 1000, 1)
	assert.False(t, ok, "no spread")
	_, ok = Bootstrap(bootControl, bootFacing, 0.95, 10, 1)
	assert.False(t, ok, "ten draws")
}

// TestBootstrapCovers: with 15 pulls each the percentile interval of normal
// values covers a little less than it says.
func TestBootstrapCovers(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 5))
	hits := 0
	for i := range 400 {
		a, b := make([]Unit, 15), make([]Unit, 15)
		for k := range a {
			a[k], b[k] = Unit{random.NormFloat64(), 1}, Unit{1 + random.NormFloat64(), 1}
		}
		r, ok := Bootstrap(a, b, 0.95, 500, uint64(i))
		require.True(t, ok)
		if r.Percentile.Lower <= 1 && 1 <= r.Percentile.Upper {
			hits++
		}
	}
	assert.InDelta(t, 0.93, float64(hits)/400, 0.04)
}

// BenchmarkBootstrap: 10,000 draws of 30 pulls. Peers: testdata/reference/boot.R
// and boot.py.
func BenchmarkBootstrap(b *testing.B) {
	for b.Loop() {
		Bootstrap(bootControl, bootFacing, 0.95, 10000, 1)
	}
}
