package figure

import (
	"fmt"
	"image/color"
	"math"
	"sort"

	"griptrial/analysis"
	"griptrial/report"
)

// together is the greatest number of facings that share one panel of Clamp;
// more get a panel each, with the control's line in every one.
const together = 5

// squeezeAxis tells against what forces are drawn: the clamp force where any
// pull knows it, otherwise the handle weight; ok is false where neither is known.
func squeezeAxis(in report.Input) (name string, toUnit func(float64) float64, of func(analysis.PullResult) float64, ok bool) {
	weight := false
	for _, p := range in.Results.Pulls {
		if p.Clamp.Known() && p.Clamp > 0 {
			return "clamp force [" + in.Force.Name + "]", in.Force.FromSI, func(p analysis.PullResult) float64 { return float64(p.Clamp) }, true
		}
		weight = weight || p.Weight.Known() && p.Weight > 0
	}
	u := in.WeightUnit()
	return "weight on the handle [" + u.Name + "]", u.FromSI, func(p analysis.PullResult) float64 { return float64(p.Weight) }, weight
}

// Clamp draws the force that each pull bore against the squeeze, with the
// fitted line of each facing. ok is false when no squeeze is known.
func Clamp(in report.Input, full float64) (f Figure, ok bool) {
	xName, xUnit, squeeze, ok := squeezeAxis(in)
	if !ok {
		return Figure{}, false
	}
	cols := columns(in.Results)
	var most, mostForce float64
	for _, q := range in.Results.Pulls {
		if q.Outcome == "void" || !q.Force.Known() || math.IsNaN(squeeze(q)) {
			continue
		}
		most = math.Max(most, squeeze(q))
		mostForce = math.Max(mostForce, float64(q.Force))
	}
	if most == 0 || mostForce == 0 {
		return Figure{}, false
	}
	lines := make(map[string]analysis.ClampLine)
	for _, l := range in.Results.Lines {
		lines[l.Facing] = l
		if top := float64(l.Slope * l.Max); l.Slope.Known() && top < 2*mostForce {
			mostForce = math.Max(mostForce, top)
		}
	}
	var groups [][]int
	if len(cols) <= together {
		groups = [][]int{nil}
		for i := range cols {
			groups[0] = append(groups[0], i)
		}
	} else {
		for i := range cols {
			groups = append(groups, []int{i})
		}
	}
	wide, high, per := full, 250.0, 1
	if len(groups) > 1 {
		wide, high, per = full/2, 150.0, 2
	}
	f = Figure{Name: "clamp", Title: clampTitle(in), Width: full, Height: float64((len(groups)+per-1)/per) * high, Breaks: every((len(groups)+per-1)/per, 0, high)}
	f.Desc = fmt.Sprintf("Force of every pull against %s. %s", xName, slopes(in, lines))
	f.draw = func(p *pen) {
		for g, members := range groups {
			left, top := float64(g%per)*wide, float64(g/per)*high
			room := 96.0
			if len(groups) > 1 {
				room = 10
			}
			fr := frame{left: left + yMargin, right: left + wide - room, top: top + 22, bottom: top + high - 36,
				xName: xName, yName: "force [" + in.Force.Name + "]", xTicks: 5, yTicks: 5}
			fr.x = fromZero(xUnit(most), fr.left, fr.right)
			fr.y = fromZero(in.Force.FromSI(mostForce)*1.04, fr.bottom, fr.top)
			if len(groups) > 1 {
				fr.yName = "" // the facing's name stands there
				fr.xTicks, fr.yTicks = 3, 3
				p.text(ink, small, true, 0, left+4, fr.top-10, shorten(report.Plain(cols[members[0]].result.Facing), small, true, wide-14))
				if g >= per {
					fr.xName = ""
				}
			}
			fr.draw(p)
			if len(groups) > 1 {
				if l, ok := lines[in.Results.Control]; ok {
					drawFit(p, fr, l, mid, []float64{3, 2}, xUnit, in.Force.FromSI)
				}
			}
			drawGroup(p, fr, in, cols, members, lines, squeeze, xUnit)
			if len(groups) == 1 {
				nameLines(p, fr, full, in, cols, lines, xUnit)
			}
		}
	}
	return f, true
}

// drawGroup draws bands, lines and then pulls, so that no pull is hidden.
func drawGroup(p *pen, fr frame, in report.Input, cols []column, members []int, lines map[string]analysis.ClampLine, squeeze func(analysis.PullResult) float64, xUnit func(float64) float64) {
	for _, i := range members {
		if l, ok := lines[cols[i].result.Facing]; ok {
			drawBand(p, fr, l, xUnit, in.Force.FromSI)
		}
	}
	for _, i := range members {
		if l, ok := lines[cols[i].result.Facing]; ok {
			drawFit(p, fr, l, shade(i), nil, xUnit, in.Force.FromSI)
		}
	}
	for _, i := range members {
		r := 2.6
		if len(cols[i].pulls) > 60 {
			r = 1.5
		}
		for _, q := range cols[i].pulls {
			at := squeeze(q)
			if q.Outcome == "void" || !q.Force.Known() || math.IsNaN(at) {
				continue
			}
			x, y := fr.x.clip(xUnit(at)), fr.y.clip(in.Force.FromSI(float64(q.Force)))
			if q.Outcome == "held" {
				p.arrow(shade(i), x, y, 0, -1, 12)
				continue
			}
			p.mark(i, shade(i), false, x, y, r)
		}
	}
}

// drawBand fills the wedge between the least and the greatest slope.
func drawBand(p *pen, fr frame, l analysis.ClampLine, xUnit, yUnit func(float64) float64) {
	if !l.Lower.Known() || !l.Upper.Known() {
		return
	}
	end := math.Min(fr.x.hi, xUnit(float64(l.Max))*1.04)
	at := func(slope analysis.Number) pt { return meet(fr, end, slopeIn(float64(slope), xUnit, yUnit)) }
	p.area(wash, pt{fr.x.at(0), fr.y.at(0)}, at(l.Lower), at(l.Upper))
}

// drawFit draws a line through the origin: full where it was tried, dotted
// down to the origin, where it is only the model's word.
func drawFit(p *pen, fr frame, l analysis.ClampLine, col color.Color, dash []float64, xUnit, yUnit func(float64) float64) {
	if !l.Slope.Known() {
		return
	}
	slope := slopeIn(float64(l.Slope), xUnit, yUnit)
	start := xUnit(float64(l.Min))
	if dash == nil {
		p.line(col, 0.9, []float64{1, 2.5}, pt{fr.x.at(0), fr.y.at(0)}, meet(fr, start, slope))
		p.line(col, 1.5, nil, meet(fr, start, slope), meet(fr, math.Min(fr.x.hi, xUnit(float64(l.Max))*1.04), slope))
		return
	}
	p.line(col, 0.9, dash, pt{fr.x.at(0), fr.y.at(0)}, meet(fr, fr.x.hi, slope))
}

// slopeIn turns a slope in SI units into one between display units.
func slopeIn(slope float64, xUnit, yUnit func(float64) float64) float64 {
	return yUnit(slope) / xUnit(1)
}

// meet is the point at x on a line through the origin, or where the line
// leaves the frame at the top.
func meet(fr frame, x, slope float64) pt {
	if slope*x > fr.y.hi {
		x = fr.y.hi / slope
	}
	return pt{fr.x.at(x), fr.y.at(slope * x)}
}

// nameLines writes the facings' names at the right ends of their lines, moved
// apart where they would overlap.
func nameLines(p *pen, fr frame, full float64, in report.Input, cols []column, lines map[string]analysis.ClampLine, xUnit func(float64) float64) {
	type label struct {
		i      int
		y, end float64
		text   []string
		height float64
	}
	var labels []label
	for i, c := range cols {
		y, end := fr.bottom-small, fr.right
		if l, ok := lines[c.result.Facing]; ok && l.Slope.Known() {
			q := meet(fr, math.Min(fr.x.hi, xUnit(float64(l.Max))*1.04), slopeIn(float64(l.Slope), xUnit, in.Force.FromSI))
			y, end = q.y, q.x
		} else if len(c.pulls) == 0 {
			continue
		}
		text := wrap(report.Plain(c.result.Facing), small, true, full-fr.right-18, 3)
		labels = append(labels, label{i, y, end, text, float64(len(text))*small*1.15 + 3})
	}
	sort.SliceStable(labels, func(a, b int) bool { return labels[a].y < labels[b].y })
	// From the top down each label keeps clear of the one above; then from
	// the bottom up, so that none leaves the frame.
	tops := make([]float64, len(labels))
	for k, l := range labels {
		tops[k] = math.Max(l.y-l.height/2, fr.top-14)
		if k > 0 {
			tops[k] = math.Max(tops[k], tops[k-1]+labels[k-1].height)
		}
	}
	floor := fr.bottom + 12
	for k := len(labels) - 1; k >= 0; k-- {
		tops[k] = math.Min(tops[k], floor-labels[k].height)
		floor = tops[k]
	}
	for k, l := range labels {
		x, y := fr.right+15, tops[k]
		p.line(shade(l.i), 0.6, nil, pt{l.end + 2, l.y}, pt{fr.right + 5, y + small*0.6})
		p.mark(l.i, shade(l.i), false, fr.right+9, y+small*0.6, 2.6)
		for _, line := range l.text {
			y += small * 1.15
			p.text(shade(l.i), small, true, 0, x, y-small*0.2, line)
		}
	}
}

func clampTitle(in report.Input) string {
	what := "squeeze"
	if name, _, _, _ := squeezeAxis(in); name != "" {
		what = name[:indexByte(name, '[')-1]
	}
	p := in.Results.Checks.Proportionality
	switch {
	case p == nil || !p.P.Known():
		return "The force held at each " + what
	case float64(p.P) < 1-confidence(in):
		twice, how := math.Pow(2, float64(p.Slope)), "does not rise in step"
		if math.Abs(twice-2) < 0.1 {
			how = "rises nearly in step" // many pulls show a difference that is of no use
		}
		return fmt.Sprintf("Force %s with %s: twice as much gives %s times the hold", how, what, report.Short(twice, 3))
	}
	return "As far as these pulls can tell, force rises in step with " + what
}

func slopes(in report.Input, lines map[string]analysis.ClampLine) string {
	var s string
	for _, f := range in.Results.Facings {
		l, ok := lines[f.Facing]
		if !ok || !l.Slope.Known() {
			continue
		}
		_, xUnit, _, _ := squeezeAxis(in)
		s += fmt.Sprintf("%s: %s for each unit of squeeze. ", report.Plain(f.Facing), report.Write(
			analysis.Estimate{Estimate: l.Slope, Lower: l.Lower, Upper: l.Upper},
			func(v float64) float64 { return slopeIn(v, xUnit, in.Force.FromSI) }))
	}
	return s
}

func indexByte(s string, c byte) int {
	for i := range len(s) {
		if s[i] == c {
			return i
		}
	}
	return len(s)
}
