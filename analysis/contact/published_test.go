package contact

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Bolt groups that resist by friction are the same problem with points: twelve
// bolts, 3 x 4 at 3 in, load 30° off the vertical at 12 in.
//
// With the load-deformation law of the manual tables, R = (1 − exp(−10·D))^0.55
// and D = 0.34 in at the farthest bolt, the table prints C = 3.82 (a published
// example; 3.8238 solved elsewhere). With the same slip load in every bolt
// C = 4.136656 (solved elsewhere).
func TestPublishedBoltGroup(t *testing.T) {
	var pads []Pad
	for i := range 3 {
		for j := range 4 {
			pads = append(pads, Pad{At: Point{0.0762 * float64(i-1), 0.0762 * (float64(j) - 1.5)}, Share: 1.0 / 12})
		}
	}
	// The load hangs at 12 in along x; its arm about the group is 12·cos 30°.
	pull := Pull{Arm: -12 * 0.0254 * math.Cos(30*deg), Direction: -60 * deg}
	g, err := Solve(made(t)(Pads(pads)), pull)
	require.NoError(t, err)
	assert.InDelta(t, 4.136656, 12*g.Factor, 1e-6, "equal slip loads")

	// The law makes each bolt's share depend on its distance from the centre;
	// repeated solutions settle on the tables' equilibrium.
	total := 0.0
	for range 200 {
		far := 0.0
		for _, p := range pads {
			far = math.Max(far, math.Hypot(p.At.X-g.Centre.X, p.At.Y-g.Centre.Y))
		}
		total = 0
		for i, p := range pads {
			d := 0.34 * math.Hypot(p.At.X-g.Centre.X, p.At.Y-g.Centre.Y) / far
			pads[i].Share = math.Pow(1-math.Exp(-10*d), 0.55)
			total += pads[i].Share
		}
		for i := range pads {
			pads[i].Share /= total
		}
		g, err = Solve(made(t)(Pads(pads)), pull)
		require.NoError(t, err)
	}
	assert.InDelta(t, 3.8238, total*g.Factor, 5e-5, "manual law")
}

// Closed results: a line pulled square to itself and two points.
func TestClosedOffsets(t *testing.T) {
	line := made(t)(Line(25 * mm))
	points := made(t)(Pads([]Pad{{At: Point{-10 * mm, 0}, Share: 0.5}, {At: Point{10 * mm, 0}, Share: 0.5}}))
	for _, e := range []float64{0.01, 0.5, 3, 12.5, 80, 1e4} {
		for _, sign := range []float64{-1, 1} {
			g, err := Solve(line, Pull{sign * e * mm, 90 * deg})
			require.NoError(t, err)
			k := 2 * e / 25
			assert.InDelta(t, 1/(math.Sqrt(1+k*k)+k), g.Factor, 1e-12, "line, e %g", e)
			assert.InDelta(t, -sign*25*25/4.0/(math.Sqrt(e*e+25*25/4.0)+e), g.Centre.X/mm, 1e-4, "line, e %g", e)
			g, err = Solve(points, Pull{sign * e * mm, 90 * deg})
			require.NoError(t, err)
			assert.InDelta(t, 1/(1+2*e/20), g.Factor, 1e-10, "points, e %g", e)
		}
	}
	r, _, err := TwistRadius(points)
	require.NoError(t, err)
	assert.InDelta(t, 10, r/mm, 1e-9, "two points s apart: s/2")
}

// r_eff of a rectangle in closed form.
func TestTwistRadiusOfRectangles(t *testing.T) {
	for _, s := range [][2]float64{{25, 3}, {3, 25}, {10, 10}, {100, 0.1}, {60, 3}} {
		a, b := s[0], s[1]
		d := math.Hypot(a, b)
		want := d/6 + (a*a/b*math.Asinh(b/a)+b*b/a*math.Asinh(a/b))/12
		r, _, err := TwistRadius(rect(t, a, b, 0, 0))
		require.NoError(t, err)
		assert.InEpsilon(t, want, r/mm, 1e-11)
	}
}

// Small arms: phi = 1 − e²/(2·variance along the pull). Large arms: phi·e
// tends to the twist radius.
func TestSmallAndLargeArms(t *testing.T) {
	p := rect(t, 25, 3, 0, 0)
	for _, e := range []float64{3e-4, 1e-5, 1e-9} {
		for _, c := range []struct{ dir, side float64 }{{0, 25}, {90, 3}} {
			g, err := Solve(p, Pull{e * mm, c.dir * deg})
			require.NoError(t, err)
			assert.InDelta(t, 1-e*e/(2*c.side*c.side/12), g.Factor, 1e-12)
		}
	}
	for _, e := range []float64{1e5, 1e9, 1e30, 1e300} {
		g, err := Solve(p, Pull{e * mm, 1})
		require.NoError(t, err)
		assert.InEpsilon(t, 6.3594346386, g.Factor*e, 1e-4/math.Sqrt(e)+1e-9)
	}
	_, err := Solve(p, Pull{1e308, 0})
	assert.ErrorIs(t, err, ErrTooFar)
	_, err = Solve(p, Pull{math.Inf(1), 0})
	assert.ErrorContains(t, err, "finite")
	_, err = Solve(p, Pull{0, math.NaN()})
	assert.ErrorContains(t, err, "finite")
}

// Two faces of a jaw pair: alike they carry twice as much; unlike patches carry
// more together than the sum of their own limits.
func TestFaces(t *testing.T) {
	p := rect(t, 12, 3, 0, 0)
	pull := Pull{12 * mm, 0}
	alone, err := Solve(p, pull)
	require.NoError(t, err)
	both, err := Faces([]Face{{Patch: p, Mu: 0.2}, {Patch: p, Mu: 0.3}}, pull)
	require.NoError(t, err)
	assert.InDelta(t, alone.Factor, both.Factor, 1e-12)

	left, right := Point{-6 * mm, 0}, Point{6 * mm, 0}
	both, err = Faces([]Face{{p, 0.25, left}, {p, 0.25, right}}, pull)
	require.NoError(t, err)
	assert.InDelta(t, 0.46631293, both.Factor, 1e-8)
	sum := 0.0
	for _, at := range []Point{left, right} {
		g, err := Faces([]Face{{p, 1, at}}, pull)
		require.NoError(t, err)
		sum += g.Factor / 2
	}
	assert.InDelta(t, 0.25722498, sum, 1e-8)

	_, err = Faces(nil, pull)
	assert.Error(t, err)
	_, err = Faces([]Face{{Patch: p}}, pull)
	assert.ErrorContains(t, err, "friction must be above 0")
	_, err = Faces([]Face{{Mu: 1}}, pull)
	assert.ErrorContains(t, err, "not given")
}

// The ellipse (F/F0)² + (M/M0)² = 1, a common shortcut, is off by what these
// worst cases say (computed elsewhere).
func TestEllipseIsNotTheCurve(t *testing.T) {
	ratio := func(p Patch, e, dir float64) float64 {
		g, err := Solve(p, Pull{e * mm, dir * deg})
		require.NoError(t, err)
		r, _, err := TwistRadius(p)
		require.NoError(t, err)
		return g.Factor * math.Hypot(1, e*mm/r)
	}
	assert.InDelta(t, 0.871, ratio(rect(t, 25, 3, 0, 0), 4, 90), 5e-4)
	assert.InDelta(t, 1.038, ratio(rect(t, 25, 3, 0, 0), 8, 0), 5e-4)
	worst := 1.0
	for e := 0.1; e < 50; e *= 1.02 {
		worst = math.Min(worst, ratio(made(t)(Disc(20*mm)), e, 0))
	}
	assert.InDelta(t, 0.93421, worst, 2e-5)
}

// A pull 4 mm off the middle of jaws 40 mm apart: 1.667 instead of 2.
func TestOffMiddle(t *testing.T) {
	for _, c := range []struct{ off, want float64 }{{0, 2}, {4 * mm, 5.0 / 3}, {-4 * mm, 5.0 / 3}, {20 * mm, 1}} {
		f, err := OffMiddle(c.off, 40*mm)
		require.NoError(t, err)
		assert.InDelta(t, c.want, f, 1e-12)
	}
	_, err := OffMiddle(0, 0)
	assert.ErrorContains(t, err, "gap")
	_, err = OffMiddle(21*mm, 40*mm)
	assert.ErrorContains(t, err, "outside the jaws")
}
