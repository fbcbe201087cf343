// Package contact estimates how much of its friction a clamped face can bring
// to bear against a pull: the grip factor.
//
// One jaw face is a rigid flat patch with pressure p ≥ 0 that adds up to N,
// and Coulomb friction mu everywhere. The part moves as a rigid body in the
// plane of the face; the load that starts it is F = phi·mu·N. phi is 1 exactly
// when the line of the pull runs through the centre of pressure, and less for
// every offset or twist.
//
// Convention: origin at the geometric centre of the patch, x along the jaw, y
// up; the pull points along u = (cos a, sin a); its arm e is the signed moment
// arm about the origin, counter-clockwise positive.
//
// How: among all motions for which the load does unit work, the one that
// really happens dissipates least (upper-bound theorem). The dissipation is
// convex in the two numbers that are left of the motion, and its value,
// gradient and second derivatives are closed expressions for straight edges
// and circular arcs; see region.go.
//
// It assumes rigid faces, one mu at every point and pressure, and gross slip.
// That fails for rubber (mu falls as pressure rises, the pad shears first), for
// serrated jaws (teeth dig in) and for worn or dirty strips.
package contact

import (
	"errors"
	"fmt"
	"math"

	"griptrial/analysis/trial"
)

// Point is a place in the plane of the face, in m.
type Point struct{ X, Y float64 }

// Pull is the line along which the part is pulled.
type Pull struct {
	Arm       float64 // m, signed, about the geometric centre of the patch
	Direction float64 // rad from +x
}

// Grip is what a patch can do against a pull.
type Grip struct {
	Factor float64 // phi = F/(mu·N), 0 < phi <= 1
	Centre Point   // m, where the part turns about; meaningless for a Shift
	Shift  bool    // the part does not turn
}

// ErrTooFar says that the arm is so large that the grip factor is nothing.
var ErrTooFar = errors.New("the arm is too large: the grip factor is too small to be a number")

// Solve finds the grip factor of one face.
//
// It is exact to better than 1e-8 for every valid patch and pull. Where the
// motion is not unique (a line pulled square to itself, pads pulled across)
// the factor still is, and Centre is one of the possible centres.
// Errors: a patch that was not made by this package's constructors, an arm or
// direction that is not a finite number, ErrTooFar.
// Source: upper-bound theorem of limit analysis with Coulomb friction at given
// pressure; the closed integrals are derived in region.go. Tested against
// values found by quadrature to 25 digits elsewhere, published bolt-group
// results, and the equilibrium equations.
func Solve(p Patch, pull Pull) (Grip, error) {
	if err := p.check(); err != nil {
		return Grip{}, err
	}
	return solve([]Face{{Patch: p, Mu: 1}}, pull)
}

// Face is one of several faces that slide at once, in common coordinates.
type Face struct {
	Patch  Patch
	Mu     float64
	Offset Point // m, of the patch's centre from the common origin
}

// Faces finds the greatest load of a rigid part that several faces grip with
// the same normal force N each: F/N = min over motions of Σ mu_i·D_i. The pull's
// arm is about the common origin. Grip.Factor is F/(N·Σ mu_i).
//
// For unlike faces this is more than the sum of each face's own limit.
// Errors: those of Solve, no face, a mu that is not above 0.
func Faces(faces []Face, pull Pull) (Grip, error) {
	if len(faces) == 0 {
		return Grip{}, errors.New("no face to grip with")
	}
	for i, f := range faces {
		if err := f.Patch.check(); err != nil {
			return Grip{}, fmt.Errorf("face %d: %w", i+1, err)
		}
		if !positive(f.Mu) {
			return Grip{}, fmt.Errorf("face %d: friction must be above 0, got %.6g", i+1, f.Mu)
		}
		if !finite(f.Offset.X) || !finite(f.Offset.Y) {
			return Grip{}, fmt.Errorf("face %d: its place must be finite", i+1)
		}
	}
	return solve(faces, pull)
}

// OffMiddle is F/(mu·N) of a straight pull that acts off in m away from the
// mid-plane between two jaws gap in m apart: the nearer face carries the share
// 1/2 + |off|/gap and slips first, so a pull at the middle gives 2 and any other
// less. Once one face has slipped the part turns, so this is the safe value.
// Errors: a gap that is not above 0, a pull from outside the jaws.
func OffMiddle(off, gap float64) (float64, error) {
	if !positive(gap) {
		return 0, fmt.Errorf("gap between the jaws: must be above 0, got %.6g m", gap)
	}
	if !(math.Abs(off) <= gap/2) {
		return 0, fmt.Errorf("the pull acts %.6g m from the middle, outside the jaws", off)
	}
	return 1 / (0.5 + math.Abs(off)/gap), nil
}

// TwistRadius is the arm in m at which the friction of a patch resists a pure
// twist: M = mu·N·radius. The part then turns about centre, the geometric
// median of the pressure.
// Errors: a patch that was not made by this package's constructors.
func TwistRadius(p Patch) (radius float64, centre Point, err error) {
	if err := p.check(); err != nil {
		return 0, Point{}, err
	}
	b := build([]Face{{Patch: p, Mu: 1}})
	m := b.least(math.Pi/2, 0)
	return m.value * b.scale, b.centre(m.at), nil
}

// FactorOf is the grip factor of a trial's way of pulling: 1 for a straight
// pull; the twist radius over the arm for a twist, where only a couple acts;
// the solution of Solve for a pull at an offset.
// Errors: those of Parse and Solve; a twist or an offset without a patch or an
// arm; a way of pulling that is not known.
func FactorOf(s trial.PullSetup) (float64, error) {
	switch s.How {
	case "", "straight":
		return 1, nil
	case "twist", "offset":
	default:
		return 0, fmt.Errorf("way of pulling %q: must be straight, twist or offset", s.How)
	}
	if s.Patch == "" {
		return 0, fmt.Errorf("a pull by %s needs the contact patch", s.How)
	}
	p, err := Parse(s.Patch)
	if err != nil {
		return 0, err
	}
	if s.How == "offset" {
		g, err := Solve(p, Pull{s.Arm, s.Direction})
		return g.Factor, err
	}
	if s.Arm == 0 || !finite(s.Arm) {
		return 0, fmt.Errorf("a pull by twist needs an arm other than 0, got %.6g m", s.Arm)
	}
	r, _, err := TwistRadius(p)
	if err != nil {
		return 0, err
	}
	if r/math.Abs(s.Arm) < tiny {
		return 0, ErrTooFar
	}
	return r / math.Abs(s.Arm), nil
}

// tiny is the smallest normal number: below it a factor has lost its digits.
const tiny = 0x1p-1022

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// positive is false for NaN and infinities too.
func positive(v float64) bool { return v > 0 && !math.IsInf(v, 0) }
