package figure

import (
	"math"

	"griptrial/report"
)

// scale maps data to points along one direction.
type scale struct {
	lo, hi   float64 // data
	from, to float64 // points
	log      bool
}

func (s scale) at(v float64) float64 {
	if s.log {
		return s.from + (math.Log(v)-math.Log(s.lo))/(math.Log(s.hi)-math.Log(s.lo))*(s.to-s.from)
	}
	return s.from + (v-s.lo)/(s.hi-s.lo)*(s.to-s.from)
}

// clip maps data that may lie outside the scale to its nearest end.
func (s scale) clip(v float64) float64 { return s.at(math.Max(s.lo, math.Min(s.hi, v))) }

// fromZero is a scale from 0 to a little over the greatest value; without a
// positive value it ends at 1, so that there is always an axis to draw.
func fromZero(greatest, from, to float64) scale {
	if !(greatest > 0) || math.IsInf(greatest, 0) {
		greatest = 1
	}
	return scale{lo: 0, hi: greatest * 1.06, from: from, to: to}
}

// ticks gives round values within a linear scale, about n of them, and the
// decimals that they need.
func (s scale) ticks(n int) (values []float64, decimals int) {
	step, decimals := roundStep((s.hi - s.lo) / float64(max(n, 1)))
	for i := math.Ceil(s.lo/step - 1e-9); i*step <= s.hi*(1+1e-12); i++ {
		values = append(values, i*step)
	}
	return values, decimals
}

// roundStep is the nearest of 1, 2, 5 times a power of ten at or above raw.
func roundStep(raw float64) (step float64, decimals int) {
	e := math.Floor(math.Log10(raw))
	for _, m := range []float64{1, 2, 5, 10} {
		step = m * math.Pow(10, e)
		if step >= raw*(1-1e-9) {
			break
		}
	}
	return step, int(math.Max(0, -math.Floor(math.Log10(step)+1e-9)))
}

// logTicks gives round values within a log scale, 1-2-5 on a long one; lo and
// hi are positive.
func (s scale) logTicks() []float64 {
	var out []float64
	steps := []float64{1, 2, 5}
	if s.hi < 6*s.lo {
		steps = []float64{1, 1.5, 2, 2.5, 3, 4, 5, 6, 8}
	}
	for e := math.Floor(math.Log10(s.lo)); e <= math.Ceil(math.Log10(s.hi)); e++ {
		for _, m := range steps {
			if v := m * math.Pow(10, e); v >= s.lo*(1-1e-9) && v <= s.hi*(1+1e-9) {
				out = append(out, v)
			}
		}
	}
	return out
}

// frame is the plotting area with its two scales.
type frame struct {
	x, y           scale
	left, right    float64
	top, bottom    float64
	xName, yName   string
	xTicks, yTicks int
}

// draw rules the grid and writes the ticks and the names of the axes.
func (f frame) draw(p *pen) {
	if f.yTicks > 0 {
		values, d := f.y.ticks(f.yTicks)
		for _, v := range values {
			y := f.y.at(v)
			p.line(faint, 0.5, nil, pt{f.left, y}, pt{f.right, y})
			p.text(mid, small, false, 1, f.left-4, y+small*0.36, report.Number(v, d))
		}
	}
	if f.yName != "" {
		p.text(mid, small, false, 0, f.left-yMargin, f.top-8, f.yName)
	}
	if f.xTicks > 0 {
		values, d := f.x.ticks(f.xTicks)
		for _, v := range values {
			x := f.x.at(v)
			p.line(ink, 0.7, nil, pt{x, f.bottom}, pt{x, f.bottom + 3})
			p.text(mid, small, false, 0.5, x, f.bottom+4+small, report.Number(v, d))
		}
	}
	if f.xName != "" {
		p.text(mid, small, false, 1, f.right, f.bottom+7+2*small, f.xName)
	}
	p.line(ink, 0.9, nil, pt{f.left, f.bottom}, pt{f.right, f.bottom})
}

// yMargin is the room for the ticks left of a frame.
const yMargin = 34
