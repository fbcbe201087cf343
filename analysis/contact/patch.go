package contact

import (
	"errors"
	"fmt"
	"math"
)

type kind uint8

const (
	none kind = iota
	rectangle
	disc
	ring
	line
	pads
)

// Patch is a contact patch with its pressure. The zero value is no patch; the
// constructors make valid ones.
type Patch struct {
	kind   kind
	a, b   float64 // m: sides; outer and inner diameter; length
	centre Point   // m, centre of pressure
	pads   []Pad
}

// Pad is one of several even rectangles that share the clamp force.
type Pad struct {
	Width, Height float64 // m along x and y; both 0: a point
	At            Point   // m, its centre
	Share         float64 // of N
}

// Rectangle is a patch of width (along x) by height with even pressure.
func Rectangle(width, height float64) (Patch, error) {
	if !positive(width) || !positive(height) {
		return Patch{}, errors.New("this rectangle has no area: both sides must be above 0")
	}
	return sized(Patch{kind: rectangle, a: width, b: height})
}

// Disc is a round patch with even pressure.
func Disc(diameter float64) (Patch, error) {
	if !positive(diameter) {
		return Patch{}, errors.New("this disc has no area: the diameter must be above 0")
	}
	return sized(Patch{kind: disc, a: diameter})
}

// Ring is a round patch with a round hole and even pressure.
func Ring(outer, inner float64) (Patch, error) {
	switch {
	case !positive(outer) || !positive(inner):
		return Patch{}, errors.New("this ring has no area: both diameters must be above 0")
	case inner >= outer:
		return Patch{}, errors.New("this ring has no area: write the outer diameter first")
	}
	return sized(Patch{kind: ring, a: outer, b: inner})
}

// Line is a contact without width, along x, with even pressure.
func Line(length float64) (Patch, error) {
	if !positive(length) {
		return Patch{}, errors.New("this line has no length: it must be above 0")
	}
	return sized(Patch{kind: line, a: length})
}

// Pads is a set of even rectangles. Shares must be above 0 and add up to 1,
// within 1e-6.
func Pads(list []Pad) (Patch, error) {
	if len(list) == 0 {
		return Patch{}, errors.New("pads: none given")
	}
	p := Patch{kind: pads, pads: append([]Pad(nil), list...)}
	total := 0.0
	for i, pad := range p.pads {
		switch {
		case !positive(pad.Share):
			return Patch{}, fmt.Errorf("pad %d: share %.6g: must be above 0", i+1, pad.Share)
		case pad.Width == 0 && pad.Height == 0:
		case !positive(pad.Width) || !positive(pad.Height):
			return Patch{}, fmt.Errorf("pad %d has no area: both sides must be above 0", i+1)
		}
		if !finite(pad.At.X) || !finite(pad.At.Y) {
			return Patch{}, fmt.Errorf("pad %d: its place must be finite", i+1)
		}
		total += pad.Share
	}
	if !(math.Abs(total-1) <= 1.0001e-6) {
		return Patch{}, fmt.Errorf("pads: the shares sum to %.6g, not to 1", total)
	}
	for i := range p.pads {
		p.pads[i].Share /= total
		p.centre.X += p.pads[i].Share * p.pads[i].At.X
		p.centre.Y += p.pads[i].Share * p.pads[i].At.Y
	}
	if p.extent() == 0 {
		return Patch{}, errors.New("pads: a single point has no extent")
	}
	return sized(p)
}

// sized refuses sizes whose squares or ratios leave the range of a float64.
func sized(p Patch) (Patch, error) {
	small, large := p.extremes()
	if large > 1e6 || small < 1e-9 {
		return Patch{}, fmt.Errorf("patch sizes must lie between 1e-9 m and 1e6 m")
	}
	return p, nil
}

// extremes gives the smallest and the largest length of the patch.
func (p Patch) extremes() (small, large float64) {
	if p.kind != pads {
		if p.b == 0 {
			return p.a, p.a
		}
		return math.Min(p.a, p.b), math.Max(p.a, p.b)
	}
	small, large = p.extent(), p.extent()
	for _, pad := range p.pads {
		if pad.Width > 0 {
			small = math.Min(small, math.Min(pad.Width, pad.Height))
		}
	}
	return small, large
}

// extent is a length about as large as the set of pads.
func (p Patch) extent() float64 {
	e := 0.0
	for _, pad := range p.pads {
		e = math.Max(e, math.Abs(pad.At.X)+math.Abs(pad.At.Y)+pad.Width+pad.Height)
		e = math.Max(e, math.Hypot(pad.At.X-p.centre.X, pad.At.Y-p.centre.Y))
	}
	return e
}

// WithPressureCentre moves the centre of pressure to c, in m from the geometric
// centre. The pressure becomes a plane, and where that would pull, the contact
// opens. It does so for a rectangle in either or both directions, for a disc, a
// ring and a line. Pads take their centre from their shares.
// Errors: a centre on or beyond the outline, off a line, or given for pads.
func (p Patch) WithPressureCentre(c Point) (Patch, error) {
	if err := p.check(); err != nil {
		return Patch{}, err
	}
	if !finite(c.X) || !finite(c.Y) {
		return Patch{}, errors.New("centre of pressure: must be finite")
	}
	inside := true
	switch p.kind {
	case pads:
		return Patch{}, errors.New("centre of pressure: pads have theirs from their shares; leave it out")
	case rectangle:
		inside = math.Abs(c.X) < p.a/2 && math.Abs(c.Y) < p.b/2
	case disc, ring:
		inside = math.Hypot(c.X, c.Y) < p.a/2
	case line:
		inside = math.Abs(c.X) < p.a/2 && c.Y == 0
	}
	if !inside {
		return Patch{}, fmt.Errorf("centre of pressure (%.6g mm, %.6g mm) lies outside the patch", c.X*1e3, c.Y*1e3)
	}
	if p.edgeDistance(c) < 1e-6 {
		return Patch{}, fmt.Errorf("centre of pressure (%.6g mm, %.6g mm) lies on the edge of the patch: nothing is left in contact", c.X*1e3, c.Y*1e3)
	}
	p.centre = c
	return p, nil
}

// edgeDistance is how far c lies from the outline, as a share of the size.
func (p Patch) edgeDistance(c Point) float64 {
	switch p.kind {
	case rectangle:
		return math.Min(0.5-math.Abs(c.X)/p.a, 0.5-math.Abs(c.Y)/p.b)
	case line:
		return 0.5 - math.Abs(c.X)/p.a
	}
	return 0.5 - math.Hypot(c.X, c.Y)/p.a
}

// PressureCentre is the centre of pressure in m from the geometric centre.
func (p Patch) PressureCentre() Point { return p.centre }

func (p Patch) check() error {
	if p.kind == none {
		return errors.New("contact patch: not given")
	}
	return nil
}

// Area is the area of the whole patch in m², or 0 for a line and points.
func (p Patch) Area() float64 {
	switch p.kind {
	case rectangle:
		return p.a * p.b
	case disc, ring:
		return math.Pi / 4 * (p.a - p.b) * (p.a + p.b)
	case pads:
		sum := 0.0
		for _, pad := range p.pads {
			sum += pad.Width * pad.Height
		}
		return sum
	}
	return 0
}

// Touching is the share of the patch that stays in contact: 1 until the centre
// of pressure leaves the kern.
func (p Patch) Touching() float64 {
	switch p.kind {
	case rectangle:
		return planeOnRectangle(p.a, p.b, p.centre).fraction
	case disc, ring:
		return planeOnRound(p.a/2, p.b/2, p.centre).fraction
	case line:
		return wedge(p.a, p.centre.X).fraction
	}
	return 1
}

// Peak is the greatest pressure of a rectangle over its mean pressure N/area:
// 1 when even, 2 at the edge of the kern, more when the contact opens. For
// pads it is that of the most loaded one; 0 where there is no area.
func (p Patch) Peak() float64 {
	switch p.kind {
	case rectangle:
		return planeOnRectangle(p.a, p.b, p.centre).peak
	case disc, ring:
		return planeOnRound(p.a/2, p.b/2, p.centre).peak
	case pads:
		most := 0.0
		for _, pad := range p.pads {
			if pad.Width == 0 {
				return 0
			}
			most = math.Max(most, pad.Share/(pad.Width*pad.Height))
		}
		return most * p.Area()
	}
	return 0
}
