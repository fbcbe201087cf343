package figure

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/calibration"
	"griptrial/report/internal/golden"
)

func TestCalibrationGolden(t *testing.T) {
	var points []calibration.Point
	for run := 1; run <= 2; run++ {
		for i, kg := range []float64{0, 2, 5, 10, 15, 20, 15, 10, 5, 2, 0} {
			q := calibration.Point{Force: 9.81 * kg, Run: run}
			q.Counts = 1000 + 500*q.Force - 0.02*q.Force*q.Force + 3*float64(run)
			if i > 5 {
				q.Direction = calibration.Down
				q.Counts += 0.1 * q.Force * (196.2 - q.Force) / 196.2
			}
			points = append(points, q)
		}
	}
	r, err := calibration.Calibrate(points)
	require.NoError(t, err)
	f, ok := Calibration("LC-17", points, r)
	require.True(t, ok)
	assert.Contains(t, f.Title, "of cell LC-17 lie within")
	golden.Equal(t, "calibration.svg", []byte(svg(t, f.SVG)))

	two := []calibration.Point{{Force: 0, Counts: 5}, {Force: 10, Counts: 1005}}
	r, err = calibration.Calibrate(two)
	require.NoError(t, err)
	_, ok = Calibration("", two, r)
	assert.False(t, ok, "two points lie on their line whatever was hung")
}
