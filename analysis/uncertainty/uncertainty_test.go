package uncertainty

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const deg = math.Pi / 180

func withDF(i Input, df float64) Input {
	i.DF = df
	return i
}

// JCGM 100 H.1, the end gauge, in nm. Printed: u_c 32, nu_eff 16 (16.7),
// t99(16) = 2.92, U99 = 93 nm, 34 nm with second-order terms. Digits recomputed.
func TestGUMEndGauge(t *testing.T) {
	inputs := []Input{
		Estimated("length of the standard", 50_000_623, 25, 18),
		Estimated("difference", 215, 9.7, 25.6),
		Uniform("expansion of the standard", 9.5e-6, 13.5e-6),
		Normal("mean temperature off 20", -0.1, 0.41),
		withDF(Uniform("difference of expansions", -1e-6, 1e-6), 50),
		withDF(Uniform("difference of temperatures", -0.05, 0.05), 2),
	}
	f := func(x []float64) float64 { return x[0] + x[1] - x[0]*(x[4]*x[3]+x[2]*x[5]) }
	b, err := Propagate(inputs, f, nil, 0.99)
	require.NoError(t, err)
	assert.InDelta(t, 50_000_838, b.Value, 1e-6)
	for i, want := range []float64{25, 9.7, 0, 0, 2.9, 16.6} {
		assert.InDelta(t, want, b.Terms[i].Contribution, 0.05, b.Terms[i].Name)
	}
	assert.InDelta(t, 31.67, b.U, 0.02)
	assert.InDelta(t, 16.76, b.DF, 0.03)
	assert.InDelta(t, 33.87, b.HigherOrder, 0.03)
	assert.InDelta(t, 2.9208, StudentQuantile(0.995, 16), 5e-5)
	assert.InDelta(t, 92.5, StudentQuantile(0.995, 16)*b.U, 0.1)
}

// JCGM 100 H.2: resistance, reactance and impedance from five readings each of
// voltage, current and phase, which are correlated. Printed values; the digits
// beyond are recomputed from the raw readings.
func TestGUMSimultaneous(t *testing.T) {
	readings := [][]float64{
		{5.007, 4.994, 5.005, 4.990, 4.999},
		{19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3},
		{1.0456, 1.0438, 1.0468, 1.0428, 1.0433},
	}
	mean := make([]float64, 3)
	for i, v := range readings {
		for _, x := range v {
			mean[i] += x / 5
		}
	}
	cov := func(i, j int) float64 {
		s := 0.0
		for k := range 5 {
			s += (readings[i][k] - mean[i]) * (readings[j][k] - mean[j])
		}
		return s / 20
	}
	inputs := make([]Input, 3)
	r := make(Correlations, 3)
	for i := range 3 {
		inputs[i] = Normal("", mean[i], math.Sqrt(cov(i, i)))
		r[i] = make([]float64, 3)
		for j := range i {
			r[i][j] = cov(i, j) / math.Sqrt(cov(i, i)*cov(j, j))
			r[j][i] = r[i][j]
		}
		r[i][i] = 1
	}
	assert.InDelta(t, -0.36, r[1][0], 0.005)
	assert.InDelta(t, 0.86, r[2][0], 0.005)
	assert.InDelta(t, -0.65, r[2][1], 0.005)
	var b [3]Budget
	for i, f := range []Model{
		func(x []float64) float64 { return x[0] / x[1] * math.Cos(x[2]) },
		func(x []float64) float64 { return x[0] / x[1] * math.Sin(x[2]) },
		func(x []float64) float64 { return x[0] / x[1] },
	} {
		var err error
		b[i], err = Propagate(inputs, f, r, 0)
		require.NoError(t, err)
	}
	for i, want := range [][2]float64{{127.73217, 0.071071}, {219.84651, 0.295582}, {254.25970, 0.236336}} {
		assert.InDelta(t, want[0], b[i].Value, 1e-5)
		assert.InDelta(t, want[1], b[i].U, 1e-6)
		assert.True(t, math.IsNaN(b[i].HigherOrder))
	}
	assert.InDelta(t, -0.58843, Correlation(b[0], b[1]), 1e-5)
	assert.InDelta(t, -0.48526, Correlation(b[0], b[2]), 1e-5)
	assert.InDelta(t, 0.99251, Correlation(b[1], b[2]), 1e-5)

	d, err := MonteCarlo(inputs, func(x []float64) float64 { return x[0] / x[1] * math.Cos(x[2]) }, Options{Draws: 200_000, Correlations: r})
	require.NoError(t, err)
	assert.InDelta(t, 0.071071, d.SD, 5e-4)
}

// JCGM 100 G.4.1: printed u_c 1.03 %, nu_eff 19.0, t95 2.09, U95 2.2 %
// (memory; digits recomputed with SciPy).
func TestGUMWelchSatterthwaite(t *testing.T) {
	inputs := []Input{Estimated("a", 1, 0.0025, 9), Estimated("b", 1, 0.0057, 4), Estimated("c", 1, 0.0082, 14)}
	b, err := Propagate(inputs, func(x []float64) float64 { return 3 * x[0] * x[1] * x[2] }, nil, 0)
	require.NoError(t, err)
	assert.InDelta(t, 0.0102947, b.Relative(), 1e-7)
	assert.InDelta(t, 18.9987, b.DF, 1e-4)
	assert.InDelta(t, 2.0930, b.K, 1e-4)
	assert.InDelta(t, 0.021547, b.Expanded/b.Value, 1e-6)
}

func sumOf(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s
}

// JCGM 101 9.2: four inputs of unit sensitivity. Printed values (memory), the
// digits from the analytic solution; held to sampling noise.
func TestJCGM101Additive(t *testing.T) {
	root3 := math.Sqrt(3)
	rectangle := func(sd float64) Input { return Uniform("", -sd*root3, sd*root3) }
	n := Normal("", 0, 1)
	for _, c := range []struct {
		clause            string
		inputs            []Input
		sd, half, by      float64
		gum, mean, range_ float64
	}{
		{"9.2.2", []Input{n, n, n, n}, 2, 3.9199, 0.02, 3.92, 0, 0},
		{"9.2.3", []Input{rectangle(1), rectangle(1), rectangle(1), rectangle(1)}, 2, 2 * root3 * (2 - math.Pow(0.6, 0.25)), 0.02, 3.92, 0, 0},
		{"9.2.4", []Input{rectangle(1), rectangle(1), rectangle(1), rectangle(10)}, 10.147, 17.015, 0.05, 19.9, 0, 0},
	} {
		d, err := MonteCarlo(c.inputs, sumOf, Options{})
		require.NoError(t, err)
		assert.InDelta(t, 0, d.Mean, 5*c.sd/1000, c.clause)
		assert.InDelta(t, 0, d.Median, 0.05, c.clause)
		assert.InDelta(t, c.sd, d.SD, 0.004*c.sd, c.clause)
		assert.InDelta(t, -c.half, d.Lower, c.by, c.clause)
		assert.InDelta(t, c.half, d.Upper, c.by, c.clause)
		assert.LessOrEqual(t, d.ShortestHigh-d.ShortestLow, d.Upper-d.Lower, c.clause)
		assert.InDelta(t, 2*c.half, d.ShortestHigh-d.ShortestLow, 2*c.by, c.clause)
		b, err := Propagate(c.inputs, sumOf, nil, 0)
		require.NoError(t, err)
		assert.InDelta(t, c.gum, b.Expanded, 0.05, c.clause)
	}
}

// JCGM 101 9.3, mass calibration, in mg. Printed (memory): Monte Carlo 1.2341,
// 0.0754, shortest 1.0834 to 1.3825; first order 1.2340, 0.0539, 1.1285 to
// 1.3395; higher order 0.0750.
func TestJCGM101Mass(t *testing.T) {
	inputs := []Input{
		Normal("reference", 100_000, 0.050),
		Normal("added", 1.234, 0.020),
		Uniform("air", 1.10, 1.30),
		Uniform("weight", 7000, 9000),
		Uniform("reference density", 7950, 8050),
	}
	f := func(x []float64) float64 { return (x[0]+x[1])*(1+(x[2]-1.2)*(1/x[3]-1/x[4])) - 100_000 }
	d, err := MonteCarlo(inputs, f, Options{Seed: 1})
	require.NoError(t, err)
	assert.InDelta(t, 1.2341, d.Mean, 0.001)
	assert.InDelta(t, 0.0754, d.SD, 0.0005)
	assert.InDelta(t, 1.0834, d.ShortestLow, 0.005)
	assert.InDelta(t, 1.3825, d.ShortestHigh, 0.005)
	b, err := Propagate(inputs, f, nil, 0)
	require.NoError(t, err)
	assert.InDelta(t, 1.2340, b.Value, 5e-5)
	assert.InDelta(t, 0.05385, b.U, 1e-5)
	assert.InDelta(t, 1.1285, b.Value-b.Expanded, 1e-4)
	assert.InDelta(t, 1.3395, b.Value+b.Expanded, 1e-4)
	assert.InDelta(t, 0.0750, b.HigherOrder, 3e-4)
}

func TestCosine(t *testing.T) {
	for _, c := range []struct{ half, mean, u float64 }{
		{5 * deg, 0.998731244, 0.00113462},
		{10 * deg, 0.994930770, 0.00453110},
	} {
		i := CosineOf("angle", c.half)
		assert.InDelta(t, c.mean, i.Mean, 1e-9)
		assert.InDelta(t, c.u, i.U, 5e-9)
		d, err := MonteCarlo([]Input{i}, sumOf, Options{Draws: 200_000})
		require.NoError(t, err)
		assert.InDelta(t, c.mean, d.Mean, 4*c.u/400)
		assert.InDelta(t, c.u, d.SD, 0.02*c.u)
	}
	// The series and the closed form meet.
	a, b := CosineOf("", 0.02-1e-9), CosineOf("", 0.02)
	assert.InEpsilon(t, a.U, b.U, 2e-7)
	assert.Zero(t, CosineOf("", 0).U)
}

// Draws have the mean, the spread and the tails of their distribution.
func TestDraws(t *testing.T) {
	for _, c := range []struct {
		i       Input
		sd      float64
		p, at   float64 // P(X <= at) = p
		comment string
	}{
		{Normal("", 3, 2), 2, 0.9, 3 + 2*1.2815516, "R qnorm(0.9)"},
		{Uniform("", 1, 2), 1 / math.Sqrt(12), 0.25, 1.25, "exact"},
		{Arcsine("", 0, 1), math.Sqrt(0.5), 0.75, math.Sqrt(0.5), "exact"},
		{Readings("", 10, 3, 9), math.Sqrt(8.0 / 6), 0.975, 10 + 2.306004, "R qt(0.975, 8)"},
		{Readings("", 0, math.Sqrt(5), 5), math.Sqrt(2), 0.9, 1.533206, "R qt(0.9, 4)"},
		{Estimated("", 0, 1, math.Inf(1)), 1, 0.9, 1.2815516, "R qnorm(0.9)"},
	} {
		const n = 400_000
		draws, err := Sample([]Input{c.i}, sumOf, Options{Draws: n, Seed: 9})
		require.NoError(t, err)
		below := 0
		for _, v := range draws {
			if v <= c.at {
				below++
			}
		}
		assert.InDelta(t, c.p, float64(below)/n, 0.0025, c.comment)
		d := Summarise(draws, 0.95)
		assert.InDelta(t, c.i.Mean, d.Mean, 0.01)
		assert.InEpsilon(t, c.sd, d.SD, 0.02)
	}
}

// Quick selection gives what a full sort gives.
func TestSummariseAgainstSort(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for _, n := range []int{2, 3, 19, 20, 1000, 4001} {
		for _, confidence := range []float64{0.01, 0.3, 0.5, 0.9, 0.95, 0.999} {
			v := make([]float64, n)
			for i := range v {
				v[i] = math.Floor(r.NormFloat64() * 50)
			}
			s := slices.Clone(v)
			slices.Sort(s)
			d := Summarise(v, confidence)
			q := min(max(int(confidence*float64(n)+0.5), 1), n-1)
			low := (n - q + 1) / 2
			assert.Equal(t, s[low-1], d.Lower)
			assert.Equal(t, s[low-1+q], d.Upper)
			assert.Equal(t, s[n/2], d.Median)
			best := math.Inf(1)
			for i := 0; i+q < n; i++ {
				best = math.Min(best, s[i+q]-s[i])
			}
			assert.Equal(t, best, d.ShortestHigh-d.ShortestLow)
		}
	}
	assert.True(t, math.IsNaN(Summarise(nil, 0.95).Mean))
	assert.True(t, math.IsNaN(Summarise([]float64{1}, 0.95).Lower))
}

func TestSameSeedSameDraws(t *testing.T) {
	in := []Input{Normal("", 0, 1), Uniform("", 0, 1), Readings("", 0, 1, 4)}
	a, err := MonteCarlo(in, sumOf, Options{Draws: 10_000, Seed: 7})
	require.NoError(t, err)
	b, err := MonteCarlo(in, sumOf, Options{Draws: 10_000, Seed: 7})
	require.NoError(t, err)
	assert.Equal(t, a, b)
	c, err := MonteCarlo(in, sumOf, Options{Draws: 10_000, Seed: 8})
	require.NoError(t, err)
	assert.NotEqual(t, a.Mean, c.Mean)
}

func TestBadInput(t *testing.T) {
	one := []Input{Normal("a", 1, 1)}
	bad := Correlations{{1, 0.9, -0.9}, {0.9, 1, 0.9}, {-0.9, 0.9, 1}}
	three := []Input{Normal("a", 0, 1), Normal("b", 0, 1), Normal("c", 0, 1)}
	for _, c := range []struct {
		inputs []Input
		f      Model
		o      Options
		want   string
	}{
		{nil, sumOf, Options{}, "no inputs"},
		{[]Input{Normal("a", math.NaN(), 1)}, sumOf, Options{}, `"a": its value`},
		{[]Input{Uniform("a", 2, 1)}, sumOf, Options{}, "low end first"},
		{[]Input{Readings("a", 2, 1, 1)}, sumOf, Options{}, "a"},
		{[]Input{CosineOf("a", 2)}, sumOf, Options{}, "within 90°"},
		{one, sumOf, Options{Draws: 10}, "too few"},
		{one, sumOf, Options{Confidence: 2}, "between 0 and 1"},
		{one, func(x []float64) float64 { return math.Log(x[0]) }, Options{}, "no meaning"},
		{one, sumOf, Options{Correlations: Correlations{}}, "0 rows for 1 inputs"},
		{three, sumOf, Options{Correlations: Correlations{{1}, {1}, {1}}}, "1 entries"},
		{three, sumOf, Options{Correlations: Correlations{{1, 0.5, 0}, {0.4, 1, 0}, {0, 0, 1}}}, "mirror"},
		{three, sumOf, Options{Correlations: bad}, "not possible"},
		{[]Input{Normal("a", 0, 1), Uniform("b", 0, 1)}, sumOf, Options{Correlations: Correlations{{1, 0.5}, {0.5, 1}}}, "not normal"},
	} {
		_, err := MonteCarlo(c.inputs, c.f, c.o)
		assert.ErrorContains(t, err, c.want)
	}
	_, err := Propagate([]Input{Normal("a", 0, 1)}, func(x []float64) float64 { return math.Log(x[0]) }, nil, 0)
	assert.Error(t, err)
	_, err = Propagate(one, sumOf, nil, 1)
	assert.ErrorContains(t, err, "between 0 and 1")
	// Welch-Satterthwaite means nothing with correlated estimates.
	b, err := Propagate([]Input{Readings("a", 1, 1, 5), Readings("b", 1, 1, 5)}, sumOf, Correlations{{1, 0.5}, {0.5, 1}}, 0)
	require.NoError(t, err)
	assert.True(t, math.IsNaN(b.DF) && math.IsNaN(b.Expanded))
}

func BenchmarkMonteCarloMillion(b *testing.B) {
	inputs := []Input{Uniform("thread", 0.10, 0.20), Uniform("collar", 0.10, 0.20), Normal("arm", 0.15, 0.0005)}
	f := func(x []float64) float64 {
		return 9.80665 * 5 * x[2] / (0.009*(0.004+0.0585*x[0])/(0.0565-0.00414*x[0]) + 0.012*x[1])
	}
	for b.Loop() {
		if _, err := MonteCarlo(inputs, f, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
