package calibration

import (
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// columns reads the two columns of numbers that follow a line holding after.
func columns(t *testing.T, file, after string) (a, b []float64) {
	t.Helper()
	text, err := os.ReadFile("../../testdata/published/" + file)
	require.NoError(t, err)
	_, body, ok := strings.Cut(string(text), after)
	require.True(t, ok, "no %q in %s", after, file)
	for _, line := range strings.Split(body, "\n") {
		fields := strings.Fields(line)
		if len(fields) != 2 {
			continue
		}
		x, err1 := strconv.ParseFloat(fields[0], 64)
		y, err2 := strconv.ParseFloat(fields[1], 64)
		if err1 == nil && err2 == nil {
			a, b = append(a, x), append(b, y)
		}
	}
	require.NotEmpty(t, a)
	return a, b
}

// digits wants got to agree with a certified value to n significant digits.
func digits(t *testing.T, n int, want, got float64, what string) {
	t.Helper()
	assert.InEpsilon(t, want, got, math.Pow(10, -float64(n)), what)
}

func TestFitLineNorris(t *testing.T) {
	// NIST StRD, linear regression, Norris: certified values.
	y, x := columns(t, "strd/Norris.dat", "Data:       y          x")
	require.Len(t, x, 36)
	l, err := FitLine(x, y)
	require.NoError(t, err)
	digits(t, 12, -0.262323073774029, l.Intercept, "B0")
	digits(t, 13, 1.00211681802045, l.Slope, "B1")
	digits(t, 12, 0.232818234301152, l.InterceptSE, "s(B0)")
	digits(t, 12, 0.429796848199937e-3, l.SlopeSE, "s(B1)")
	digits(t, 12, 0.884796396144373, l.ResidualSD, "residual s")
	digits(t, 13, 0.999993745883712, l.R2, "R2")
	assert.Equal(t, 34, l.DF)
}

func TestFitProportionNoInt(t *testing.T) {
	// NIST StRD, linear regression, NoInt1 and NoInt2: certified values.
	y, x := columns(t, "strd/NoInt1.dat", "Data:     y     x")
	require.Len(t, x, 11)
	p, err := FitProportion(x, y)
	require.NoError(t, err)
	digits(t, 13, 2.07438016528926, p.Slope, "B1")
	digits(t, 13, 0.165289256198347e-1, p.SlopeSE, "s(B1)")
	digits(t, 13, 3.56753034006338, p.ResidualSD, "residual s")
	digits(t, 13, 0.999365492298663, p.R2, "R2")

	y, x = columns(t, "strd/NoInt2.dat", "Data:")
	require.Len(t, x, 3)
	p, err = FitProportion(x, y)
	require.NoError(t, err)
	digits(t, 13, 0.727272727272727, p.Slope, "B1")
	digits(t, 13, 0.420827318078432e-1, p.SlopeSE, "s(B1)")
	digits(t, 13, 0.369274472937998, p.ResidualSD, "residual s")
	digits(t, 13, 0.993348115299335, p.R2, "R2")
}

func TestFitParabolaPontius(t *testing.T) {
	// NIST StRD, linear regression, Pontius (a load-cell calibration).
	y, x := columns(t, "strd/Pontius.dat", "Data:       y             x")
	require.Len(t, x, 40)
	f, err := FitParabola(x, y)
	require.NoError(t, err)
	for i, want := range []float64{0.673565789473684e-3, 0.732059160401003e-6, -0.316081871345029e-14} {
		digits(t, 11, want, f.B[i], "B")
	}
	for i, want := range []float64{0.107938612033077e-3, 0.157817399981659e-9, 0.486652849992036e-16} {
		digits(t, 11, want, f.SE[i], "s(B)")
	}
	digits(t, 11, 0.205177424076185e-3, f.ResidualSD, "residual s")
	digits(t, 13, 0.999999900178537, f.R2, "R2")
}

func TestFitParabolaLoadCell(t *testing.T) {
	// NIST/SEMATECH e-Handbook, 2.3.6, LOADCELL.DAT: printed to six digits, and
	// recomputed in R 4.2.2 to seven.
	x, y := columns(t, "handbook/LOADCELL.DAT", "-------------------")
	require.Len(t, x, 33)
	f, err := FitParabola(x, y)
	require.NoError(t, err)
	digits(t, 6, -1.839805e-5, f.B[0], "a")
	digits(t, 7, 0.100102485, f.B[1], "b")
	digits(t, 6, 7.031865e-6, f.B[2], "c")
	digits(t, 6, 2.450722e-5, f.SE[0], "s(a)")
	digits(t, 6, 4.838699e-6, f.SE[1], "s(b)")
	digits(t, 6, 2.013613e-7, f.SE[2], "s(c)")
	digits(t, 6, 3.764029e-5, f.ResidualSD, "residual s")
	assert.Equal(t, 30, f.DF)
}

func TestLineThermometer(t *testing.T) {
	// JCGM 100:2008, H.3: printed to the digits in the second comments; the
	// values held were recomputed in R 4.2.2 and NumPy.
	x := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	y := []float64{-.171, -.169, -.166, -.159, -.164, -.165, -.156, -.157, -.159, -.161, -.160}
	for i := range x {
		x[i] -= 20
	}
	l, err := FitLine(x, y)
	require.NoError(t, err)
	assert.InDelta(t, -0.171204, l.Intercept, 1e-6)  // −0.1712
	assert.InDelta(t, 0.002878, l.InterceptSE, 1e-6) // 0.0029
	assert.InDelta(t, 0.0021827, l.Slope, 1e-7)      // 0.00218
	assert.InDelta(t, 0.00066794, l.SlopeSE, 1e-8)   // 0.00067
	assert.InDelta(t, -0.93043, l.Correlation, 1e-5) // −0.930
	assert.InDelta(t, 0.0034976, l.ResidualSD, 1e-7) // 0.0035
	b30, u30 := l.At(10)
	assert.InDelta(t, -0.149377, b30, 1e-6) // −0.1494
	assert.InDelta(t, 0.0041386, u30, 1e-7) // 0.0041
}

func TestFitsRefuse(t *testing.T) {
	nan := math.NaN()
	_, err := FitLine(nil, nil)
	assert.ErrorIs(t, err, ErrTooFew)
	_, err = FitLine([]float64{2, 2, 2}, []float64{1, 2, 3})
	assert.ErrorIs(t, err, ErrTooFew)
	_, err = FitLine([]float64{1, nan}, []float64{1, 2})
	assert.ErrorIs(t, err, ErrNotFinite)
	_, err = FitProportion([]float64{0, 0}, []float64{1, 2})
	assert.ErrorIs(t, err, ErrTooFew)
	_, err = FitProportion([]float64{1}, []float64{math.Inf(1)})
	assert.ErrorIs(t, err, ErrNotFinite)
	_, err = FitParabola([]float64{1, 2, 2}, []float64{1, 2, 3})
	assert.ErrorIs(t, err, ErrTooFew)
	_, err = FitParabola([]float64{1, 2, 3}, []float64{1, 2, nan})
	assert.ErrorIs(t, err, ErrNotFinite)
	assert.PanicsWithValue(t, lengthPanic, func() { _, _ = FitLine([]float64{1}, nil) })

	l, err := FitLine([]float64{0, 10}, []float64{5, 25})
	require.NoError(t, err)
	assert.Equal(t, 2.0, l.Slope)
	assert.True(t, math.IsNaN(l.SlopeSE), "two points tell nothing about scatter")
}
