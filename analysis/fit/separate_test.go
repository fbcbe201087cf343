package fit

import (
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// unlike makes rows of two facings of spreads 0.05 and 0.2.
func unlike(n int, seed uint64) Data {
	random := rand.New(rand.NewPCG(seed, 8))
	d := Data{Facings: 2}
	for a, s := range []float64{0.05, 0.2} {
		for range n {
			v := 0.5*float64(a) + s*random.NormFloat64()
			d.Lower, d.Upper, d.Facing = append(d.Lower, v), append(d.Upper, v), append(d.Facing, a)
		}
	}
	return d
}

// TestSeparate: R 4.2.2,
//
//	a <- c(1.1, 1.2, 1.0, 1.15); b <- c(2.2, 1.7, 2.6, 2.0, 2.4); t.test(b, a); bartlett.test(list(a, b))
func TestSeparate(t *testing.T) {
	a, b := []float64{1.1, 1.2, 1.0, 1.15}, []float64{2.2, 1.7, 2.6, 2.0, 2.4}
	d := Data{Facings: 2, Facing: []int{0, 0, 0, 0, 1, 1, 1, 1, 1}}
	d.Lower = append(append(d.Lower, a...), b...)
	d.Upper = d.Lower
	f, err := Separate(d)
	require.NoError(t, err)
	l, ok := f.Difference(0, 1)
	require.True(t, ok)
	lower, upper := f.Limits(l, 0.95)
	tt, df := f.Statistic(l)
	assert.InDelta(t, 6.59215463569562, tt, 1e-9)
	assert.InDelta(t, 4.58587542782212, df, 1e-9)
	assert.InDelta(t, 0.639668446931042, lower, 1e-9)
	assert.InDelta(t, 1.495331553068958, upper, 1e-9)
	k, kdf, p := f.SpreadTest()
	assert.InDelta(t, 4.22166054555405, k, 1e-9)
	assert.Equal(t, 1.0, kdf)
	assert.InDelta(t, 0.039911083820893, p, 1e-9)
	assert.InDelta(t, 0.0853912563829966, f.Spread(0), 1e-12)
	assert.True(t, math.IsNaN(f.Sigma))
}

// TestSeparateBounded: with a division too fine to matter the limits are those
// of two independent t distributions, which at 40 rows each are nearly Welch's.
func TestSeparateBounded(t *testing.T) {
	d := unlike(40, 1)
	exact, err := Separate(d)
	require.NoError(t, err)
	fine := d
	fine.Lower, fine.Upper = nil, nil
	for _, v := range d.Lower {
		fine.Lower, fine.Upper = append(fine.Lower, v-1e-7), append(fine.Upper, v+1e-7)
	}
	bounded, err := Separate(fine)
	require.NoError(t, err)
	l, _ := exact.Difference(0, 1)
	a, b := exact.Limits(l, 0.95)
	c, e := bounded.Limits(l, 0.95)
	assert.InDelta(t, a, c, 5e-4)
	assert.InDelta(t, b, e, 5e-4)
	_, _, p := exact.SpreadTest()
	_, _, q := bounded.SpreadTest()
	assert.InEpsilon(t, p, q, 1e-3)
	assert.InEpsilon(t, exact.Tolerance(exact.Mean(1), 0.95, 0.95), bounded.Tolerance(bounded.Mean(1), 0.95, 0.95), 1e-4)
}

func TestSeparateRefuses(t *testing.T) {
	d := unlike(3, 2)
	d.Sample, d.Samples = make([]int, 6), 1
	_, err := Separate(d)
	assert.ErrorIs(t, err, ErrNotSeparate)
	d = unlike(1, 2)
	_, err = Separate(d)
	assert.ErrorIs(t, err, ErrNoFreedom)
}

// TestBartlettHoldsItsLevel: with equal spreads and held rows the test rejects
// about as often as it says.
func TestBartlettHoldsItsLevel(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 4))
	rejected, n := 0, 0
	for range 400 {
		d := Data{Facings: 2}
		for a := range 2 {
			for range 8 {
				v, up := 0.1*random.NormFloat64(), 0.0
				if up = v; v > 0.08 && a == 1 {
					v, up = 0.08, math.Inf(1)
				}
				d.Lower, d.Upper, d.Facing = append(d.Lower, v), append(d.Upper, up), append(d.Facing, a)
			}
		}
		if f, err := Separate(d); err == nil {
			n++
			if _, _, p := f.SpreadTest(); p < 0.05 {
				rejected++
			}
		}
	}
	require.Greater(t, n, 380)
	assert.InDelta(t, 0.05, float64(rejected)/float64(n), 0.035)
}

// TestBartlettGear: e-Handbook 1.3.5.7, GEAR.DAT: T 20.78580, chi² with 9; the
// digits are those of SciPy's test of the page.
func TestBartlettGear(t *testing.T) {
	rows, err := os.ReadFile("../../testdata/published/handbook/GEAR.DAT")
	require.NoError(t, err)
	d := Data{Facings: 10}
	for _, line := range strings.Split(string(rows), "\n") {
		f := strings.Fields(line)
		if len(f) != 2 {
			continue
		}
		v, err1 := strconv.ParseFloat(f[0], 64)
		g, err2 := strconv.ParseFloat(f[1], 64)
		if err1 == nil && err2 == nil {
			d.Lower, d.Facing = append(d.Lower, v), append(d.Facing, int(g)-1)
		}
	}
	require.Len(t, d.Lower, 100)
	d.Upper = d.Lower
	f, err := Separate(d)
	require.NoError(t, err)
	k, df, p := f.SpreadTest()
	assert.InDelta(t, 20.78587342806484, k, 1e-9)
	assert.Equal(t, 9.0, df)
	assert.InDelta(t, 0.0136358632781, p, 1e-12)
}

// TestMeanOfOneFacing: e-Handbook 1.3.5.2, ZARR13.DAT: mean 9.261460, 95 %
// 9.258242 to 9.264679; further digits R 4.2.2.
func TestMeanOfOneFacing(t *testing.T) {
	text, err := os.ReadFile("../../testdata/published/handbook/ZARR13.DAT")
	require.NoError(t, err)
	d := Data{Facings: 1}
	for _, line := range strings.Split(string(text), "\n") {
		if v, err := strconv.ParseFloat(strings.TrimSpace(line), 64); err == nil {
			d.Lower, d.Facing = append(d.Lower, v), append(d.Facing, 0)
		}
	}
	require.Len(t, d.Lower, 195)
	d.Upper = d.Lower
	f, err := Ordinary(d)
	require.NoError(t, err)
	lower, upper := f.Limits(f.Mean(0), 0.95)
	assert.InDelta(t, 9.26146076, f.Estimate(f.Mean(0)), 5e-9)
	assert.InDelta(t, 9.25824214, lower, 5e-9)
	assert.InDelta(t, 9.26467938, upper, 5e-9)
}
