// Package cutting estimates the force of a milling cut on the part, from the
// specific cutting force of its material.
//
// The tool moves along its feed x' relative to the part, z points to the
// spindle, y' left of the feed; the spindle turns clockwise seen from above and
// the angle p of a tooth runs clockwise from +y'. One tooth of width b that
// takes the chip h meets
//
//	Ft = kc11·b·h^(1−mc) (h and b in mm),  Fr = kr·Ft,  Fa = ka·Ft
//
// and presses the part with
//
//	x' = Ft·cos p + Fr·sin p,  y' = −Ft·sin p + Fr·cos p,  z = +Fa
//
// where h = f·sin p for the chip f that the tooth takes in feed direction, and a
// right-hand helix lifts the part. Holding is decided by the peak of the turn,
// not by its mean.
package cutting

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"griptrial/analysis/trial"
)

// Vector is a force in N along the jaws (X), across them (Y) and up (Z), or in
// the tool's frame where a comment says so.
type Vector struct{ X, Y, Z float64 }

// Tool is a cut ready to be turned.
type Tool struct {
	kc11, mc   float64
	depth      float64   // m
	chips      []float64 // m, in feed direction, of each tooth in the order they pass
	arcs       [][2]float64
	kr, ka     float64
	cosD, sinD float64
	factor     float64
}

// NewTool reads a described cut. The force carries the upper ends of the
// dullness and dynamic ranges and the safety factor, see FactorsOf.
//
// Unless a runout was measured, one tooth does all the work: its chip is the
// feed per turn. That is how a hand-ground cutter and one with teeth uneven by
// more than the feed really cut, and it is the careful case.
// Errors: a size, feed or kc11 that is not above 0, mc outside 0 to 1, an
// engagement that is none.
func NewTool(c trial.Cut) (*Tool, error) {
	switch {
	case !positive(c.Kc11):
		return nil, errors.New("specific cutting force kc11: not given (see the table of materials, or measure it)")
	case !(c.Mc >= 0 && c.Mc < 1):
		return nil, fmt.Errorf("exponent mc %.4g: must be 0 or more and below 1", c.Mc)
	case !positive(c.Diameter):
		return nil, errors.New("cutter diameter: must be above 0")
	case c.Teeth < 1:
		return nil, errors.New("teeth: at least one cuts")
	case !positive(c.FeedTooth):
		return nil, errors.New("feed per tooth: must be above 0")
	case !positive(c.Depth):
		return nil, errors.New("no engagement: the depth of cut must be above 0")
	case !(c.Runout >= 0) || math.IsInf(c.Runout, 0):
		return nil, errors.New("runout: must not be below 0")
	case !(c.Radial >= 0) || math.IsInf(c.Radial, 0) || math.IsNaN(c.Axial) || math.IsInf(c.Axial, 0):
		return nil, errors.New("radial and axial shares must be finite, radial not below 0")
	}
	arcs, err := Arcs(c)
	if err != nil {
		return nil, err
	}
	f, err := FactorsOf(c)
	if err != nil {
		return nil, err
	}
	t := &Tool{kc11: c.Kc11, mc: c.Mc, depth: c.Depth, arcs: arcs, kr: c.Radial, ka: c.Axial, factor: f.Worst()}
	if c.Radial == 0 {
		t.kr = DefaultRadial
	}
	t.sinD, t.cosD = math.Sincos(c.Direction)
	t.chips = Chips(c)
	return t, nil
}

// DefaultRadial is Fr/Ft where none is given: 0.3 to 0.6 for sharp tools, up to
// 1 and more for dull ones (memory).
const DefaultRadial = 0.5

// Arcs gives the ranges of tooth angle in rad over which a tooth cuts: the half
// turn of a slot; 0 to acos(1 − 2·width/D) conventional; its mirror for climb;
// both flanks, |cos p| > neck/D, for a T-slot cutter over a slot already cut.
// Errors: no engagement, or a mode that is not known.
func Arcs(c trial.Cut) ([][2]float64, error) {
	switch c.Mode {
	case "", "slot":
		return [][2]float64{{0, math.Pi}}, nil
	case "conventional", "climb":
		if !(c.Width > 0 && c.Width <= c.Diameter) {
			return nil, fmt.Errorf("no engagement: the width of cut must be above 0 and at most the cutter's diameter (%.4g mm), got %.4g mm", c.Diameter*1e3, c.Width*1e3)
		}
		arc := math.Acos(1 - 2*c.Width/c.Diameter)
		if c.Mode == "climb" {
			return [][2]float64{{math.Pi - arc, math.Pi}}, nil
		}
		return [][2]float64{{0, arc}}, nil
	case "t-slot":
		if !(c.Neck >= 0 && c.Neck < c.Diameter) {
			return nil, fmt.Errorf("no engagement: the slot already cut (neck) must be narrower than the cutter (%.4g mm), got %.4g mm", c.Diameter*1e3, c.Neck*1e3)
		}
		flank := math.Acos(c.Neck / c.Diameter)
		return [][2]float64{{0, flank}, {math.Pi - flank, math.Pi}}, nil
	}
	return nil, fmt.Errorf("mode of cut %q: must be slot, conventional, climb or t-slot", c.Mode)
}

// Chips is what each tooth takes in feed direction, in m. Without a measured
// runout the first takes all of it. With a runout, teeth stand at
// runout·cos(2π·i/z + t) and the phase t is the one with the thickest chip.
func Chips(c trial.Cut) []float64 {
	if c.Runout == 0 || c.Teeth == 1 {
		chips := make([]float64, c.Teeth)
		chips[0] = float64(c.Teeth) * c.FeedTooth
		return chips
	}
	var worst []float64
	heights := make([]float64, c.Teeth)
	const phases = 360
	for k := range phases {
		for i := range heights {
			heights[i] = c.Runout * math.Cos(2*math.Pi*(float64(i)/float64(c.Teeth)+float64(k)/phases))
		}
		if chips := UnevenChips(c.FeedTooth, heights); worst == nil || slices.Max(chips) > slices.Max(worst) {
			worst = chips
		}
	}
	return worst
}

// UnevenChips is what teeth of uneven height take, in m, at the feed per tooth
// in m; tooth i follows tooth i − 1:
//
//	chip_i = max(0, min over k = 1..z of [k·feed + height_i − height_(i−k)])
//
// The chips add up to z·feed.
func UnevenChips(feed float64, heights []float64) []float64 {
	z := len(heights)
	chips := make([]float64, z)
	for i := range chips {
		least := math.Inf(1)
		for k := 1; k <= z; k++ {
			least = math.Min(least, float64(k)*feed+heights[i]-heights[((i-k)%z+z)%z])
		}
		chips[i] = math.Max(0, least)
	}
	return chips
}

// SpecificForce is kc = kc11·h^(−mc) in Pa for a chip of h in m; kc11 in Pa
// holds for a chip of 1 mm.
func SpecificForce(kc11, mc, h float64) float64 { return kc11 * math.Pow(h*1e3, -mc) }

// Tangential is the cutting force in N of one tooth with the chip h and the
// width b in m, without any factor. No chip, no force.
func (t *Tool) Tangential(h float64) float64 {
	if h <= 0 {
		return 0
	}
	return SpecificForce(t.kc11, t.mc, h) * t.depth * h
}

// chip is what a tooth at the angle p takes, 0 outside the arcs.
func (t *Tool) chip(feed, p float64) float64 {
	p = math.Mod(p, 2*math.Pi)
	if p < 0 {
		p += 2 * math.Pi
	}
	for _, a := range t.arcs {
		if p >= a[0] && p <= a[1] {
			return feed * math.Sin(p)
		}
	}
	return 0
}

// Bare is the force on the part in the tool's frame (x' feed, y' left of it)
// without factors, when the first tooth stands at the angle p in rad.
func (t *Tool) Bare(p float64) Vector {
	var f Vector
	for i, feed := range t.chips {
		at := p - 2*math.Pi*float64(i)/float64(len(t.chips))
		ft := t.Tangential(t.chip(feed, at))
		if ft == 0 {
			continue
		}
		sin, cos := math.Sincos(at)
		f.X += ft * (cos + t.kr*sin)
		f.Y += ft * (t.kr*cos - sin)
		f.Z += ft * t.ka
	}
	return f
}

// Force is the force on the part along the jaws, across them and up, with all
// factors, when the first tooth stands at the angle p.
func (t *Tool) Force(p float64) Vector {
	f := t.Bare(p)
	return Vector{
		t.factor * (f.X*t.cosD - f.Y*t.sinD),
		t.factor * (f.X*t.sinD + f.Y*t.cosD),
		t.factor * f.Z,
	}
}

// Worst is the angle in rad over one turn at which of is greatest, and its
// value there: a grid of half degrees and of all angles where a tooth enters
// or leaves, refined by golden section. bound is never below of and quick to
// have: where it stays below what was found already, of is not asked. nil: it
// always is.
func (t *Tool) Worst(of, bound func(Vector) float64) (angle, value float64) {
	const step = math.Pi / 360
	angles := make([]float64, 0, 800)
	for i := range 720 {
		angles = append(angles, float64(i)*step)
	}
	for i := range t.chips {
		for _, a := range t.arcs {
			for _, end := range a {
				angles = append(angles, end+2*math.Pi*float64(i)/float64(len(t.chips)))
			}
		}
	}
	if bound == nil {
		bound = func(Vector) float64 { return math.Inf(1) }
	}
	bounds, first := make([]float64, len(angles)), 0
	for i, p := range angles {
		if bounds[i] = bound(t.Force(p)); bounds[i] > bounds[first] {
			first = i
		}
	}
	at := func(p float64) float64 { return of(t.Force(p)) }
	angle, value = angles[first], at(angles[first])
	for i, p := range angles {
		if bounds[i] <= value {
			continue
		}
		if v := at(p); v > value {
			angle, value = p, v
		}
	}
	// At a maximum an angle off by 1e-6 changes the value by 1e-12 of itself.
	lo, hi := angle-step, angle+step
	const g = 0.6180339887498949
	a, b := hi-g*(hi-lo), lo+g*(hi-lo)
	va, vb := at(a), at(b)
	for hi-lo > 1e-6 {
		if va > vb {
			hi, b, vb = b, a, va
			a = hi - g*(hi-lo)
			va = at(a)
		} else {
			lo, a, va = a, b, vb
			b = lo + g*(hi-lo)
			vb = at(b)
		}
	}
	if v := math.Max(va, vb); v > value {
		value = v
		if angle = a; vb > va {
			angle = b
		}
	}
	return angle, value
}

// Mean is the mean force over a turn in the tool's frame, without factors. It
// says nothing about holding; it is the side load on the machine.
func (t *Tool) Mean() Vector {
	const n = 20000
	var f Vector
	for i := range n {
		v := t.Bare(2 * math.Pi * (float64(i) + 0.5) / n)
		f.X += v.X / n
		f.Y += v.Y / n
		f.Z += v.Z / n
	}
	return f
}

func positive(v float64) bool { return v > 0 && !math.IsInf(v, 0) }
