package contact

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var cases = flag.Int("random", 10000, "random cases that the grip factor must solve")

// randomPatch makes a valid patch of one of five kinds, sizes 0.1 mm to 100 mm.
func randomPatch(r *rand.Rand, kind int) Patch {
	size := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, r.Float64()) }
	var p Patch
	var err error
	var c Point
	sin, cos := math.Sincos(r.Float64() * 2 * math.Pi)
	switch kind {
	case 0:
		p, err = Rectangle(size(1e-4, 0.1), size(1e-4, 0.1))
		c = Point{p.a * (r.Float64() - 0.5), p.b * (r.Float64() - 0.5)}
	case 1, 2:
		outer := size(1e-3, 0.1)
		p, err = Disc(outer)
		if kind == 2 {
			p, err = Ring(outer, outer*(0.01+0.98*r.Float64()))
		}
		d := outer / 2 * math.Sqrt(r.Float64())
		c = Point{d * cos, d * sin}
	case 3:
		p, err = Line(size(1e-3, 0.1))
		c.X = p.a * (r.Float64() - 0.5)
	default:
		list := make([]Pad, 1+r.IntN(6))
		sum := 0.0
		for i := range list {
			list[i] = Pad{size(1e-4, 1e-2), size(1e-4, 1e-2), Point{r.NormFloat64() * 0.02, r.NormFloat64() * 0.02}, 0.01 + r.Float64()}
			sum += list[i].Share
		}
		for i := range list {
			list[i].Share /= sum
		}
		p, err = Pads(list)
	}
	if err != nil {
		panic(err)
	}
	if kind < 4 && r.IntN(2) == 0 {
		if q, err := p.WithPressureCentre(c); err == nil {
			return q
		}
	}
	return p
}

// Every random valid case is solved, and the solution is a minimum: no motion
// near or far dissipates less.
func TestRandomCases(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	cut, calls := 0, 0
	for i := range *cases {
		p := randomPatch(r, i%5)
		pull := Pull{math.Exp(3*r.NormFloat64()) * 10 * mm, r.Float64() * 2 * math.Pi}
		if r.IntN(4) == 0 {
			pull.Direction = float64(r.IntN(4)) * math.Pi / 2
		}
		if r.IntN(2) == 0 {
			pull.Arm = -pull.Arm
		}
		g, err := Solve(p, pull)
		require.NoError(t, err, "%v %+v", p, pull)
		require.True(t, g.Factor > 0 && g.Factor <= 1, "%v %+v: %v", p, pull, g)

		b := build([]Face{{Patch: p, Mu: 1}})
		sin, cos := math.Sincos(pull.Direction)
		eps := (pull.Arm - (b.origin.X*sin - b.origin.Y*cos)) / b.scale
		s := &search{body: b, ux: cos, uy: sin}
		s.sinT, s.cosT = math.Sincos(math.Atan2(eps, 1))
		l := b.least(math.Atan2(eps, 1), pull.Direction)
		calls += l.calls
		if l.cut {
			cut++
		}
		best := l.value
		u := l.at.vx*cos + l.at.vy*sin
		x, y := -(u-s.cosT)*s.sinT+(l.at.w-s.sinT)*s.cosT, -l.at.vx*sin+l.at.vy*cos
		for _, reach := range []float64{1e-5, 1e-3, 0.1, 3} {
			a := r.Float64() * 2 * math.Pi
			other := s.at(x+reach*math.Cos(a), y+reach*math.Sin(a)).f
			require.GreaterOrEqual(t, other, best*(1-1e-10), "%v %+v", p, pull)
		}
	}
	t.Logf("%d cases, %.1f evaluations each, %d by cutting planes", *cases, float64(calls)/float64(*cases), cut)
	assert.Less(t, cut, *cases/20)
}

// Pads shrunk to points make creases; a million-fold range of sizes is solved.
func TestTinyPads(t *testing.T) {
	for _, size := range []float64{1, 1e-2, 1e-4, 1e-5} {
		p := made(t)(Pads([]Pad{{size * mm, size * mm, Point{-10 * mm, 0}, 0.5}, {size * mm, size * mm, Point{10 * mm, 0}, 0.5}}))
		for _, e := range []float64{0.1, 5, 10, 200} {
			g, err := Solve(p, Pull{e * mm, math.Pi / 2})
			require.NoError(t, err)
			assert.InDelta(t, 1/(1+2*e/20), g.Factor, 0.06*size+1e-9, "size %g, arm %g", size, e)
		}
	}
}

func FuzzSolve(f *testing.F) {
	f.Add(uint64(1), 12.5, 0.7)
	f.Add(uint64(2), 1e9, 1.5707963267948966)
	f.Add(uint64(3), -1e-9, 3.0)
	f.Add(uint64(4), 0.0, 0.0)
	f.Fuzz(func(t *testing.T, seed uint64, arm, direction float64) {
		if math.IsNaN(arm) || math.Abs(arm) > 1e100 || math.IsNaN(direction) || math.Abs(direction) > 1e6 {
			t.Skip("not a pull")
		}
		r := rand.New(rand.NewPCG(seed, 0))
		p := randomPatch(r, r.IntN(5))
		g, err := Solve(p, Pull{arm * mm, direction})
		if err != nil || !(g.Factor > 0 && g.Factor <= 1) {
			t.Fatalf("%v arm %g direction %g: %v %v", p, arm, direction, g, err)
		}
	})
}

func BenchmarkSolve(b *testing.B) {
	for _, c := range []struct {
		name string
		p    Patch
	}{
		{"rectangle", rect(b, 25, 3, 0, 0)},
		{"rectangle opening both ways", rect(b, 25, 3, 5, 0.9)},
		{"disc", made(b)(Disc(20 * mm))},
		{"disc opening", moved(b, made(b)(Disc(20*mm)), 3, 5)},
		{"ring opening", moved(b, made(b)(Ring(20*mm, 12*mm)), 3, 6)},
		{"line", made(b)(Line(25 * mm))},
		{"two pads", twoPads(b, 0.7)},
	} {
		b.Run(c.name, func(b *testing.B) {
			i := 0.0
			for b.Loop() {
				i++
				if _, err := Solve(c.p, Pull{math.Mod(i, 40) * mm, i}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
