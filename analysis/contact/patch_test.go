package contact

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

func TestTouchingAndPeak(t *testing.T) {
	for _, c := range []struct {
		p                  Patch
		touching, peak, by float64
	}{
		{rect(t, 25, 3, 0, 0), 1, 1, 1e-12},
		{rect(t, 25, 3, 0, 0.3), 1, 1.6, 1e-12},
		{rect(t, 25, 3, 0, 1.05), 0.45, 2 / 0.45, 1e-10},
		{rect(t, 25, 3, 0, -1.05), 0.45, 2 / 0.45, 1e-10},
		{rect(t, 25, 3, 7.5, 0), 0.60, 2 / 0.60, 1e-10},
		// A triangle in the corner: legs four times the distances of the centre.
		{rect(t, 20, 10, 8, -4), 8 * 4 / 2 / 200.0, 3 * 200 / (8 * 4 / 2.0), 1e-10},
		{moved(t, made(t)(Line(24*mm)), 8, 0), 0.5, 0, 1e-12},
		{moved(t, made(t)(Disc(20*mm)), 2.5, 0), 1, 2, 1e-9},
		{twoPads(t, 0.7), 1, 1.4, 1e-12},
	} {
		assert.InDelta(t, c.touching, c.p.Touching(), c.by, "%v", c.p)
		assert.InDelta(t, c.peak, c.p.Peak(), 10*c.by, "%v", c.p)
	}
}

// Whatever the centre of pressure, the plane that is found presses with 1 there.
func TestPlaneHasItsCentre(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	near := func() float64 { // half of them close to the edge
		if r.IntN(2) == 0 {
			return (0.5 - 0.5*math.Pow(10, -5*r.Float64())) * float64(1-2*r.IntN(2))
		}
		return r.Float64() - 0.5
	}
	for range 20000 {
		a, b := 1+99*r.Float64(), 0.1+99*r.Float64()
		c := Point{a * near(), b * near()}
		q := planeOnRectangle(a, b, c)
		total, x, y := 0.0, 0.0, 0.0
		for _, n := range polygonNodes(q.outline, q.plane, gauss4) {
			total += n.w
			x += n.w * n.x
			y += n.w * n.y
		}
		require.InDelta(t, 1, total, 1e-10, "%g x %g at %v", a, b, c)
		require.InDelta(t, 0, x, 1e-10*a, "%g x %g at %v", a, b, c)
		require.InDelta(t, 0, y, 1e-10*b, "%g x %g at %v", a, b, c)
		d := math.Hypot(near(), near()) / math.Sqrt2
		o := planeOnRound(1, r.Float64(), Point{d, 0})
		if o.fraction < 1 {
			require.InDelta(t, 0, o.p0+o.g*o.open, 1e-9*o.peak)
		}
	}
}

func TestParse(t *testing.T) {
	for text, want := range map[string]string{
		"rectangle 25 mm x 3 mm":                        "rectangle 25 mm x 3 mm",
		" rectangle  2.5cm × 3mm ":                      "rectangle 25 mm x 3 mm",
		"rectangle 1 in x 0.5 in":                       "rectangle 25.4 mm x 12.7 mm",
		"disc 20 mm":                                    "disc 20 mm",
		"ring 20 mm x 12 mm":                            "ring 20 mm x 12 mm",
		"line 25 mm":                                    "line 25 mm",
		"rectangle 25 mm x 3 mm pressed at 0 mm,1.5 mm": "",
		"rectangle 25 mm x 3 mm pressed at 0 mm,1 mm":   "rectangle 25 mm x 3 mm pressed at 0 mm,1 mm",
		"pads 6 mm x 3 mm at -10 mm,0 mm share 0.5; 6 mm x 3 mm at 10 mm,0 mm share 0.5": "pads 6 mm x 3 mm at -10 mm,0 mm share 0.5; 6 mm x 3 mm at 10 mm,0 mm share 0.5",
	} {
		p, err := Parse(text)
		if want == "" {
			assert.ErrorContains(t, err, "outside the patch")
			continue
		}
		require.NoError(t, err)
		assert.Equal(t, want, p.String())
	}
}

func TestParseErrors(t *testing.T) {
	for text, want := range map[string]string{
		"":                         "empty",
		"square 3 mm":              "write",
		"rectangle 25 mm":          "two lengths with an x between",
		"rectangle 25 x 3 mm":      "unit missing",
		"rectangle 25 mm x 3 kg":   "unit of mass",
		"rectangle 0 mm x 3 mm":    "has no area",
		"rectangle 25 mm x -3 mm":  "has no area",
		"rectangle mm x 3 mm":      "does not start with a number",
		"disc 0 mm":                "has no area",
		"disc NaN mm":              "does not start with a number",
		"ring 12 mm x 20 mm":       "outer diameter first",
		"ring 12 mm x 12 mm":       "has no area",
		"ring 12 mm x 0 mm":        "must be above 0",
		"line -1 mm":               "no length",
		"rectangle 1e9 m x 1e9 m":  "between 1e-9 m and 1e6 m",
		"rectangle 25 mm x 1e-9mm": "between 1e-9 m and 1e6 m",
		"pads 6 mm x 3 mm at -10 mm,0 mm share 0.5; 6 mm x 3 mm at 10 mm,0 mm share 0.4": "sum to 0.9, not to 1",
		"pads 6 mm x 3 mm at -10 mm,0 mm share 1.5; 6 mm x 3 mm at 10 mm,0 mm share -.5": "pad 2: share -0.5",
		"pads 6 mm x 3 mm":                         "pad 1",
		"pads 6 mm x 0 mm at 0 mm,0 mm share 1":    "pad 1",
		"pads 6 mm x 3 mm at 0 mm share 1":         "comma between",
		"pads 6 mm x 3 mm at 0 mm,0 mm share half": "not a number",
		"pads 6 mm x 3 mm at 0 mm,0 mm share NaN":  "pad 1: share",
		"pads":                                   "pad 1",
		"rectangle 25 mm x 3 mm pressed at 0 mm": "comma between",
		"rectangle 25 mm x 3 mm pressed at 0 mm,1.4999999": "unit missing",
	} {
		_, err := Parse(text)
		assert.ErrorContains(t, err, want, "%q", text)
	}
}

func TestPressureCentreErrors(t *testing.T) {
	for _, c := range []struct {
		p    Patch
		at   Point
		want string
	}{
		{rect(t, 25, 3, 0, 0), Point{0, 2 * mm}, "outside the patch"},
		{rect(t, 25, 3, 0, 0), Point{12.5 * mm, 0}, "outside the patch"},
		{rect(t, 25, 3, 0, 0), Point{0, 1.4999999 * mm}, "on the edge"},
		{rect(t, 25, 3, 0, 0), Point{math.NaN(), 0}, "finite"},
		{made(t)(Disc(20 * mm)), Point{8 * mm, 8 * mm}, "outside the patch"},
		{made(t)(Line(20 * mm)), Point{0, 1 * mm}, "outside the patch"},
		{twoPads(t, 0.5), Point{1 * mm, 0}, "from their shares"},
		{Patch{}, Point{}, "not given"},
	} {
		_, err := c.p.WithPressureCentre(c.at)
		assert.ErrorContains(t, err, c.want, "%v at %v", c.p, c.at)
	}
	_, err := Solve(Patch{}, Pull{})
	assert.ErrorContains(t, err, "not given")
	_, _, err = TwistRadius(Patch{})
	assert.ErrorContains(t, err, "not given")
	_, err = Pads(nil)
	assert.ErrorContains(t, err, "none")
	_, err = Pads([]Pad{{Share: 1}})
	assert.ErrorContains(t, err, "no extent")
}

func TestFactorOf(t *testing.T) {
	const patch = "rectangle 25 mm x 3 mm"
	for _, c := range []struct {
		s    trial.PullSetup
		want float64
	}{
		{trial.PullSetup{}, 1},
		{trial.PullSetup{How: "straight", Patch: patch}, 1},
		{trial.PullSetup{How: "twist", Patch: patch, Arm: -12.5 * mm}, 6.3594346386 / 12.5},
		{trial.PullSetup{How: "offset", Patch: patch, Arm: 12.5 * mm, Direction: 45 * deg}, 0.4416656651},
	} {
		phi, err := FactorOf(c.s)
		require.NoError(t, err)
		assert.InDelta(t, c.want, phi, 1e-10)
	}
	for _, c := range []struct {
		s    trial.PullSetup
		want string
	}{
		{trial.PullSetup{How: "sideways"}, "straight, twist or offset"},
		{trial.PullSetup{How: "twist"}, "needs the contact patch"},
		{trial.PullSetup{How: "twist", Patch: patch}, "other than 0"},
		{trial.PullSetup{How: "twist", Patch: patch, Arm: 1e308}, "too large"},
		{trial.PullSetup{How: "offset", Patch: "blob"}, "write"},
	} {
		_, err := FactorOf(c.s)
		assert.ErrorContains(t, err, c.want)
	}
}

// What Parse reads, String writes so that Parse reads it again.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"rectangle 25 mm x 3 mm", "disc 20 mm", "ring 20 mm x 12 mm", "line 1 in pressed at 1 mm,0 mm",
		"pads 6 mm x 3 mm at -10 mm,0 mm share 0.5; 6 mm x 3 mm at 10 mm,0 mm share 0.5"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := Parse(text)
		if err != nil {
			return
		}
		q, err := Parse(p.String())
		if err != nil {
			t.Fatalf("%q -> %q: %v", text, p, err)
		}
		if math.Abs(p.a-q.a) > 1e-12*p.a || math.Abs(p.b-q.b) > 1e-12*p.b || len(p.pads) != len(q.pads) {
			t.Fatalf("%q -> %q", text, p)
		}
	})
}

// The outlines have the area of the patch and of what touches.
func TestOutline(t *testing.T) {
	for _, p := range []Patch{rect(t, 25, 3, 0, 0), rect(t, 25, 3, -5, 1), made(t)(Disc(20 * mm)), moved(t, made(t)(Disc(20*mm)), -3, 4), made(t)(Ring(20*mm, 12*mm)), twoPads(t, 0.3)} {
		o := p.Outline()
		whole := 0.0
		for _, q := range o.Whole {
			whole += momentsOf(q).a
		}
		if o.Hole != nil {
			whole -= momentsOf(o.Hole).a
		}
		assert.InEpsilon(t, p.Area(), whole, 2e-3, "%v", p)
		if p.Touching() < 1 {
			assert.InEpsilon(t, p.Touching()*p.Area(), momentsOf(o.Touching).a, 2e-3, "%v", p)
		} else {
			assert.Nil(t, o.Touching)
		}
	}
	o := moved(t, made(t)(Line(24*mm)), 8, 0).Outline()
	assert.InDelta(t, 12*mm, o.Touching[1].X-o.Touching[0].X, 1e-12)
}

// The closed sums over a segment against ten thousand chords.
func TestSegment(t *testing.T) {
	for _, c := range []float64{-0.9999, -0.5, 0, 0.3, 0.6, 0.7, 0.9} {
		n, m, area := segment(2, 2*c)
		var wantN, wantM, wantArea float64
		const chords = 10000
		half := math.Acos(c)
		for i := range chords {
			phi := half * (float64(i) + 0.5) / chords
			above := 2 * (math.Cos(phi) - c)
			w := 2 * 4 * math.Sin(phi) * math.Sin(phi) * half / chords
			wantN += w * above
			wantM += w * above * above
			wantArea += w
		}
		assert.InEpsilon(t, wantN, n, 1e-6)
		assert.InEpsilon(t, wantM, m, 1e-6)
		assert.InEpsilon(t, wantArea, area, 1e-6)
	}
}
