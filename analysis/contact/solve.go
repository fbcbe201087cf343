package contact

import (
	"errors"
	"math"
)

// solve finds the least dissipation over the motions for which the load does
// unit work. In scaled coordinates about the centre of pressure a motion is the
// velocity (U along the pull, V across) and the turning W, and the condition is
// U + eps·W = 1 with eps the arm over the scale. The plane of such motions
// passes the origin at the distance 1/sqrt(1 + eps²); measured from its nearest
// point, (cos t, 0, sin t) with tan t = eps, it has two coordinates, a and b:
//
//	U = cos t − a·sin t,  W = sin t + a·cos t,  V = b
//
// and phi = min D(a, b)/sqrt(1 + eps²). This is well scaled for every arm, from a
// straight pull to a pure twist.
func solve(faces []Face, pull Pull) (Grip, error) {
	if !finite(pull.Arm) {
		return Grip{}, errors.New("arm of the pull: must be finite")
	}
	if !finite(pull.Direction) {
		return Grip{}, errors.New("direction of the pull: must be finite")
	}
	b := build(faces)
	sin, cos := math.Sincos(pull.Direction)
	arm := pull.Arm - (b.origin.X*sin - b.origin.Y*cos)
	eps := arm / b.scale
	if math.Abs(eps) < 1e-12 {
		return Grip{Factor: 1, Shift: true}, nil
	}
	length := math.Hypot(1, eps)
	m := b.least(math.Atan2(eps, 1), pull.Direction)
	factor := math.Min(1, m.value/length)
	if !(factor >= tiny) {
		return Grip{}, ErrTooFar
	}
	if m.at.w == 0 {
		return Grip{Factor: factor, Shift: true}, nil
	}
	return Grip{Factor: factor, Centre: b.centre(m.at)}, nil
}

// centre turns a motion into its turning centre in m.
func (b body) centre(m motion) Point {
	c := centreOf(m)
	return Point{b.origin.X + b.scale*c.X, b.origin.Y + b.scale*c.Y}
}

// slope is the dissipation at (a, b) with its gradient and second derivatives.
type slope struct {
	f, ga, gb     float64
	haa, hab, hbb float64
}

// search evaluates the dissipation on one plane of motions.
type search struct {
	body
	sinT, cosT float64
	ux, uy     float64
	calls      int
}

func (s *search) motion(a, b float64) motion {
	u := s.cosT - a*s.sinT
	return motion{u*s.ux - b*s.uy, u*s.uy + b*s.ux, s.sinT + a*s.cosT}
}

func (s *search) at(a, b float64) slope {
	s.calls++
	m := s.motion(a, b)
	var v sums
	for _, e := range s.elements {
		e.add(m, &v)
	}
	// Directions of change: a moves (−sin t·u, cos t), b moves (u turned, 0).
	ax, ay, aw := -s.sinT*s.ux, -s.sinT*s.uy, s.cosT
	bx, by := -s.uy, s.ux
	hax, hay, haw := v.hxx*ax+v.hxy*ay+v.hxw*aw, v.hxy*ax+v.hyy*ay+v.hyw*aw, v.hxw*ax+v.hyw*ay+v.hww*aw
	return slope{
		f: v.d, ga: v.gx*ax + v.gy*ay + v.gw*aw, gb: v.gx*bx + v.gy*by,
		haa: hax*ax + hay*ay + haw*aw,
		hab: hax*bx + hay*by,
		hbb: (v.hxx*bx+2*v.hxy*by)*bx + v.hyy*by*by,
	}
}

// least is the end of a search.
type least struct {
	value float64
	at    motion
	calls int
	cut   bool // Newton steps did not suffice
}

// least minimises the dissipation for the angle t and the pull direction.
//
// Newton steps with halving converge in a handful of evaluations wherever the
// pressure is spread out. Where pads shrink to points the dissipation has
// creases and Newton may crawl; then the cutting planes of cut.go, which need
// only convexity, close in on the minimum and Newton polishes.
func (b body) least(t, direction float64) least {
	s := &search{body: b}
	s.sinT, s.cosT = math.Sincos(t)
	s.uy, s.ux = math.Sincos(direction)
	x, y := s.roughly()
	x, y, now, done := s.newton(x, y, 40, 1e-15)
	cut := !done
	if cut {
		x, y, now = s.cuttingPlanes(x, y, now)
		if px, py, polished, _ := s.newton(x, y, 10, 1e-15); polished.f <= now.f {
			x, y, now = px, py, polished
		}
	}
	return least{now.f, s.motion(x, y), s.calls, cut}
}

// roughly is where a coarse sum over the chords of an opened round contact has
// its minimum: a start that saves fine sums. Without such a contact it is the
// origin.
func (s *search) roughly() (x, y float64) {
	var caps []*cap
	for _, e := range s.elements {
		if c, ok := e.(*cap); ok {
			caps = append(caps, c)
			c.coarse = true
		}
	}
	if caps == nil {
		return 0, 0
	}
	x, y, _, _ = s.newton(0, 0, 6, 1e-4)
	for _, c := range caps {
		c.coarse = false
	}
	return x, y
}

// newton takes at most n damped Newton steps from (x, y). It is done when a
// full step promises less than the share least of what is there.
func (s *search) newton(x, y float64, n int, least float64) (nx, ny float64, now slope, done bool) {
	now = s.at(x, y)
	for range n {
		// A flat dissipation has a singular matrix; a little lift keeps the step
		// finite.
		lift := 1e-13 * (now.haa + now.hbb)
		haa, hbb := now.haa+lift, now.hbb+lift
		det := haa*hbb - now.hab*now.hab
		if !(det > 0) || math.IsInf(det, 0) {
			return x, y, now, now.ga == 0 && now.gb == 0
		}
		da := -(hbb*now.ga - now.hab*now.gb) / det
		db := -(haa*now.gb - now.hab*now.ga) / det
		promise := -(now.ga*da + now.gb*db) / 2
		if promise < least*now.f {
			if math.Abs(da)+math.Abs(db) < 1e-7 {
				return x + da, y + db, now, true
			}
			next := s.at(x+da, y+db)
			if next.f <= now.f {
				return x + da, y + db, next, true
			}
			return x, y, now, true
		}
		step, moved := 1.0, false
		for range 30 {
			next := s.at(x+step*da, y+step*db)
			if next.f <= now.f-0.2*step*promise {
				x, y, now, moved = x+step*da, y+step*db, next, true
				break
			}
			step /= 2
		}
		if !moved {
			return x, y, now, promise < 1e-13*now.f
		}
	}
	return x, y, now, false
}
