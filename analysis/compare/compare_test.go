package compare

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/fit"
)

const published = "../../testdata/published/"

// groups reads a CSV with a group column and a value column; groups are in the
// order of appearance.
func groups(t *testing.T, name string) (names []string, values [][]float64) {
	t.Helper()
	f, err := os.Open(published + "examples/" + name)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	at := map[string]int{}
	for _, r := range rows[1:] {
		if _, ok := at[r[0]]; !ok {
			at[r[0]] = len(names)
			names = append(names, r[0])
			values = append(values, nil)
		}
		v, err := strconv.ParseFloat(r[len(r)-1], 64)
		require.NoError(t, err)
		values[at[r[0]]] = append(values[at[r[0]]], v)
	}
	return names, values
}

// model fits groups by least squares.
func model(t *testing.T, values [][]float64) (*fit.Fitted, []int) {
	t.Helper()
	d := fit.Data{Facings: len(values)}
	var all []int
	for i, g := range values {
		all = append(all, i)
		for _, v := range g {
			d.Lower = append(d.Lower, v)
			d.Facing = append(d.Facing, i)
		}
	}
	d.Upper = d.Lower
	f, err := fit.Ordinary(d)
	require.NoError(t, err)
	return f, all
}

// numbers reads the data of an e-Handbook file, one row of numbers a line
// after the line of dashes.
func numbers(t *testing.T, path string) [][]float64 {
	t.Helper()
	text, err := os.ReadFile(published + path)
	require.NoError(t, err)
	lines := strings.Split(strings.ReplaceAll(string(text), "\r", ""), "\n")
	start := 0
	for i, l := range lines {
		if strings.HasPrefix(l, "----") || strings.HasPrefix(l, "Data:") {
			start = i + 1
		}
	}
	var rows [][]float64
	for _, l := range lines[start:] {
		var row []float64
		for _, s := range strings.Fields(l) {
			v, err := strconv.ParseFloat(s, 64)
			require.NoError(t, err)
			row = append(row, v)
		}
		if row != nil {
			rows = append(rows, row)
		}
	}
	require.NotEmpty(t, rows)
	return rows
}

// TestTukeyHandbook: e-Handbook of NIST/SEMATECH 7.4.7.1, four groups of five;
// intervals as printed, adjusted p from R 4.2.2 TukeyHSD.
func TestTukeyHandbook(t *testing.T) {
	_, values := groups(t, "tukey_7_4_7_1.csv")
	f, all := model(t, values)
	for _, c := range AllPairs(f, all, 0.95) {
		want := map[[2]int][3]float64{
			{0, 1}: {0.29, 4.47, 0.0227934}, {0, 2}: {1.13, 5.31, 0.00221082}, {0, 3}: {-1.93, 2.25, 0.99612108},
			{1, 2}: {-1.25, 2.93, 0.66446490}, {1, 3}: {-4.31, -0.13, 0.03515448}, {2, 3}: {-5.15, -0.97, 0.00345056},
		}[[2]int{c.A, c.B}]
		assert.InDelta(t, want[0], c.Lower, 0.006)
		assert.InDelta(t, want[1], c.Upper, 0.006)
		assert.InDelta(t, want[2], c.P, 1e-7)
		assert.InDelta(t, 2.087369, (c.Upper-c.Lower)/2, 1e-6, "half-width, R")
		assert.Equal(t, "tukey-kramer", c.Adjusted)
	}
	statistic, df1, df2 := f.FacingF()
	assert.InDelta(t, 9.723840, statistic, 5e-7)
	assert.Equal(t, []float64{3, 16}, []float64{df1, df2})
}

// TestDunnettRecovery: the recovery data of Bretz, Hothorn and Westfall,
// unequal groups; statistics and adjusted p as printed there (two-sided).
func TestDunnettRecovery(t *testing.T) {
	names, values := groups(t, "recovery_dunnett.csv")
	require.Equal(t, []string{"b0", "b1", "b2", "b3"}, names)
	f, _ := model(t, values)
	list := AgainstControl(f, 0, []int{1, 2, 3}, 0.95)
	require.Len(t, list, 3)
	for i, want := range []struct{ t, p float64 }{{-1.330, 0.456}, {-4.656, 0.0001}, {-1.884, 0.182}} {
		c := list[i]
		assert.InDelta(t, want.t, c.Difference/c.SE, 6e-4)
		assert.InDelta(t, want.p, c.P, 6e-4)
		assert.InDelta(t, 2.488, (c.Upper-c.Difference)/c.SE, 6e-4, "simultaneous quantile")
		assert.Equal(t, 37.0, c.DF)
		assert.Equal(t, "dunnett", c.Adjusted)
	}
	one := AgainstControl(f, 0, []int{2}, 0.95)
	require.Len(t, one, 1)
	assert.Equal(t, "none", one[0].Adjusted)
	assert.Equal(t, one[0].Single, Limits{one[0].Lower, one[0].Upper, one[0].P})
}

// TestLoadings: product correlations are taken apart exactly; others come near.
func TestLoadings(t *testing.T) {
	want := []float64{0.3, 0.7, 0.55, 0.9}
	r := make([][]float64, 4)
	for i := range r {
		r[i] = make([]float64, 4)
		for j := range r[i] {
			r[i][j] = want[i] * want[j]
		}
		r[i][i] = 1
	}
	for i, l := range loadings(r) {
		assert.InDelta(t, want[i], l, 1e-12)
	}
	l := loadings([][]float64{{1, 0.5}, {0.5, 1}})
	assert.InDelta(t, 0.5, l[0]*l[1], 1e-15)
}

// TestGear: e-Handbook 1.3.5.10 and 1.3.5.4, GEAR.DAT, ten batches of ten.
// Brown and Forsythe's W is printed as 1.705910; R and SciPy have 1.7059177, p
// 0.0990830.
func TestGear(t *testing.T) {
	g := make([][]float64, 10)
	for _, row := range numbers(t, "handbook/GEAR.DAT") {
		g[int(row[1])-1] = append(g[int(row[1])-1], row[0])
	}
	bf := BrownForsythe(g)
	assert.InDelta(t, 1.7059177, bf.Statistic, 5e-8)
	assert.InDelta(t, 0.0990830, bf.P, 5e-8)
	assert.Equal(t, []float64{9, 90}, []float64{bf.DF1, bf.DF2})
	one := oneWay(g)
	assert.InDelta(t, 2.29691241336, one.Statistic, 1e-11, "R 4.2.2 anova; printed 2.2969")
	assert.InDelta(t, 0.022661, one.P, 5e-7)
}

// TestWelchTwo: two groups: Welch's F is the square of his t (e-Handbook
// 1.3.5.3, AUTO83B.DAT: T -12.94627, df 136.8750; -999 is an absent value).
func TestWelchTwo(t *testing.T) {
	var g [2][]float64
	for _, row := range numbers(t, "handbook/AUTO83B.DAT") {
		for i := range 2 {
			if row[i] != -999 {
				g[i] = append(g[i], row[i])
			}
		}
	}
	require.Len(t, g[0], 249)
	require.Len(t, g[1], 79)
	w := Welch(g[:])
	assert.InDelta(t, 12.9462733, math.Sqrt(w.Statistic), 5e-8)
	assert.InDelta(t, 136.87498, w.DF2, 5e-6)
	var d fit.Data
	for i, values := range g {
		for _, v := range values {
			d.Lower, d.Upper, d.Facing = append(d.Lower, v), append(d.Upper, v), append(d.Facing, i)
		}
	}
	d.Facings = 2
	f, err := fit.Separate(d)
	require.NoError(t, err)
	c := AllPairs(f, []int{0, 1}, 0.95)
	require.Len(t, c, 1)
	assert.Equal(t, "games-howell", c[0].Adjusted)
	pooled, err := fit.Ordinary(d) // printed: pooled T -12.62059, 326 df
	require.NoError(t, err)
	l, _ := pooled.Difference(1, 0)
	pt, pdf := pooled.Statistic(l)
	assert.InDelta(t, -12.6205913, pt, 5e-8)
	assert.Equal(t, 326.0, pdf)
	assert.InDelta(t, -12.9462733, -c[0].Difference/c[0].SE, 5e-8)
	assert.InDelta(t, 136.87498, c[0].DF, 5e-6)
}

// TestKruskalWallisTies: R 4.2.2,
// kruskal.test(list(c(1,2,2,5), c(2,3,7), c(9,9,4,2))).
func TestKruskalWallisTies(t *testing.T) {
	k := KruskalWallis([][]float64{{1, 2, 2, 5}, {2, 3, 7}, {9, 9, 4, 2}})
	assert.InDelta(t, 2.8847687400319, k.Statistic, 1e-12)
	assert.Equal(t, 2.0, k.DF)
	assert.InDelta(t, 0.236363508196667, k.P, 1e-12)
}

// TestShapiro: the data of Shapiro and Wilk 1965, and SciPy's two examples;
// R 4.2.2 gives the same.
func TestShapiro(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		w, p float64
		tol  float64
	}{
		{[]float64{148, 154, 158, 160, 161, 162, 166, 170, 182, 195, 236}, 0.78881469, 0.006703814, 5e-9},
		{[]float64{0.11, 7.87, 4.61, 10.14, 7.95, 3.14, 0.46, 4.43, 0.21, 4.75, 0.71, 1.52, 3.24, 0.93, 0.42, 4.97, 9.53, 4.55, 0.47, 6.66}, 0.900473, 0.042090, 5e-7},
		{[]float64{1.36, 1.14, 2.92, 2.55, 1.46, 1.06, 5.27, -1.11, 3.48, 1.10, 0.88, -0.51, 1.46, 0.52, 6.20, 1.69, 0.08, 3.67, 2.81, 3.49}, 0.959027, 0.524598, 5e-7},
	} {
		got := ShapiroWilk(c.x)
		assert.InDelta(t, c.w, got.Statistic, c.tol)
		assert.InDelta(t, c.p, got.P, c.tol)
	}
	// n = 3: the 5 % point of the exact law, sin²(pi/3 + 0.05 pi/6).
	x := 0.0
	for lo, hi := 0.0, 1.0; hi-lo > 1e-15; {
		x = (lo + hi) / 2
		if ShapiroWilk([]float64{0, x, 1 + x}).P < 0.05 {
			lo = x
		} else {
			hi = x
		}
	}
	assert.InDelta(t, 0.7723195, ShapiroWilk([]float64{0, x, 1 + x}).Statistic, 1e-7)
}

// TestUnivariateSets: mean, standard deviation and lag-1 autocorrelation of
// the NIST StRD univariate sets, to the best digits of float64 less half of one
// (the loss is in reading the decimals).
func TestUnivariateSets(t *testing.T) {
	digits := func(x, c float64) float64 {
		if x == c {
			return 15
		}
		return math.Min(15, -math.Log10(math.Abs(x-c)/math.Abs(c)))
	}
	for _, c := range []struct {
		name         string
		mean, sd, r1 float64 // certified
		dm, ds, dr   float64 // best digits
	}{
		{"PiDigits", 4.53480000000000, 2.86733906028871, -0.00355099287237972, 15, 15, 15},
		{"Lottery", 518.958715596330, 291.699727470969, -0.120948622967393, 15, 15, 15},
		{"Lew", -177.435000000000, 277.332168044316, -0.307304800605679, 15, 15, 14.8},
		{"Mavro", 2.00185600000000, 0.000429123454003053, 0.937989183438248, 15, 13.1, 13.9},
		{"Michelso", 299.852400000000, 0.0790105478190518, 0.535199668621283, 15, 13.8, 13.4},
		{"NumAcc1", 10000002, 1, -0.5, 15, 15, 15},
		{"NumAcc2", 1.2, 0.1, -0.999, 15, 15, 15},
		{"NumAcc3", 1000000.2, 0.1, -0.999, 15, 9.5, 12.2},
		{"NumAcc4", 10000000.2, 0.1, -0.999, 15, 8.3, 11.0},
	} {
		var x []float64
		for _, row := range univariate(t, c.name) {
			x = append(x, row...)
		}
		mean, variance := MeanVariance(x)
		assert.GreaterOrEqual(t, digits(mean, c.mean), c.dm-0.5, "%s mean", c.name)
		assert.GreaterOrEqual(t, digits(math.Sqrt(variance), c.sd), c.ds-0.5, "%s sd", c.name)
		// r1 = sum (x_i - m)(x_i+1 - m)/sum (x_i - m)²
		var num, den total
		y := shift(x)
		centre, _ := MeanVariance(y)
		for i, v := range y {
			den.add((v - centre) * (v - centre))
			if i > 0 {
				num.add((v - centre) * (y[i-1] - centre))
			}
		}
		assert.GreaterOrEqual(t, digits(num.sum()/den.sum(), c.r1), c.dr-0.5, "%s r1", c.name)
	}
}

// shift takes the first value off all.
func shift(x []float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v - x[0]
	}
	return out
}

// univariate reads an StRD file: 60 header lines, then one value a line.
func univariate(t *testing.T, name string) [][]float64 {
	t.Helper()
	text, err := os.ReadFile(published + "strd/" + name + ".dat")
	require.NoError(t, err)
	var rows [][]float64
	for _, l := range strings.Split(string(text), "\n")[60:] {
		if f := strings.Fields(l); len(f) == 1 {
			v, err := strconv.ParseFloat(f[0], 64)
			require.NoError(t, err)
			rows = append(rows, []float64{v})
		}
	}
	return rows
}

// TestToleranceTable: one-sided factors as tabled by Owen, Natrella and
// ISO 16269-6; four decimals from R 4.2.2 and SciPy 1.10.1, which agree.
func TestToleranceTable(t *testing.T) {
	for n, want := range map[float64][5]float64{
		3: {4.2582, 6.1553, 5.3115, 7.6559, 10.5527}, 4: {3.1878, 4.1619, 3.9566, 5.1439, 7.0424}, 5: {2.7423, 3.4066, 3.3998, 4.2027, 5.7411},
		6: {2.4937, 3.0063, 3.0919, 3.7077, 5.0620}, 7: {2.3326, 2.7554, 2.8938, 3.3995, 4.6417}, 8: {2.2186, 2.5819, 2.7543, 3.1873, 4.3539},
		9: {2.1329, 2.4538, 2.6499, 3.0312, 4.1430}, 10: {2.0657, 2.3546, 2.5684, 2.9110, 3.9811}, 12: {1.9662, 2.2101, 2.4483, 2.7363, 3.7471},
		15: {1.8668, 2.0684, 2.3290, 2.5660, 3.5201},
	} {
		for i, pg := range [5][2]float64{{0.90, 0.90}, {0.90, 0.95}, {0.95, 0.90}, {0.95, 0.95}, {0.99, 0.95}} {
			assert.InDelta(t, want[i], ToleranceFactor(n, pg[0], pg[1]), 6e-5, "n %v %v", n, pg)
		}
	}
	assert.InDelta(t, 1.8740, ToleranceFactor(43, 0.90, 0.99), 6e-5, "e-Handbook 7.2.6.3")
	assert.InDelta(t, 4.4111, ToleranceFactor(6, 0.90, 0.99), 6e-5, "e-Handbook 7.2.6.3")
	assert.InDelta(t, 3.187294, ToleranceFactor(8, 0.95, 0.95), 6e-7, "EnvStats manual, tolIntNormK")
	assert.True(t, math.IsNaN(ToleranceFactor(1, 0.95, 0.95)))
}

// TestCannot: what cannot be had is NaN, not a number.
func TestCannot(t *testing.T) {
	assert.True(t, math.IsNaN(Welch([][]float64{{1, 2}}).P))
	assert.True(t, math.IsNaN(Welch([][]float64{{1, 2}, {3}}).P))
	assert.True(t, math.IsNaN(Welch([][]float64{{1, 2}, {3, 3}}).P))
	assert.True(t, math.IsNaN(BrownForsythe([][]float64{{1, 2}, {3, 4}}).P), "two each: no spread of the distances")
	assert.True(t, math.IsNaN(BrownForsythe([][]float64{{math.Log(0.1333), math.Log(0.14)}, {math.Log(0.3), math.Log(0.3167)}}).P), "nor with rounding")
	assert.True(t, math.IsNaN(KruskalWallis([][]float64{{1, 1}, {1}}).P))
	assert.True(t, math.IsNaN(ShapiroWilk([]float64{1, 2}).P))
	assert.True(t, math.IsNaN(ShapiroWilk([]float64{2, 2, 2}).P))
}
