package simrig

import (
	"math"
	"math/rand/v2"
)

const (
	referenceSpeed = 1e-3 // m/s at which friction coefficients are stated
	slowest        = 1e-7 // m/s, v0 of the rate law: slower sliding counts as none
)

// grip is the state of the friction at the jaws. See the package comment for
// the law.
type grip struct {
	Jaws
	capacity float64 // N: faces · clamp · grip factor
	a        float64 // N: capacity · RateEffect
	below    float64 // friction coefficient by which the threshold lies under mu
	slid     float64 // m
	bond     float64 // φ: 1 rested, 0 worn down by sliding
	rate     float64 // m/s of sliding
	rough    []float64
}

func newGrip(j Jaws, rng *rand.Rand) grip {
	if j.Faces == 0 {
		j.Faces = 2
	}
	if j.GripFactor == 0 {
		j.GripFactor = 1
	}
	if j.Weakening == 0 {
		j.Weakening = 20e-6
	}
	if j.RoughOver == 0 {
		j.RoughOver = 0.3e-3
	}
	g := grip{Jaws: j, bond: 1}
	g.capacity = float64(j.Faces) * j.Clamp * j.GripFactor
	g.a = g.capacity * j.RateEffect
	g.below = j.RateEffect * math.Log1p(referenceSpeed/slowest)
	if j.Rough > 0 {
		// The first value is zero: where the part was clamped, friction is what
		// the coefficients say.
		g.rough = make([]float64, 256)
		for i := 1; i < len(g.rough); i++ {
			const keep = 0.5
			g.rough[i] = keep*g.rough[i-1] + math.Sqrt(1-keep*keep)*j.Rough*rng.NormFloat64()
		}
	}
	return g
}

// threshold is the force in N below which nothing slides.
func (g *grip) threshold() float64 {
	s := g.capacity * (g.Kinetic + (g.Static-g.Kinetic)*g.bond - g.below)
	if g.rough != nil {
		p := math.Abs(g.slid) / g.RoughOver
		i := int(p)
		f := p - float64(i)
		n := len(g.rough)
		s *= 1 + g.rough[i%n]*(1-f) + g.rough[(i+1)%n]*f
	}
	s += g.Hardening * math.Abs(g.slid)
	return max(0, s) * g.cover()
}

// cover is the share of the contact that is still between the jaws.
func (g *grip) cover() float64 {
	if g.Leaves == 0 {
		return 1
	}
	const from = 0.6 // of the way out
	return min(1, max(0, (g.Leaves-math.Abs(g.slid))/((1-from)*g.Leaves)))
}

// slide lets the surfaces slide for one step, the part standing at x, and
// updates the bond. The step is implicit, so that it is stable however stiff
// the contact is.
func (g *grip) slide(x, dt float64) {
	f := g.Contact * (x - g.slid)
	over := math.Abs(f) - g.threshold()
	g.rate = 0
	if over > 0 {
		g.rate = math.Copysign(slidingSpeed(over, g.a*g.cover(), g.Contact*dt), f)
		g.slid += g.rate * dt
	}
	heal := 0.0
	if g.Healing > 0 {
		heal = dt / g.Healing
	}
	g.bond = (g.bond + heal) / (1 + heal + math.Abs(g.rate)*dt/g.Weakening)
}

// slidingSpeed solves over = relief·w + a·ln(1+w/v0) for the speed w.
//
// With y = ln(1+w/v0) the right side is convex and growing. Each of its terms
// alone gives a y that is too large; Newton's iteration from there comes down
// to the root without passing it.
func slidingSpeed(over, a, relief float64) float64 {
	if a <= over*1e-9 {
		return over / relief
	}
	y := min(over/a, math.Log1p(over/(relief*slowest)))
	for range 8 {
		e := relief * slowest * math.Exp(y)
		d := (e - relief*slowest + a*y - over) / (e + a)
		y -= d
		if d < 1e-6 {
			break
		}
	}
	return slowest * math.Expm1(max(0, y))
}
