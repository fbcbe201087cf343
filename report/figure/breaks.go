package figure

import "math"

// Cut is the lowest height at which the figure may be cut so that no more than
// room lies between there and from; the whole rest where that fits. Where no
// break is near enough it is from plus room.
func (f Figure) Cut(from, room float64) float64 {
	if f.Height-from <= room {
		return f.Height
	}
	best := 0.0
	for _, b := range f.Breaks {
		if b > from && b-from <= room {
			best = b
		}
	}
	if best == 0 {
		return from + room
	}
	return best
}

// every lists the breaks of a figure of n bands of one height that start at top.
func every(n int, top, height float64) []float64 {
	var out []float64
	for i := 1; i < n; i++ {
		out = append(out, top+float64(i)*height)
	}
	return out
}

// Reach is between which heights a shape lies, in points from the top.
func (s Shape) Reach() (from, to float64) {
	if s.Text != "" {
		return s.Y - s.Size, s.Y + 0.3*s.Size
	}
	from, to = math.Inf(1), math.Inf(-1)
	for _, q := range s.Path {
		if q.Op != 'Z' {
			from, to = math.Min(from, q.Y-s.Width), math.Max(to, q.Y+s.Width)
		}
	}
	return from, to
}
