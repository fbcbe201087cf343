package calibration

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestHangingForce(t *testing.T) {
	// JCGM 101:2008, 9.3 gives the buoyancy factor; 1 − 1.2/8000 = 0.99985.
	f, err := HangingForce(2, 9.80665, 0)
	require.NoError(t, err)
	assert.InDelta(t, 2*9.80665*0.99985, f, 1e-12)
	f, err = HangingForce(1, 9.8, 2700)
	require.NoError(t, err)
	assert.InDelta(t, 9.8*(1-1.2/2700), f, 1e-12)
	for _, bad := range [][3]float64{{-1, 9.8, 0}, {math.NaN(), 9.8, 0}, {1, 0, 0}, {1, 9.8, 1}} {
		_, err := HangingForce(bad[0], bad[1], bad[2])
		assert.Error(t, err, bad)
	}
}

// cell is a made-up cell of 100 counts/N with an offset, whose second run reads
// 0.1 % more and whose way down reads 0.2 counts/N too much in mid-range.
func cell() []Point {
	var points []Point
	for run := 1; run <= 2; run++ {
		gain := 100 * (1 + 0.001*float64(run-1))
		points = append(points, Point{0, 500, run, Up})
		for _, f := range []float64{10, 20, 30} {
			points = append(points, Point{f, 500 + gain*f, run, Up})
		}
		points = append(points, Point{20, 500 + gain*20 + 4, run, Down}, Point{10, 500 + gain*10 + 3, run, Down}, Point{0, 501, run, Down})
	}
	return points
}

func TestCalibrateDeviations(t *testing.T) {
	r, err := Calibrate(cell())
	require.NoError(t, err)
	// By hand from the definitions in the comment of Calibrate.
	assert.InDelta(t, 0.1/1.0005, r.Repeatability.Percent, 1e-9)
	assert.InDelta(t, 0.3, r.Hysteresis.Percent, 1e-9)
	assert.Equal(t, 10.0, r.Hysteresis.Force)
	assert.Equal(t, 1, r.Hysteresis.Run)
	assert.InDelta(t, 100*1/3000., r.ZeroReturn.Percent, 1e-9)
	assert.InDelta(t, 0, r.Interpolation.Percent, 1e-9, "each run is straight")
	assert.True(t, r.Bend.Known())
	assert.InDelta(t, 100.05, r.Span, 0.1)
	assert.Equal(t, Class1, r.Class)
	assert.InDelta(t, 100*(100.05/r.Span-1), r.Accuracy.Percent, 1e-9, "the mean of 100 and 100.1 counts/N")
	assert.Equal(t, Class05, r.MachineClass)
	for _, c := range []struct {
		accuracy, repeatability, hysteresis, zero float64
		want                                      Class
	}{
		{-0.5, 0.5, 0.75, 0.05, Class05}, {-0.51, 0.5, 0.75, 0.05, Class1}, {1, 1.01, 1.5, 0.1, Class2}, {1, 1, 3.01, 0.1, Class3},
		{1, 1, 1, 0.31, ClassNone}, {math.NaN(), 1, 1, 0.1, NoClass}, {1, 1, math.NaN(), 0.1, NoClass},
	} {
		r := Result{Accuracy: Deviation{Percent: c.accuracy}, Repeatability: Deviation{Percent: c.repeatability},
			Hysteresis: Deviation{Percent: c.hysteresis}, ZeroReturn: Deviation{Percent: c.zero}}
		assert.Equal(t, c.want, r.classifyMachine(), "%+v", c)
	}

	assert.Len(t, r.Residuals, 14)
	var sum float64
	for _, v := range r.Residuals {
		sum += v
		assert.LessOrEqual(t, math.Abs(v), math.Abs(r.Residuals[r.Worst]))
	}
	assert.InDelta(t, 0, sum, 1e-9, "residuals of a line with intercept add to zero")
}

func TestCalibrateNegativeSpan(t *testing.T) {
	// Swapped signal wires: everything turns over, no deviation changes.
	points := cell()
	for i := range points {
		points[i].Counts = -points[i].Counts
	}
	r, err := Calibrate(points)
	require.NoError(t, err)
	assert.Less(t, r.Span, 0.0)
	assert.InDelta(t, 0.1/1.0005, r.Repeatability.Percent, 1e-9)
	assert.InDelta(t, 0.3, r.Hysteresis.Percent, 1e-9)
	assert.Greater(t, r.Uncertainty(10, 0), 0.0)
}

func TestCalibrateUnknown(t *testing.T) {
	r, err := Calibrate([]Point{{0, 0, 1, Up}, {10, 1000, 1, Up}})
	require.NoError(t, err)
	assert.Equal(t, 100.0, r.Span)
	for _, d := range []Deviation{r.Bend, r.Interpolation, r.Repeatability, r.Hysteresis, r.ZeroReturn} {
		assert.False(t, d.Known())
	}
	assert.Equal(t, NoClass, r.Class)
	assert.Equal(t, NoClass, r.MachineClass)
	assert.True(t, math.IsNaN(r.Uncertainty(5, 0)))
}

func TestCalibrateRefuses(t *testing.T) {
	_, err := Calibrate(nil)
	assert.ErrorIs(t, err, ErrTooFew)
	_, err = Calibrate([]Point{{0, 7, 1, Up}, {10, 7, 1, Up}, {20, 7, 1, Up}})
	assert.ErrorContains(t, err, "do not change with the load")
	_, err = Calibrate([]Point{{0, 7, 1, Up}, {-10, 8, 1, Up}})
	assert.ErrorContains(t, err, "point 2")
}

func TestUncertainty(t *testing.T) {
	r, err := Calibrate(cell())
	require.NoError(t, err)
	s := r.Line.ResidualSD / r.Span
	assert.InDelta(t, math.Sqrt2*s, r.Uncertainty(0, 0.001), 1e-12, "unloaded, only reading and tare scatter")
	want := math.Sqrt(math.Pow(20*r.SpanSE/r.Span, 2) + math.Pow(20*0.001, 2) + 2*s*s)
	assert.InDelta(t, want, r.Uncertainty(20, 0.001), 1e-12)
}
