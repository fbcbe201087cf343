package figure

import (
	"fmt"
	"math"

	"griptrial/analysis"
	"griptrial/report"
)

// Wear draws the grip of each facing, beside its own mean, against how often its
// sample had been clamped before, with the fitted wear and the point at which
// the facing is to be changed. ok is false where clampings tell nothing.
func Wear(in report.Input, full float64) (f Figure, ok bool) {
	w := in.Results.Checks.Wear
	if w == nil || !w.Slope.Known() {
		return Figure{}, false
	}
	var cols []column
	var index []int
	var values []float64
	most := 0.0
	for i, c := range columns(in.Results) {
		any := false
		for _, q := range c.pulls {
			if q.Clampings.Known() && q.Relative.Known() {
				any = true
				values = append(values, float64(q.Relative))
				most = math.Max(most, float64(q.Clampings))
			}
		}
		if any {
			cols, index = append(cols, c), append(index, i)
		}
	}
	if len(cols) == 0 || most == 0 {
		return Figure{}, false
	}
	end := most
	for _, x := range w.Facings {
		if surely(in, x.P) && x.TenthAtLeast.Known() {
			end = math.Max(end, math.Min(float64(x.TenthAtLeast), 3*most))
		}
	}
	g := gridOf(len(cols), full, 162)
	f = Figure{Name: "wear", Title: wearTitle(in, most), Width: full, Height: g.height(), Breaks: g.breaks()}
	f.Desc = "Grip over the facing's mean against how often the sample had been clamped before."
	for _, c := range cols {
		f.Desc += fmt.Sprintf(" %s: %s.", report.Plain(c.result.Facing), wearWords(in, c.result.Facing))
	}
	f.draw = func(p *pen) {
		for k, c := range cols {
			fr := g.frame(k, 2)
			fr.x = scale{lo: -0.06 * end, hi: end * 1.06, from: fr.left, to: fr.right}
			fr.y = around(values, fr.bottom, fr.top)
			wedge(p, fr, in, c)
			fr.draw(p)
			level(p, fr, 1)
			g.head(p, k, index[k], c.result.Facing, wearWords(in, c.result.Facing))
			drawWear(p, fr, in, c, index[k])
		}
		g.axes(p, "earlier clampings of the sample", "grip, 1 = mean of the facing")
	}
	return f, true
}

// wearOf finds the wear of a facing; ok is false where it has none of its own.
func wearOf(in report.Input, facing string) (w analysis.FacingWear, ok bool) {
	for _, x := range in.Results.Checks.Wear.Facings {
		if x.Facing == facing && x.Slope.Known() {
			return x, true
		}
	}
	return w, false
}

// centre is the mean number of clampings of the pulls that tell something.
func centre(c column) float64 {
	sum, n := 0.0, 0.0
	for _, q := range c.pulls {
		if q.Clampings.Known() && q.Relative.Known() {
			sum, n = sum+float64(q.Clampings), n+1
		}
	}
	return sum / n
}

// wedge fills what lies between the slowest and the quickest wear.
func wedge(p *pen, fr frame, in report.Input, c column) {
	w, ok := wearOf(in, c.result.Facing)
	if !ok || !w.Lower.Known() || !w.Upper.Known() {
		return
	}
	at := func(x float64, slope analysis.Number) pt {
		return pt{fr.x.at(x), fr.y.clip(math.Exp(float64(slope) * (x - centre(c))))}
	}
	x0, x1, m := math.Max(0, fr.x.lo), fr.x.hi, centre(c)
	var up, down []pt
	for i := range 13 {
		x := x0 + (x1-x0)*float64(i)/12
		hi, lo := w.Upper, w.Lower
		if x < m {
			hi, lo = lo, hi
		}
		up, down = append(up, at(x, hi)), append([]pt{at(x, lo)}, down...)
	}
	p.area(wash, append(up, down...)...)
}

func drawWear(p *pen, fr frame, in report.Input, c column, index int) {
	w, ok := wearOf(in, c.result.Facing)
	if ok {
		x0, x1 := math.Max(0, fr.x.lo), fr.x.hi
		var line []pt
		for i := range 13 {
			x := x0 + (x1-x0)*float64(i)/12
			line = append(line, pt{fr.x.at(x), fr.y.at(math.Exp(float64(w.Slope) * (x - centre(c))))})
		}
		dash := []float64{1, 2.5}
		if surely(in, w.P) {
			dash = nil
		}
		p.line(shade(index), 1.3, dash, between(line, fr.top, fr.bottom)...)
	}
	if ok && surely(in, w.P) && w.TenthAtLeast.Known() && float64(w.TenthAtLeast) <= fr.x.hi {
		x := fr.x.at(float64(w.TenthAtLeast))
		p.line(ink, 1.2, nil, pt{x, fr.top}, pt{x, fr.bottom})
		anchor, off := 1.0, -3.0
		if x-fr.left < 60 {
			anchor, off = 0, 3
		}
		words := "change each time"
		if w.TenthAtLeast >= 1 {
			words = fmt.Sprintf("change by %.0f", float64(w.TenthAtLeast))
		}
		p.text(ink, small, true, anchor, x+off, fr.bottom-4, words)
	}
	sw, r := swarm{centre: 0, half: 9}, 2.4
	if len(c.pulls) > 60 {
		r = 1.4
	}
	for _, q := range byValue(c.pulls) {
		if !q.Clampings.Known() || !q.Relative.Known() {
			continue
		}
		x, y := fr.x.at(float64(q.Clampings)), fr.y.clip(float64(q.Relative))
		sw.centre = x
		pullMark(p, index, q, sw.place(r, y-r, y+r), y, r)
	}
	voidMark(p, index, voids(c.pulls), fr.right, fr.bottom+25)
}

// between cuts a line that rises or falls throughout, or is level, at the
// heights top and bottom; y points down.
func between(line []pt, top, bottom float64) []pt {
	var kept []pt
	for i := range line[:len(line)-1] {
		a, b := line[i], line[i+1]
		if math.Max(a.y, b.y) < top || math.Min(a.y, b.y) > bottom {
			continue
		}
		cut := func(end pt) pt {
			y := math.Max(top, math.Min(bottom, end.y))
			if y == end.y {
				return end
			}
			return pt{a.x + (y-a.y)/(b.y-a.y)*(b.x-a.x), y}
		}
		if len(kept) == 0 {
			kept = append(kept, cut(a))
		}
		kept = append(kept, cut(b))
	}
	return kept
}

// wearWords says the wear of one facing in a line.
func wearWords(in report.Input, facing string) string {
	w, ok := wearOf(in, facing)
	if !ok {
		return "no slope of its own"
	}
	percent := func(slope analysis.Number) string { return report.Short(100*math.Expm1(float64(slope)), 2) }
	switch {
	case !w.Lower.Known():
		return percent(w.Slope) + " % a clamping, no interval"
	case surely(in, w.P):
		return fmt.Sprintf("%s %% a clamping (%s to %s)", percent(w.Slope), percent(w.Lower), percent(w.Upper))
	}
	return fmt.Sprintf("not shown; %s to %s %% a clamping", percent(w.Lower), percent(w.Upper))
}

func wearTitle(in report.Input, most float64) string {
	var worst *analysis.FacingWear
	least := analysis.Number(math.Inf(1))
	rising := ""
	for i, x := range in.Results.Checks.Wear.Facings {
		if !surely(in, x.P) {
			if x.TenthAtLeast.Known() {
				least = min(least, x.TenthAtLeast)
			}
			continue
		}
		if x.Slope > 0 {
			rising = x.Facing
			continue
		}
		if worst == nil || x.Slope < worst.Slope {
			worst = &in.Results.Checks.Wear.Facings[i]
		}
	}
	switch {
	case worst != nil && worst.Tenth < 1:
		return fmt.Sprintf("%s wears: more than a tenth of its grip goes with one clamping", report.Sentence(report.Brief(worst.Facing, 48)))
	case worst != nil && worst.TenthAtLeast.Known():
		title := fmt.Sprintf("%s wears: a tenth of its grip is gone after about %s", report.Sentence(report.Brief(worst.Facing, 48)), clampings(float64(worst.Tenth)))
		switch {
		case worst.TenthAtLeast < 1:
			title += ", at the soonest with one"
		case worst.TenthAtLeast < worst.Tenth:
			title += fmt.Sprintf(", at the soonest after %.0f", float64(worst.TenthAtLeast))
		}
		return title
	case worst != nil:
		return fmt.Sprintf("%s wears with use", report.Sentence(report.Brief(worst.Facing, 48)))
	case rising != "":
		return fmt.Sprintf("%s gripped better with use: it was still running in", report.Sentence(report.Brief(rising, 48)))
	case surely(in, in.Results.Checks.Wear.P):
		return fmt.Sprintf("Together the facings change by %s %% a clamping; no one of them surely does",
			report.Short(100*math.Expm1(float64(in.Results.Checks.Wear.Slope)), 2))
	}
	title := fmt.Sprintf("No wear was seen over %s", clampings(most+1))
	if least.Known() {
		title += fmt.Sprintf(", yet a tenth of the grip may be gone after %.0f", math.Max(1, float64(least)))
	}
	return title
}

func clampings(n float64) string {
	if n == 1 {
		return "1 clamping"
	}
	return fmt.Sprintf("%.0f clampings", n)
}
