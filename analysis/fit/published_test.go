package fit

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// example reads a CSV of published data.
func example(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("../../testdata/published/examples/" + name + ".csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

func parse(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// indexer numbers names in the order of appearance.
func indexer() func(string) int {
	at := map[string]int{}
	return func(s string) int {
		if _, ok := at[s]; !ok {
			at[s] = len(at)
		}
		return at[s]
	}
}

// nested makes data with a random sample from columns of a published set.
func nested(t *testing.T, name string, facing, sample, block, value int) Data {
	var d Data
	f, s, b := indexer(), indexer(), indexer()
	for _, r := range example(t, name) {
		i, facingName := 0, ""
		if facing >= 0 {
			facingName = r[facing]
			i = f(facingName)
		}
		d.Facing = append(d.Facing, i)
		d.Sample = append(d.Sample, s(facingName+"/"+r[sample]))
		d.Facings, d.Samples = max(d.Facings, i+1), max(d.Samples, d.Sample[len(d.Sample)-1]+1)
		if block >= 0 {
			d.Block = append(d.Block, b(r[block]))
			d.Blocks = max(d.Blocks, d.Block[len(d.Block)-1]+1)
		}
		d.Lower = append(d.Lower, parse(t, r[value]))
	}
	d.Upper = d.Lower
	return d
}

// TestDyestuff: Davies and Goldsmith, six batches of five; REML as printed in
// the reference pages of lme4: sd 42.00 and 49.51, mean 1527.5, criterion 319.7.
// The design is balanced, so that the components are those of the analysis of
// variance exactly: MS 11271.5 (5) and 2451.25 (24).
func TestDyestuff(t *testing.T) {
	f, err := Restricted(nested(t, "dyestuff", -1, 0, -1, 1))
	require.NoError(t, err)
	assert.InEpsilon(t, math.Sqrt(2451.25), f.Sigma, 1e-9)
	assert.InEpsilon(t, math.Sqrt((11271.5-2451.25)/5), f.Tau, 1e-9)
	assert.InDelta(t, 319.7, -2*f.LogLik, 0.05)
	mean, se, df := f.Contrast(f.Mean(0))
	assert.InDelta(t, 1527.5, mean, 1e-9)
	assert.InEpsilon(t, math.Sqrt(11271.5/30), se, 1e-9)
	assert.InEpsilon(t, 5, df, 1e-8, "the mean of a balanced design has the batches' degrees of freedom")
	assert.False(t, f.Boundary)
}

// TestDyestuff2: Box and Tiao, the case of less scatter between batches than
// within: REML gives sd 0 and residual 3.7157 (variance 13.80631). The mean
// keeps the batches' 5 degrees of freedom.
func TestDyestuff2(t *testing.T) {
	f, err := Restricted(nested(t, "dyestuff2", -1, 0, -1, 1))
	require.NoError(t, err)
	assert.True(t, f.Boundary)
	assert.Equal(t, 0.0, f.Tau)
	assert.InDelta(t, 13.80631, f.Sigma*f.Sigma, 5e-6)
	_, _, df := f.Contrast(f.Mean(0))
	assert.Equal(t, 5.0, df)
}

// TestMachines: Pinheiro and Bates; three machines (the facings), six workers
// (blocks) and each worker on each machine (the samples), three scores each.
// Effects +7.9667 and +13.9167 with standard error 2.1770, residual 0.9616,
// worker by machine 3.7295; F 20.576 on 2 and 10, p 0.0003. The workers are
// fixed here and random there, which in a balanced design leaves differences
// as they are.
func TestMachines(t *testing.T) {
	d := nested(t, "machines", 1, 0, 0, 2)
	f, err := Restricted(d)
	require.NoError(t, err)
	for i, want := range []float64{7.9667, 13.9167} {
		l, ok := f.Difference(0, i+1)
		require.True(t, ok)
		b, se, df := f.Contrast(l)
		assert.InDelta(t, want, b, 5e-5)
		assert.InDelta(t, 2.1770, se, 5e-5)
		assert.InEpsilon(t, 10, df, 1e-7)
	}
	assert.InDelta(t, 0.961577, f.Sigma, 5e-7)
	assert.InDelta(t, 3.729538, f.Tau, 2e-6)
	statistic, df1, df2 := f.FacingF()
	assert.InDelta(t, 20.57608, statistic, 5e-5)
	assert.Equal(t, 2.0, df1)
	assert.InEpsilon(t, 10, df2, 1e-7)

	// The wrong test, scores taken as independent: F 949.17 on 2 and 36, over
	// the pure error. It must not come out of the model above.
	assert.Less(t, statistic, 25.0)
}

// TestBlocks: Montgomery's extrusion data, four pressures in six resin batches:
// F 8.10708 on 3 and 15; residual mean square 7.33 (R: 109.88625/15).
func TestBlocks(t *testing.T) {
	var d Data
	f, b := indexer(), indexer()
	for _, r := range example(t, "rcbd_extrusion") {
		d.Facing, d.Block = append(d.Facing, f(r[0])), append(d.Block, b(r[1]))
		d.Lower = append(d.Lower, parse(t, r[2]))
	}
	d.Upper, d.Facings, d.Blocks = d.Lower, 4, 6
	m, err := Ordinary(d)
	require.NoError(t, err)
	statistic, df1, df2 := m.FacingF()
	assert.InDelta(t, 8.10708, statistic, 5e-6)
	assert.Equal(t, []float64{3, 15}, []float64{df1, df2})
	assert.InDelta(t, 109.88625, m.Sigma*m.Sigma*15, 1e-5)
	for i, want := range []float64{92.8167, 91.6833, 88.9167, 85.7667} {
		mean, _, _ := m.Contrast(m.Mean(i))
		assert.InDelta(t, want, mean, 5e-5)
	}
}

// precision fits one facing with laboratories as blocks and gives mean, s_r and
// s_R in the sense of ISO 5725-2.
func precision(t *testing.T, labs []string, values []float64) (mean, sr, sR float64) {
	d := Data{Lower: values, Upper: values, Facing: make([]int, len(values)), Facings: 1}
	at := indexer()
	for i, l := range labs {
		d.Block = append(d.Block, at(l))
		d.Blocks = max(d.Blocks, d.Block[i]+1)
		mean += values[i] / float64(len(values))
	}
	f, err := Ordinary(d)
	require.NoError(t, err)
	return mean, f.Sigma, math.Sqrt(f.Sigma*f.Sigma + math.Max(0, f.BlockVariance()))
}

// TestReproducibility: glucose in serum (ASTM E691, equal replicates; A is the
// truncated case) and sulfur in coal (ISO 5725-2, annex B, example 1, unequal
// replicates): s_r and s_R as printed, to their last digit.
func TestReproducibility(t *testing.T) {
	for _, c := range []struct {
		file, key          string
		at, lab, value     int
		mean, sr, sR, last float64
	}{
		{"e691_glucose", "A", 0, 1, 3, 41.5183, 1.0632, 1.0632, 1e-4},
		{"e691_glucose", "C", 0, 1, 3, 134.7262, 1.5434, 2.1482, 1e-4},
		{"e691_glucose", "D", 0, 1, 3, 194.7171, 2.6251, 3.3657, 1e-4},
		{"e691_glucose", "E", 0, 1, 3, 294.4921, 3.9350, 4.1923, 1e-4},
		{"iso5725_sulfur", "1", 0, 1, 3, 0.69, 0.01512, 0.02636, 1e-5},
		{"iso5725_sulfur", "2", 0, 1, 3, 1.25, 0.02878, 0.06061, 1e-5},
		{"iso5725_sulfur", "3", 0, 1, 3, 1.67, 0.01708, 0.03477, 1e-5},
		{"iso5725_sulfur", "4", 0, 1, 3, 3.25, 0.02608, 0.05822, 1e-5},
	} {
		var labs []string
		var values []float64
		for _, r := range example(t, c.file) {
			if r[c.at] == c.key {
				labs = append(labs, r[c.lab])
				values = append(values, parse(t, r[c.value]))
			}
		}
		mean, sr, sR := precision(t, labs, values)
		if c.file == "e691_glucose" { // the standard's mean is of equal labs
			assert.InDelta(t, c.mean, mean, c.last)
		}
		assert.InDelta(t, c.sr, sr, c.last, "%s %s s_r", c.file, c.key)
		assert.InDelta(t, c.sR, sR, c.last, "%s %s s_R", c.file, c.key)
	}
}

// TestExactRowsAgree: where every row is exact, maximum likelihood with its
// small-sample correction is least squares.
func TestExactRowsAgree(t *testing.T) {
	d := nested(t, "machines", 1, 0, 0, 2)
	a, err := Ordinary(d)
	require.NoError(t, err)
	b, err := Censored(d)
	require.NoError(t, err)
	assert.InEpsilon(t, a.LogLik, b.LogLik, 1e-12)
	for _, i := range []int{1, 2} {
		l, _ := a.Difference(0, i)
		ba, sa, da := a.Contrast(l)
		bb, sb, db := b.Contrast(l)
		assert.InDelta(t, ba, bb, 1e-9)
		assert.InDelta(t, sa, sb, 1e-9)
		assert.InEpsilon(t, da, db, 1e-9)
	}
}

// TestRefusals: each way in which there is no fit says which.
func TestRefusals(t *testing.T) {
	exact := func(v ...float64) Data {
		return Data{Lower: v, Upper: v, Facing: make([]int, len(v)), Facings: 1}
	}
	_, err := Ordinary(exact(1))
	assert.ErrorIs(t, err, ErrNoFreedom)
	_, err = Ordinary(exact(1.1, 1.1, 1.1))
	assert.ErrorIs(t, err, ErrNoSpread)
	d := exact(1, 2, 3, 4)
	d.Slopes = [][]float64{{5, 5, 5, 5}}
	_, err = Ordinary(d)
	assert.ErrorIs(t, err, ErrAliased)

	d = exact(1, 2, 3, 4)
	d.Sample, d.Samples = []int{0, 0, 0, 0}, 1
	_, err = Restricted(d)
	assert.ErrorIs(t, err, ErrNoFreedom)
	d = exact(1, 1, 3, 3)
	d.Sample, d.Samples = []int{0, 0, 1, 1}, 2
	_, err = Restricted(d)
	assert.ErrorIs(t, err, ErrNoSpread)

	d = exact(1, 2, 3)
	d.Upper = []float64{math.Inf(1), math.Inf(1), math.Inf(1)}
	_, err = Censored(d)
	assert.Error(t, err, "all held")
	d = exact(1, 1, 1, 1)
	d.Upper = []float64{2, 2, 2, 2}
	_, err = Censored(d)
	assert.ErrorIs(t, err, ErrNoSpread, "all in one division")
	_, err = Censored(exact(1.5, 1.5, 1.5))
	assert.ErrorIs(t, err, ErrNoSpread)
	_, err = Censored(exact(1))
	assert.ErrorIs(t, err, ErrNoFreedom)
}

// TestArgumentsStay: fitting changes none of its arguments.
func TestArgumentsStay(t *testing.T) {
	d := nested(t, "machines", 1, 0, 0, 2)
	lower := append([]float64(nil), d.Lower...)
	for _, fit := range []func(Data) (*Fitted, error){Ordinary, Restricted, Censored} {
		_, err := fit(d)
		require.NoError(t, err)
		assert.Equal(t, lower, d.Lower)
	}
}

// TestTails: logarithms of normal tails against mpmath 1.2.1, 30 digits.
func TestTails(t *testing.T) {
	for _, c := range []struct{ a, b, log float64 }{
		{0, math.Inf(1), -0.69314718055994531}, {10, math.Inf(1), -53.231285150512471}, {40, math.Inf(1), -804.60844201375379},
		{-1, 1, -0.38171514630212607}, {20, 20.5, -203.91719446460898}, {3, 3.02, -9.3608772100949178}, {7, 9, -27.384307586994963},
	} {
		got, _, _ := logBetween(c.a, c.b)
		assert.InEpsilon(t, c.log, got, 1e-13, "%v", c)
		got, _, _ = logBetween(-c.b, -c.a)
		assert.InEpsilon(t, c.log, got, 1e-13, "%v mirrored", c)
	}
}
