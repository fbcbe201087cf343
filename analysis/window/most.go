package window

import (
	"fmt"
	"math"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// DefaultPeak is the greatest over the mean pressure where a part may sit a
// little high or low and nothing better is known.
const DefaultPeak = 1.7

// Limit is one way in which the part gives, and the clamp force in N at which
// it does, its safety included.
type Limit struct {
	Kind  string // "pressure", "buckling", "flex", "ring squeeze" or "ring bending"
	Force float64
	Text  string
}

// Limits lists what bounds the clamp force on a part, as far as it is described,
// lengths in words in the unit u:
//
//	pressure      half the yield on the gripped area, over the peak factor
//	buckling      a third of the buckling load of the floor or wall
//	flex          the bow of a blank gripped below its middle
//	ring          its squeeze, and half the yield in bending
//
// Plastics creep and mark well below their yield: hence the half.
func Limits(p trial.Part, u unit.Unit) []Limit {
	var list []Limit
	size := func(m float64) string { return fmt.Sprintf("%.3g %s", u.FromSI(m), u.Name) }
	if p.Yield > 0 {
		peak := p.Peak
		if peak == 0 {
			peak = DefaultPeak
		}
		list = append(list, Limit{"pressure", p.Yield / 2 * p.Length * p.Grip / peak,
			fmt.Sprintf("half the yield on %s x %s with a peak of %.3g times the mean", size(p.Length), size(p.Grip), peak)})
	}
	if p.Floor > 0 && p.Modulus > 0 {
		wide := p.FloorWide
		if wide == 0 {
			wide = p.Length
		}
		list = append(list, Limit{"buckling", BucklingLoad(p.Modulus, p.Yield, wide, p.Floor, p.Width, 1) / 3,
			fmt.Sprintf("a third of the buckling load of %s x %s over %s", size(wide), size(p.Floor), size(p.Width))})
	}
	if p.RingRadius > 0 && p.RingWall > 0 {
		squeeze, _, stress := Ring(p.RingRadius, p.RingWall, p.Length, p.Modulus, 1)
		if p.Flex > 0 && p.Modulus > 0 {
			list = append(list, Limit{"ring squeeze", p.Flex / squeeze, size(p.Flex) + " of squeeze across the ring"})
		}
		if p.Yield > 0 {
			list = append(list, Limit{"ring bending", p.Yield / 2 / stress, fmt.Sprintf("half the yield in the bent wall under the jaws, %s thick at the mean radius %s", size(p.RingWall), size(p.RingRadius))})
		}
		return list
	}
	if p.Flex > 0 && p.Modulus > 0 && p.Height > p.Grip {
		list = append(list, Limit{"flex", BowForce(p.Modulus, p.Length, p.Height, p.Width, p.Grip, p.Flex),
			size(p.Flex) + " of bow at mid-length"})
	}
	return list
}

// BucklingLoad is the force in N that buckles a strip of the given width w,
// thickness t and length (m) with the modulus and yield (Pa); k is 1 for pinned
// ends, 0.5 for built-in:
//
//	Euler      P = π²·E·w·t³/(12·(k·L)²)
//	parabola   P = w·t·s·(1 − s·λ²/(4π²·E)) below λ = k·L·√12/t = sqrt(2π²·E/s)
//
// Without a yield it is Euler's. Source: textbook column formulas (memory).
func BucklingLoad(modulus, yield, w, t, length, k float64) float64 {
	slender := k * length * math.Sqrt(12) / t
	if yield > 0 && slender < math.Sqrt(2*math.Pi*math.Pi*modulus/yield) {
		return w * t * yield * (1 - yield*slender*slender/(4*math.Pi*math.Pi*modulus))
	}
	return math.Pi * math.Pi * modulus * w * t * t * t / (12 * k * k * length * length)
}

// Bow is how far in m a blank of the given width, height and length between the
// jaws (m) bows when n newtons press e = (height − grip)/2 below its middle:
// e·(sec(sqrt(n/(E·I))·L/2) − 1), the secant formula; +Inf from the Euler load on.
func Bow(modulus, width, height, length, grip, n float64) float64 {
	e, root := bowParts(modulus, width, height, grip, n)
	if angle := root * length / 2; angle < math.Pi/2 {
		return e * (1/math.Cos(angle) - 1)
	}
	return math.Inf(1)
}

// BowForce is the force in N at which the blank bows by d: the inverse of Bow.
func BowForce(modulus, width, height, length, grip, d float64) float64 {
	e, root := bowParts(modulus, width, height, grip, 1)
	angle := math.Acos(e / (e + d))
	v := 2 * angle / (length * root)
	return v * v
}

func bowParts(modulus, width, height, grip, n float64) (e, root float64) {
	inertia := width * height * height * height / 12
	return (height - grip) / 2, math.Sqrt(n / (modulus * inertia))
}

// poisson is Poisson's ratio in Ring: 0.35 lies between metals (0.3) and
// plastics (0.4), and moves the squeeze of a ring of R = 3t by 1 % (memory).
const poisson = 0.35

// Ring is what n newtons across a diameter do to a ring of the mean radius r, wall
// t and width w (m) with the modulus (Pa): the squeeze and the growth of the other
// diameter in m, and the greatest stress under the jaws in Pa. With A = w·t,
// I = w·t³/12, al = I/(A·R²), be = 1.2·E·I/(G·A·R²), G = E/(2·(1 + 0.35)),
// k1 = 1 − al + be, k2 = 1 − al:
//
//	squeeze = (π·k1/4 − 2·k2²/π)·n·R³/(E·I)
//	growth  = (k1/2 − k2 + 2·k2²/π)·n·R³/(E·I)
//	stress  = M·(r_n − r_i)/(A·(R − r_n)·r_i),  M = n·R·k2/π,  r_n = t/ln(r_o/r_i)
//
// the last at the inner side under the jaws, where a curved beam carries most
// (Winkler). Where R is large against t they go over into the thin ring's
// (π/4 − 2/π), (2/π − 1/2) and n·R/π·6/(w·t²).
// Source: handbook form (memory), derived again from the energies of bending,
// hoop force, their coupling and shear; tested against that energy integrated
// numerically, and the stress against curved-beam factors of textbooks.
func Ring(r, t, w, modulus, n float64) (squeeze, growth, stress float64) {
	al := t * t / (12 * r * r)
	be := 1.2 * 2 * (1 + poisson) * al
	k1, k2 := 1-al+be, 1-al
	unit := n * r * r * r / (modulus * w * t * t * t / 12)
	inner := r - t/2
	neutral := t / math.Log((r+t/2)/inner)
	stress = n * r * k2 / math.Pi * (neutral - inner) / (w * t * (r - neutral) * inner)
	return (math.Pi*k1/4 - 2*k2*k2/math.Pi) * unit, (k1/2 - k2 + 2*k2*k2/math.Pi) * unit, stress
}
