package contact

import "math"

// cuttingPlanes closes in on the minimum of a convex function from its value
// and gradient alone: the minimum lies on one side of the line through the
// centroid of what is left, so each evaluation takes away more than a third of
// the area (Grünbaum 1960; at least 1 − 1/e stays at most). It needs no second
// derivatives and cannot be held up by creases.
func (s *search) cuttingPlanes(x, y float64, best slope) (float64, float64, slope) {
	// D >= |U, V| and D >= |W|·c for the pressure's own scale, and the minimum is
	// at most D(0,0): it lies in a box of a few units.
	bound := 16 * math.Max(1, best.f)
	left := []Point{{-bound, -bound}, {bound, -bound}, {bound, bound}, {-bound, bound}}
	for range 220 {
		c, area := centroid(left)
		if !(area > 1e-40) {
			break
		}
		now := s.at(c.X, c.Y)
		if now.f < best.f {
			x, y, best = c.X, c.Y, now
		}
		if now.ga == 0 && now.gb == 0 {
			break
		}
		left = clip(left, plane{now.ga*c.X + now.gb*c.Y, -now.ga, -now.gb})
		if len(left) < 3 {
			break
		}
	}
	return x, y, best
}

// centroid of a convex polygon, taken from its first corner to keep digits.
func centroid(poly []Point) (c Point, area float64) {
	o := poly[0]
	for i := 1; i+1 < len(poly); i++ {
		ax, ay := poly[i].X-o.X, poly[i].Y-o.Y
		bx, by := poly[i+1].X-o.X, poly[i+1].Y-o.Y
		w := (ax*by - ay*bx) / 2
		area += w
		c.X += w * (ax + bx) / 3
		c.Y += w * (ay + by) / 3
	}
	if area == 0 {
		return o, 0
	}
	return Point{o.X + c.X/area, o.Y + c.Y/area}, area
}
