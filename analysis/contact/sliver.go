package contact

import (
	"math"
	"slices"
)

// sliver is a thin polygon under a plane pressure that is steep across it. Its
// boundary integrals cancel like the square of length over thickness, so it is
// cut across into sticks, each closed, and summed along.
type sliver struct {
	outline  []Point // turned so that x runs along
	pressure plane   // likewise
	upright  bool    // x and y were swapped
	corners  []float64
}

// sliverOf makes a sliver of a polygon that is thin; nil otherwise.
func sliverOf(outline []Point, p plane) *sliver {
	lo, hi := outline[0], outline[0]
	for _, q := range outline {
		lo = Point{math.Min(lo.X, q.X), math.Min(lo.Y, q.Y)}
		hi = Point{math.Max(hi.X, q.X), math.Max(hi.Y, q.Y)}
	}
	wide, high := hi.X-lo.X, hi.Y-lo.Y
	if math.Min(wide, high) > 0.03*math.Max(wide, high) {
		return nil
	}
	s := &sliver{outline: outline, pressure: p, upright: high > wide}
	if s.upright {
		s.pressure = plane{p.p0, p.gy, p.gx}
		s.outline = make([]Point, len(outline))
		for i, q := range outline {
			s.outline[i] = Point{q.Y, q.X}
		}
	}
	for _, q := range s.outline {
		s.corners = append(s.corners, q.X)
	}
	slices.Sort(s.corners)
	return s
}

func (l *sliver) add(m motion, s *sums) {
	along := centreOf(m).X
	if l.upright {
		along = centreOf(m).Y
	}
	for i := 1; i < len(l.corners); i++ {
		lo, hi := l.corners[i-1], l.corners[i]
		if hi-lo <= 1e-14*(l.corners[len(l.corners)-1]-l.corners[0]) {
			continue
		}
		// The sticks change sharply where they pass the centre: crowd there.
		switch {
		case along <= lo:
			l.piece(m, s, lo, hi)
		case along >= hi:
			l.piece(m, s, hi, lo)
		default:
			l.piece(m, s, along, lo)
			l.piece(m, s, along, hi)
		}
	}
}

// piece sums the sticks from one place to another, crowded towards the first.
func (l *sliver) piece(m motion, s *sums, from, to float64) {
	for i, v := range gauss24.x {
		v = (1 + v) / 2
		x := from + (to-from)*v*v*v
		w := gauss24.w[i] / 2 * 3 * v * v * math.Abs(to-from)
		lo, hi := l.across(x)
		q := stick{Point{x, lo}, Point{x, hi}, w * l.pressure.at(x, lo), w * l.pressure.at(x, hi)}
		if l.upright {
			q.a, q.b = Point{lo, x}, Point{hi, x}
		}
		q.add(m, s)
	}
}

// across gives the ends of the cut at x.
func (l *sliver) across(x float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for i, p := range l.outline {
		q := l.outline[(i+1)%len(l.outline)]
		if p.X > x != (q.X > x) {
			y := p.Y + (q.Y-p.Y)*(x-p.X)/(q.X-p.X)
			lo, hi = math.Min(lo, y), math.Max(hi, y)
		}
	}
	return lo, hi
}
