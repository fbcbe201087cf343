package contact

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	mm  = 1e-3
	deg = math.Pi / 180
)

func rect(t testing.TB, a, b, x, y float64) Patch {
	p, err := Rectangle(a*mm, b*mm)
	require.NoError(t, err)
	return moved(t, p, x, y)
}

func moved(t testing.TB, p Patch, x, y float64) Patch {
	if x == 0 && y == 0 {
		return p
	}
	p, err := p.WithPressureCentre(Point{x * mm, y * mm})
	require.NoError(t, err)
	return p
}

func made(t testing.TB) func(p Patch, err error) Patch {
	return func(p Patch, err error) Patch {
		require.NoError(t, err)
		return p
	}
}

func twoPads(t testing.TB, left float64) Patch {
	return made(t)(Pads([]Pad{{6 * mm, 3 * mm, Point{-10 * mm, 0}, left}, {6 * mm, 3 * mm, Point{10 * mm, 0}, 1 - left}}))
}

// Values found elsewhere by two routes that agree to 1.2e-11, eleven of them
// repeated to 25 digits. Lengths in mm.
func TestGripFactors(t *testing.T) {
	nan := math.NaN()
	ok := made(t)
	for _, c := range []struct {
		name   string
		p      Patch
		e, dir float64
		phi    float64
		x, y   float64
	}{
		{"25 x 3, small arm", rect(t, 25, 3, 0, 0), 2.5, 0, 0.9438480507, 0, 19.967513},
		{"25 x 3", rect(t, 25, 3, 0, 0), 12.5, 0, 0.4660910546, 0, 2.640274},
		{"25 x 3 at 45", rect(t, 25, 3, 0, 0), 12.5, 45, 0.4416656651, -3.945284, 1.518305},
		{"25 x 3 at 90", rect(t, 25, 3, 0, 0), 12.5, 90, 0.4202272727, -5.268061, 0},
		{"25 x 25", rect(t, 25, 25, 0, 0), 5, 0, 0.8448130925, 0, 14.358652},
		{"disc", ok(Disc(20 * mm)), 5, 0, 0.7483044473, 0, 8.269566},
		{"disc, larger arm", ok(Disc(20 * mm)), 10, 90, 0.5257907122, -5.471103, 0},
		{"ring", ok(Ring(20*mm, 12*mm)), 5, 0, 0.7867709513, 0, 9.941907},
		{"line", ok(Line(25 * mm)), 12.5, 90, math.Sqrt2 - 1, -12.5 * (math.Sqrt2 - 1), 0},
		{"two pads", twoPads(t, 0.5), 5, 90, 0.7167785976, -11.364246, 0},
		{"two pads, 70 % left", twoPads(t, 0.7), 5, 90, 0.4786716021, -10.798657, 0},
		{"high", rect(t, 25, 3, 0, 0.3), 2, 0, 0.9519878435, 0, 22.132049},
		{"45 % in contact", rect(t, 25, 3, 0, 1.05), 12, 90, 0.4272631117, -5.342906, 1.061207},
		{"60 % in contact", rect(t, 25, 3, 7.5, 0), 0, 90, 0.3488227770, 9.811992, 0},
		{"centre only", rect(t, 25, 3, 0, 0), 0, 33, 1, nan, nan},
	} {
		g, err := Solve(c.p, Pull{c.e * mm, c.dir * deg})
		require.NoError(t, err, c.name)
		assert.InDelta(t, c.phi, g.Factor, 1e-10, c.name)
		if math.IsNaN(c.x) {
			assert.True(t, g.Shift, c.name)
			continue
		}
		assert.False(t, g.Shift, c.name)
		assert.InDelta(t, c.x, g.Centre.X/mm, 2e-6, "%s: x", c.name)
		assert.InDelta(t, c.y, g.Centre.Y/mm, 2e-6, "%s: y", c.name)
	}
}

func TestTwistRadius(t *testing.T) {
	ok := made(t)
	for _, c := range []struct {
		name string
		p    Patch
		want float64
		x, y float64
	}{
		{"25 x 3", rect(t, 25, 3, 0, 0), 6.3594346386, 0, 0},
		{"25 x 25", rect(t, 25, 25, 0, 0), 9.5649464558, 0, 0},
		{"ring", ok(Ring(20*mm, 12*mm)), 8.1666666667, 0, 0},
		{"disc 2R/3", ok(Disc(20 * mm)), 20.0 / 3, 0, 0},
		{"line L/4", ok(Line(25 * mm)), 6.25, 0, 0},
		{"25 x 3, high", rect(t, 25, 3, 0, 1.05), 6.268527, 0, 1.06092},
		// Bhandari Ex. 11.2: 366519.142919 N·mm at mu 0.2 and 23561.944902 N.
		{"clutch plate", ok(Ring(200*mm, 100*mm)), 366519.142919 / 0.2 / 23561.944902, 0, 0},
	} {
		r, centre, err := TwistRadius(c.p)
		require.NoError(t, err)
		assert.InDelta(t, c.want, r/mm, 1e-6, c.name)
		assert.InDelta(t, c.x, centre.X/mm, 1e-5, c.name)
		assert.InDelta(t, c.y, centre.Y/mm, 1e-5, c.name)
	}
}
