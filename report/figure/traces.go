package figure

import (
	"fmt"
	"math"

	"griptrial/analysis/slip"
	"griptrial/report"
)

// Size of one trace among many, in points.
const (
	traceWidth  = 114.0
	traceHeight = 84.0
)

// decimate thins a record for a drawing of so many columns: each column keeps
// its first, least, greatest and last sample in their order in time, so that
// no peak is lost. A short record stays as it is. Samples without a number
// are left out.
func decimate(t, f []float64, columns int) (dt, df []float64) {
	n := min(len(t), len(f))
	keep := make([]int, 0, 4*columns)
	if n <= 4*columns {
		for i := range n {
			keep = append(keep, i)
		}
	} else {
		for c := range columns {
			keep = append(keep, extremes(f, c*n/columns, (c+1)*n/columns)...)
		}
	}
	for _, i := range keep {
		if math.IsNaN(t[i]) || math.IsNaN(f[i]) || math.IsInf(f[i], 0) {
			continue
		}
		dt, df = append(dt, t[i]), append(df, f[i])
	}
	return dt, df
}

// detail is how many columns each of n small traces gets: one for each dot of
// a phone, and fewer where there are so many that a page would grow heavy.
func detail(n int) int { return max(20, min(60, 18000/max(n, 1))) }

// extremes gives the first, least, greatest and last index of a stretch, each
// once and in order.
func extremes(f []float64, from, to int) []int {
	lo, hi := from, from
	for i := from; i < to; i++ {
		if f[i] < f[lo] {
			lo = i
		}
		if f[i] > f[hi] {
			hi = i
		}
	}
	out := []int{from}
	for _, i := range []int{min(lo, hi), max(lo, hi), to - 1} {
		if i > out[len(out)-1] {
			out = append(out, i)
		}
	}
	return out
}

// Trace draws one record small, with its slip point marked.
func Trace(in report.Input, tr report.Trace) Figure {
	f := Figure{
		Name:   fmt.Sprintf("trace-%d", tr.Pull),
		Title:  fmt.Sprintf("Pull %d, %s: %s", tr.Pull, report.Plain(tr.Facing), tr.Outcome),
		Desc:   traceDesc(in, tr),
		Width:  traceWidth,
		Height: traceHeight,
	}
	f.draw = func(p *pen) { drawTrace(p, in, tr, 0, 0) }
	return f
}

// Traces draws every record on one sheet. ok is false without records.
func Traces(in report.Input, _ float64) (f Figure, ok bool) {
	if len(in.Traces) == 0 {
		return Figure{}, false
	}
	across := 3
	if len(in.Traces) > 24 {
		across = 6 // a sheet for a wide page rather than one without end
	}
	const gap = (fullWidth - 3*traceWidth) / 2
	rows := (len(in.Traces) + across - 1) / across
	f = Figure{Name: "traces", Title: tracesTitle(in), Width: float64(across)*(traceWidth+gap) - gap, Height: float64(rows) * (traceHeight + 6)}
	f.Desc = fmt.Sprintf("The force of %d pulls against time, each with its slip point marked.", len(in.Traces))
	f.draw = func(p *pen) {
		for i, tr := range in.Traces {
			drawTrace(p, in, tr, float64(i%across)*(traceWidth+gap), float64(i/across)*(traceHeight+6))
		}
	}
	return f, true
}

func tracesTitle(in report.Input) string {
	n := map[string]int{}
	for _, t := range in.Traces {
		n[t.Outcome]++
	}
	s := fmt.Sprintf("Every recorded pull: %d slipped", n["slipped"])
	for _, w := range []string{"held", "void"} {
		if n[w] > 0 {
			s += fmt.Sprintf(", %d %s", n[w], w)
		}
	}
	return s
}

func traceDesc(in report.Input, tr report.Trace) string {
	s := "Force against time."
	if !math.IsNaN(tr.Slip.SlipForce) {
		s += fmt.Sprintf(" It gave way at %s", in.Force.Format(tr.Slip.SlipForce, 3))
		if tr.Slip.Kind != "" {
			s += ", " + string(tr.Slip.Kind)
		}
		return s + "."
	}
	if !math.IsNaN(tr.Slip.PeakForce) {
		s += fmt.Sprintf(" Greatest force %s.", in.Force.Format(tr.Slip.PeakForce, 3))
	}
	return s
}

// drawTrace draws one record with its corner at (left, top).
func drawTrace(p *pen, in report.Input, tr report.Trace, left, top float64) {
	const tiny = 7.6
	shown := place(in.Results, tr.Facing)
	head := fmt.Sprintf("%d", tr.Pull)
	p.text(ink, tiny, true, 0, left, top+tiny, head)
	x := left + width(head, tiny, true) + 8
	p.mark(shown, shade(shown), tr.Outcome == "void", x, top+tiny-2.6, 2.1)
	p.text(mid, tiny, false, 0, x+5, top+tiny, shorten(report.Plain(tr.Facing), tiny, false, left+traceWidth-x-5))

	bottom := top + traceHeight - tiny - 3
	p.line(faint, 0.6, nil, pt{left, bottom}, pt{left + traceWidth, bottom})
	t, force := decimate(tr.Trace.T, tr.Trace.Force, detail(len(in.Traces)))
	if len(t) < 2 {
		p.text(mid, tiny, false, 0, left+4, bottom-8, "no samples")
		return
	}
	sx := scale{lo: t[0], hi: t[len(t)-1], from: left, to: left + traceWidth}
	rest, peak := restAndPeak(force, tr.Slip)
	sy := scale{lo: math.Min(rest, least(force)), hi: peak, from: bottom, to: top + tiny + 10}
	if rest > peak { // the load cell counts down under load
		sy.lo, sy.hi = math.Max(rest, -least(negated(force))), peak
	}
	if sy.lo == sy.hi {
		sy.hi = sy.lo + 1
	}
	line := make([]pt, len(t))
	for i := range t {
		line[i] = pt{sx.at(t[i]), sy.at(force[i])}
	}
	p.line(shade(shown), 0.9, nil, line...)
	drawSlip(p, in, tr, sx, sy, rest, tiny, left, bottom)
	p.text(mid, tiny, false, 1, left+traceWidth, bottom+tiny+1, report.Short(t[len(t)-1]-t[0], 2)+" s")
}

// drawSlip marks where the pull gave way, or how far a held one went.
func drawSlip(p *pen, in report.Input, tr report.Trace, sx, sy scale, rest, tiny, left, bottom float64) {
	s := tr.Slip
	sign := 1.0
	if sy.hi < sy.lo {
		sign = -1
	}
	label := tr.Outcome
	switch {
	case tr.Outcome == "void":
	case !math.IsNaN(s.SlipTime) && !math.IsNaN(s.SlipForce):
		x, y := sx.clip(s.SlipTime), sy.at(rest+sign*s.SlipForce)
		p.line(ink, 0.6, []float64{1.5, 1.5}, pt{x, y}, pt{x, bottom})
		p.mark(0, ink, true, x, y, 2.6)
		label = "slipped at " + in.Force.Format(s.SlipForce, 3)
		if s.Kind != "" && s.Kind != slip.Sharp {
			label += ", " + string(s.Kind)
		}
	case tr.Outcome == "held" && !math.IsNaN(s.PeakForce) && !math.IsNaN(s.PeakTime):
		p.arrow(ink, sx.clip(s.PeakTime), sy.at(rest+sign*s.PeakForce), 0, -1, 9)
		label = "held " + in.Force.Format(s.PeakForce, 3)
	}
	p.text(ink, tiny, false, 0, left, bottom+tiny+1, label)
}

// restAndPeak finds the reading at rest and at the greatest load: the peak is
// what lies farther from the start.
func restAndPeak(force []float64, s slip.Result) (rest, peak float64) {
	rest = force[0]
	hi, lo := -least(negated(force)), least(force)
	if rest-lo > hi-rest {
		peak = lo
		if !math.IsNaN(s.PeakForce) {
			rest = lo + s.PeakForce
		}
		return rest, peak
	}
	if !math.IsNaN(s.PeakForce) {
		rest = hi - s.PeakForce
	}
	return rest, hi
}

func least(v []float64) float64 {
	m := v[0]
	for _, x := range v {
		m = math.Min(m, x)
	}
	return m
}

func negated(v []float64) []float64 {
	out := make([]float64, len(v))
	for i, x := range v {
		out[i] = -x
	}
	return out
}
