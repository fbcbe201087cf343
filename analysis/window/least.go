// Package window finds, for each facing, the band of clamp force between the
// least that holds a described cut and the most that the part bears.
//
// Axes: x along the jaws, y across them (the clamp axis), z up; the faces stand
// at y = ± half the part's width; the tool's place is measured from the
// mid-point of the two patches. The part is held by two faces alike.
//
// These are estimates for comparing facings, not proof that a part is safely
// held.
package window

import (
	"errors"
	"fmt"
	"math"

	"griptrial/analysis/contact"
	"griptrial/analysis/cutting"
	"griptrial/analysis/trial"
)

// Load is a force in N at the tool with its moments in N·m about the mid-point
// of the two patches.
type Load struct {
	Force      cutting.Vector
	Mx, My, Mz float64
}

// LoadAt puts a force at the tool's place in the cut.
func LoadAt(f cutting.Vector, c trial.Cut) Load {
	return Load{f, c.Y*f.Z - c.Z*f.Y, c.Z*f.X - c.X*f.Z, c.X*f.Y - c.Y*f.X}
}

// FaceLoad is what the friction of one face has to carry.
type FaceLoad struct {
	Side      int     // +1 or -1: the face at y = ± half the width
	X, Z      float64 // N in the plane of the face
	Twist     float64 // N·m about the clamp axis
	Arm       float64 // m, of the force about the patch's centre
	Direction float64 // rad from +x
	Phi       float64 // grip factor; 0 for a pure twist
	Hold      float64 // N: friction needed, so the face needs Hold/mu + |Fy|
}

// Stage is one cut on the part as it is then.
type Stage struct {
	Name  string
	Cut   trial.Cut
	Part  trial.Part
	tool  *cutting.Tool
	patch contact.Patch
	radii float64 // twist radius of the patch, m
}

// NewStage checks a cut and a part.
// Errors: a size of the part that is missing, those of cutting.NewTool.
func NewStage(c trial.Cut, p trial.Part) (Stage, error) {
	s := Stage{Name: c.Stage, Cut: c, Part: p}
	for _, q := range []struct {
		name string
		v    float64
	}{{"length along the jaws", p.Length}, {"width between the jaws", p.Width}, {"grip", p.Grip}} {
		if !positive(q.v) {
			return s, fmt.Errorf("part: its %s must be given and above 0", q.name)
		}
	}
	if p.RingRadius > 0 && !(p.RingWall < 2*p.RingRadius) {
		return s, fmt.Errorf("part: a ring with a wall of %.4g mm at a mean radius of %.4g mm has no hole", p.RingWall*1e3, p.RingRadius*1e3)
	}
	var err error
	if s.patch, err = contact.Rectangle(p.Length, p.Grip); err != nil {
		return s, err
	}
	if s.radii, _, err = contact.TwistRadius(s.patch); err != nil {
		return s, err
	}
	if c.Kc11 == 0 {
		if m, ok := cutting.Lookup(p.Material); ok {
			c.Kc11, c.Mc = m.Kc11, m.Mc
			s.Cut = c
		}
	}
	s.tool, err = cutting.NewTool(c)
	return s, err
}

// Carry splits a load over both faces by the careful rule: even pressure, and
// friction does all of the tipping as couples over the width L of the part.
//
//	fx± = Fx/2 ∓ Mz/L,  fz± = Fz/2 ± Mx/L,  My/2 on each face
func (s Stage) Carry(l Load) ([2]FaceLoad, error) {
	var faces [2]FaceLoad
	for i, side := range []float64{1, -1} {
		f := FaceLoad{
			Side:  int(side),
			X:     l.Force.X/2 - side*l.Mz/s.Part.Width,
			Z:     l.Force.Z/2 + side*l.Mx/s.Part.Width,
			Twist: l.My / 2,
		}
		size := math.Hypot(f.X, f.Z)
		f.Direction = math.Atan2(f.Z, f.X)
		f.Arm = f.Twist / size
		if size <= 1e-9*math.Abs(f.Twist)/s.radii || size == 0 {
			f.Arm, f.Hold = math.Inf(1), math.Abs(f.Twist)/s.radii
			faces[i] = f
			continue
		}
		// From x to z the twist of the part counts the other way; on an even
		// rectangle the factor does not depend on it.
		g, err := contact.Solve(s.patch, contact.Pull{Arm: -f.Arm, Direction: f.Direction})
		if err != nil {
			return faces, err
		}
		f.Phi, f.Hold = g.Factor, size/g.Factor
		faces[i] = f
	}
	return faces, nil
}

// Demand is the least clamp force and what asks for it.
type Demand struct {
	Force float64 // N on each face
	Hold  float64 // N of friction that the worse face needs at that angle
	Press float64 // N by which the cut unloads one face there: Force = Hold/mu + Press
	Angle float64 // rad of the first tooth
	Load  Load
	Faces [2]FaceLoad
}

// Least is the greatest need over a turn of the tool,
//
//	N = max over tooth angle and face of [ Hold/mu + |Fy| ].
//
// Errors: a mu that is not above 0.
// Source: Coulomb friction on two faces, careful rule; tested against a worked
// example step by step.
func (s Stage) Least(mu float64) (Demand, error) {
	if !positive(mu) {
		return Demand{}, fmt.Errorf("friction must be above 0, got %.4g", mu)
	}
	return s.worst(1/mu, 1)
}

// worst is the demand at which Hold·hold + |Fy|·press is greatest over a turn.
//
// A face's Hold is a norm of its force and twist, so it is at most the sum of
// what each asks for alone. Most angles are left out by that.
func (s Stage) worst(hold, press float64) (Demand, error) {
	var failed error
	exact := func(f cutting.Vector) float64 {
		faces, err := s.Carry(LoadAt(f, s.Cut))
		if err != nil {
			failed = err
			return 0
		}
		return math.Max(faces[0].Hold, faces[1].Hold)*hold + math.Abs(f.Y)*press
	}
	bound := func(f cutting.Vector) float64 {
		l := LoadAt(f, s.Cut)
		x, z := l.Mz/s.Part.Width, l.Mx/s.Part.Width
		size := math.Max(math.Hypot(l.Force.X/2-x, l.Force.Z/2+z), math.Hypot(l.Force.X/2+x, l.Force.Z/2-z))
		return (1+1e-9)*(size+math.Abs(l.My)/2/s.radii)*hold + math.Abs(f.Y)*press
	}
	angle, _ := s.tool.Worst(exact, bound)
	if failed != nil {
		return Demand{}, failed
	}
	l := LoadAt(s.tool.Force(angle), s.Cut)
	faces, err := s.Carry(l)
	d := Demand{Hold: math.Max(faces[0].Hold, faces[1].Hold), Press: math.Abs(l.Force.Y), Angle: angle, Load: l, Faces: faces}
	d.Force = d.Hold*hold + d.Press*press
	return d, err
}

// atLeast is a quick value that worst is not below: force or twist alone.
func (s Stage) atLeast(hold, press float64) float64 {
	most := 0.0
	for i := range 720 {
		f := s.tool.Force(float64(i) * math.Pi / 360)
		l := LoadAt(f, s.Cut)
		x, z := l.Mz/s.Part.Width, l.Mx/s.Part.Width
		size := math.Max(math.Hypot(l.Force.X/2-x, l.Force.Z/2+z), math.Hypot(l.Force.X/2+x, l.Force.Z/2-z))
		most = math.Max(most, math.Max(size, math.Abs(l.My)/2/s.radii)*hold+math.Abs(f.Y)*press)
	}
	return most
}

// Tipping is the other extreme rule: pressure does the tipping, so the centre
// of pressure of each face moves and friction carries the rest.
type Tipping struct {
	Kern     float64    // 6|dx|/a + 6|dz|/b; above 1 the contact opens
	Touching float64    // share of the patch that stays in contact
	Phi      [2]float64 // grip factors of the faces at +y and -y
	Used     float64    // share of the friction that is used, the greater of both
}

// ErrLost says that the centre of pressure leaves the patch: the part tips out.
var ErrLost = errors.New("the contact is lost: the part tips out of the jaws")

// Tip tells how a load would be borne at the clamp force n if pressure did the
// tipping: the centre of pressure moves by ±(Mz, −Mx)/(2n).
// Errors: a force or friction that is not above 0, ErrLost.
func (s Stage) Tip(l Load, n, mu float64) (Tipping, error) {
	if !positive(n) || !positive(mu) {
		return Tipping{}, errors.New("clamp force and friction must be above 0")
	}
	dx, dz := l.Mz/(2*n), -l.Mx/(2*n)
	t := Tipping{Kern: 6*math.Abs(dx)/s.Part.Length + 6*math.Abs(dz)/s.Part.Grip}
	size := math.Hypot(l.Force.X/2, l.Force.Z/2)
	for i, side := range []float64{1, -1} {
		p, err := s.patch.WithPressureCentre(contact.Point{X: side * dx, Y: side * dz})
		if err != nil {
			return t, fmt.Errorf("%w: %w", ErrLost, err)
		}
		t.Touching = p.Touching()
		g, err := contact.Solve(p, contact.Pull{Arm: -l.My / 2 / size, Direction: math.Atan2(l.Force.Z, l.Force.X)})
		if err != nil {
			return t, err
		}
		t.Phi[i] = g.Factor
		t.Used = math.Max(t.Used, size/(g.Factor*mu*math.Max(0, n-math.Abs(l.Force.Y))))
	}
	return t, nil
}

// OpensBelow is the clamp force in N below which the contact would open
// somewhere in the turn if pressure did the tipping.
func (s Stage) OpensBelow() float64 {
	_, n := s.tool.Worst(func(f cutting.Vector) float64 {
		l := LoadAt(f, s.Cut)
		return 3*math.Abs(l.Mz)/s.Part.Length + 3*math.Abs(l.Mx)/s.Part.Grip
	}, nil)
	return n
}

func positive(v float64) bool { return v > 0 && !math.IsInf(v, 0) }
