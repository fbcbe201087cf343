package contact

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mathext"
)

// dissipation of turning about c with unit turning rate, in units of the patch.
func dissipation(p Patch, c Point) float64 {
	b := build([]Face{{Patch: p, Mu: 1}})
	x, y := (c.X-b.origin.X)/b.scale, (c.Y-b.origin.Y)/b.scale
	var s sums
	for _, e := range b.elements {
		e.add(motion{y, -x, 1}, &s)
	}
	return s.d * b.scale
}

// The corner potentials of a rectangle, an independent way to the same
// integral: G = Int Int r and Hx = Int Int x·r from the corner.
func cornerG(x, y float64) float64 {
	r := math.Hypot(x, y)
	return x*y*r/3 + (math.Pow(x, 3)*math.Asinh(y/math.Abs(x))+math.Pow(y, 3)*math.Asinh(x/math.Abs(y)))/6
}

func cornerH(x, y float64) float64 {
	r := math.Hypot(x, y)
	return (y*r*r*r/4 + 3*x*x*y*r/8 + 3.0/8*math.Pow(x, 4)*math.Asinh(y/math.Abs(x)) - math.Pow(math.Abs(y), 3)*y/4) / 3
}

// Int p·r over a rectangle with a plane pressure, from corner potentials.
func cornerDissipation(a, b float64, p plane, c Point) float64 {
	x1, x2, y1, y2 := -a/2-c.X, a/2-c.X, -b/2-c.Y, b/2-c.Y
	at := func(f func(x, y float64) float64) float64 { return f(x2, y2) - f(x1, y2) - f(x2, y1) + f(x1, y1) }
	return p.at(c.X, c.Y)*at(cornerG) + p.gx*at(cornerH) + p.gy*at(func(x, y float64) float64 { return cornerH(y, x) })
}

func TestRectangleAgainstCornerPotentials(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for range 2000 {
		a, b := 1+r.Float64()*25, 1+r.Float64()*25
		p := rect(t, a, b, 0, 0)
		if r.IntN(2) == 0 {
			x := (r.Float64() - 0.5) * a / 3
			p = moved(t, p, x, (1-6*math.Abs(x)/a)*b/6*(2*r.Float64()-1))
		}
		c := Point{r.NormFloat64() * a * mm, r.NormFloat64() * b * mm}
		q := planeOnRectangle(p.a, p.b, p.centre)
		assert.InEpsilon(t, cornerDissipation(p.a, p.b, q.plane.moved(p.centre, 1), c), dissipation(p, c), 1e-11, "%v about %v", p, c)
	}
}

// Complete elliptic integrals for a disc under even pressure, c at the
// distance k = zR from its centre.
func discDissipation(radius, z float64) float64 {
	k := 4.0 / 9 * math.Pow(radius, 3) / (math.Pi * radius * radius)
	if z < 1 {
		return k * ((7+z*z)*mathext.CompleteE(z*z) - 4*(1-z*z)*mathext.CompleteK(z*z))
	}
	m := 1 / (z * z)
	return k * (z*(z*z+7)*mathext.CompleteE(m) - (z*z-1)*(z*z+3)/z*mathext.CompleteK(m))
}

func TestDiscAgainstEllipticForm(t *testing.T) {
	p := made(t)(Disc(20 * mm))
	for _, z := range []float64{0.01, 0.29, 0.31, 0.7, 0.999, 1 - 1e-9, 1 + 1e-9, 1.001, 1.5, 3.9, 5.9} {
		c := Point{z * 10 * mm * 0.6, -z * 10 * mm * 0.8}
		assert.InEpsilon(t, discDissipation(10*mm, z), dissipation(p, c), 2e-12, "z %g", z)
	}
	assert.InEpsilon(t, 32.0/9*10*mm/math.Pi, dissipation(p, Point{10 * mm, 0}), 1e-13, "on the rim")
}

func TestLineAgainstItsForm(t *testing.T) {
	p := made(t)(Line(25 * mm))
	form := func(x, h float64) float64 {
		f := func(u float64) float64 { return (u*math.Hypot(u, h) + h*h*math.Asinh(u/math.Abs(h))) / 2 }
		return (f(12.5*mm-x) - f(-12.5*mm-x)) / (25 * mm)
	}
	for _, c := range []Point{{0, 1 * mm}, {3 * mm, -1e-6}, {40 * mm, 0.1 * mm}, {12.5 * mm, 5 * mm}, {-20 * mm, -60 * mm}} {
		assert.InEpsilon(t, form(c.X, c.Y), dissipation(p, c), 1e-12)
	}
}

// sweep integrates p·r over a convex polygon by rays from c: along each ray in
// closed form, over the angle by quadrature between the corners. It shares no
// formula with the package.
func sweep(outline []Point, p plane, c Point) (d, fx, fy float64) {
	var angles []float64
	for _, q := range outline {
		angles = append(angles, math.Atan2(q.Y-c.Y, q.X-c.X))
	}
	for i, a := range angles {
		b := angles[(i+1)%len(angles)]
		turn := math.Remainder(b-a, 2*math.Pi)
		p1, p2 := outline[i], outline[(i+1)%len(outline)]
		// The ray to the edge p1-p2; edges seen from behind subtract.
		integrate := func(power int) float64 {
			return quad.Fixed(func(u float64) float64 {
				phi := a + turn*u*u*(3-2*u)
				sin, cos := math.Sincos(phi)
				ex, ey := p2.X-p1.X, p2.Y-p1.Y
				rho := ((p1.X-c.X)*ey - (p1.Y-c.Y)*ex) / (cos*ey - sin*ex)
				pc, g := p.at(c.X, c.Y), p.gx*cos+p.gy*sin
				w := turn * 6 * u * (1 - u)
				switch power {
				case 0:
					return w * (pc*rho*rho*rho/3 + g*math.Pow(rho, 4)/4)
				case 1:
					return w * cos * (pc*rho*rho/2 + g*rho*rho*rho/3)
				}
				return w * sin * (pc*rho*rho/2 + g*rho*rho*rho/3)
			}, 0, 1, 120, quad.Legendre{}, 0)
		}
		d += integrate(0)
		fx += integrate(1)
		fy += integrate(2)
	}
	return d, fx, fy
}

// Equilibrium: at the solution the friction of the turning face is a force
// along the pull of the size phi, with the moment phi·arm.
func TestEquilibriumOfRectangles(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	checked := 0
	for checked < 500 {
		a, b := 2+r.Float64()*20, 2+r.Float64()*20
		p := rect(t, a, b, (r.Float64()-0.5)*0.9*a, (r.Float64()-0.5)*0.9*b)
		arm, dir := r.NormFloat64()*15*mm, r.Float64()*2*math.Pi
		g, err := Solve(p, Pull{arm, dir})
		assert.NoError(t, err)
		if g.Shift || math.Hypot(g.Centre.X, g.Centre.Y) > 5*math.Max(a, b)*mm {
			continue
		}
		checked++
		q := planeOnRectangle(p.a, p.b, p.centre)
		d, ix, iy := sweep(q.outline, q.plane, Point{g.Centre.X - p.centre.X, g.Centre.Y - p.centre.Y})
		// Turning counter-clockwise moves the face along zhat x n; friction of
		// size p against it balances the pull.
		sense := math.Copysign(1, arm-(p.centre.X*math.Sin(dir)-p.centre.Y*math.Cos(dir)))
		fx, fy := -sense*iy, sense*ix
		moment := sense*d + g.Centre.X*fy - g.Centre.Y*fx
		assert.InDelta(t, g.Factor*math.Cos(dir), fx, 2e-6, "%v arm %g dir %g", p, arm, dir)
		assert.InDelta(t, g.Factor*math.Sin(dir), fy, 2e-6, "%v arm %g dir %g", p, arm, dir)
		assert.InDelta(t, g.Factor*arm, moment, 2e-6*(math.Abs(arm)+a*mm+b*mm), "%v arm %g dir %g", p, arm, dir)
	}
}

// A round patch that opens, against a polygon of many corners and the same
// plane pressure, through the other code path.
func TestOpenDiscAgainstPolygon(t *testing.T) {
	for _, at := range []Point{{4 * mm, 0}, {-3 * mm, 5 * mm}, {0, -9 * mm}} {
		p, err := made(t)(Disc(20 * mm)).WithPressureCentre(at)
		assert.NoError(t, err)
		q := planeOnRound(10*mm, 0, at)
		const n = 20000
		outline := make([]Point, 0, n)
		for i := range n {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
			outline = append(outline, Point{10 * mm * cos, 10 * mm * sin})
		}
		pressure := plane{q.p0, q.g * q.ux, q.g * q.uy}
		poly := region{pressure: pressure, outline: clip(outline, pressure), radius: 1}
		for _, c := range []Point{{0, 0}, {at.X, at.Y}, {1.01 * at.X, at.Y}, {2 * at.X, 2 * at.Y}, {10 * mm, 0}, {-15 * mm, 20 * mm}, {at.X, 12 * mm}} {
			assert.InEpsilon(t, poly.about(c).w, dissipation(p, c), 2e-7, "pressed at %v about %v", at, c)
		}
	}
}

// At the edge of the kern a disc just begins to open: both forms meet.
func TestDiscMeetsCapAtTheKern(t *testing.T) {
	for _, inner := range []float64{0, 6 * mm} {
		kern := (100*mm*mm + inner*inner) / (40 * mm)
		sin, cos := math.Sincos(0.7)
		make := func(f float64) Patch {
			p := made(t)(Disc(20 * mm))
			if inner > 0 {
				p = made(t)(Ring(20*mm, 2*inner))
			}
			p, err := p.WithPressureCentre(Point{f * kern * cos, f * kern * sin})
			assert.NoError(t, err)
			return p
		}
		whole, open := make(1-1e-10), make(1+1e-10)
		assert.Less(t, open.Touching(), 1.0)
		for _, c := range []Point{{0, 0}, {5 * mm, -2 * mm}, {10 * mm, 0}, {3 * mm, 11 * mm}, {40 * mm, 30 * mm}} {
			assert.InEpsilon(t, dissipation(whole, c), dissipation(open, c), 1e-9)
		}
	}
}

// The gradient and the second derivatives are those of the value.
func TestDerivatives(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for i := range 300 {
		b := build([]Face{{Patch: randomPatch(r, i%5), Mu: 1}})
		value := func(m motion) (s sums) {
			for _, e := range b.elements {
				e.add(m, &s)
			}
			return s
		}
		m := motion{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}
		const h = 1e-5
		s := value(m)
		x1, x0 := value(motion{m.vx + h, m.vy, m.w}), value(motion{m.vx - h, m.vy, m.w})
		y1, y0 := value(motion{m.vx, m.vy + h, m.w}), value(motion{m.vx, m.vy - h, m.w})
		w1, w0 := value(motion{m.vx, m.vy, m.w + h}), value(motion{m.vx, m.vy, m.w - h})
		if math.Max(s.hxx+s.hyy, s.hww) > 20 {
			continue // a small pad next to the centre: differences are too coarse
		}
		const tol = 1e-7
		assert.InDelta(t, (x1.d-x0.d)/(2*h), s.gx, tol)
		assert.InDelta(t, (y1.d-y0.d)/(2*h), s.gy, tol)
		assert.InDelta(t, (w1.d-w0.d)/(2*h), s.gw, tol)
		for _, d := range [][2]float64{
			{(x1.gx - x0.gx) / (2 * h), s.hxx}, {(x1.gy - x0.gy) / (2 * h), s.hxy}, {(y1.gy - y0.gy) / (2 * h), s.hyy},
			{(w1.gx - w0.gx) / (2 * h), s.hxw}, {(w1.gy - w0.gy) / (2 * h), s.hyw}, {(w1.gw - w0.gw) / (2 * h), s.hww},
		} {
			assert.InDelta(t, d[0], d[1], 2e-3*(1+math.Abs(d[1])), "element %d", i%5)
		}
	}
}

// The sliver, near and far forms of one integral agree where they meet.
func TestFormsMeet(t *testing.T) {
	for _, p := range []Patch{rect(t, 25, 3, 0, 1.4), rect(t, 25, 3, 8, 1.4), rect(t, 3, 25, 1.45, -7)} {
		b := build([]Face{{Patch: p, Mu: 1}})
		r := b.elements[0].(*region)
		assert.NotNil(t, r.sliver)
		for _, c := range []Point{{0.1, 0.01}, {0.3, -0.02}, {-1, 0.8}, {0, 0}, {0.01, 1}} {
			var s sums
			r.sliver.add(motion{c.Y, -c.X, 1}, &s)
			assert.InEpsilon(t, r.about(c).w, s.d, 1e-9)
		}
	}
	for i, q := range []Patch{rect(t, 25, 3, 0, 0), rect(t, 20, 20, 8, 3), made(t)(Disc(10 * mm)), made(t)(Ring(10*mm, 9*mm))} {
		r := build([]Face{{Patch: q, Mu: 1}}).elements[0].(*region)
		for _, d := range []float64{6, 8} {
			c := Point{r.middle.X + d*r.radius*0.6, r.middle.Y - d*r.radius*0.8}
			var s sums
			s.addNodes(motion{c.Y, -c.X, 1}, r.nodes(gauss8))
			assert.InEpsilon(t, r.about(c).w, s.d, 1e-12, "patch %d", i)
			s = sums{}
			c = Point{r.middle.X + 10*d*r.radius*0.6, r.middle.Y - 10*d*r.radius*0.8}
			s.addNodes(motion{c.Y, -c.X, 1}, r.nodes(gauss4))
			far := sums{}
			far.addNodes(motion{c.Y, -c.X, 1}, r.nodes(gauss8))
			assert.InEpsilon(t, far.d, s.d, 1e-14, "patch %d", i)
		}
	}
}
