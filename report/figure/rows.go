package figure

import (
	"fmt"
	"math"

	"griptrial/analysis"
	"griptrial/report"
)

// row is one facing of a figure that compares intervals.
type row struct {
	index        int // of the facing, for its mark
	name         string
	value        string // as written at the right
	mid, lo, hi  float64
	bound, upper bool // mid is only a bound; upper: the truth lies below it
	claim        float64
}

// Heights of the parts of a figure of rows.
const (
	rowHeight = 36.0
	rowsTop   = 18.0
	rowsFoot  = 40.0
)

// drawRows draws intervals under each other: name above, mark and interval
// below it, the numbers at the right.
func drawRows(p *pen, rows []row, sc scale, ticks []float64, decimals func(float64) string, axis, origin string, at float64) {
	bottom := rowsTop + float64(len(rows))*rowHeight + 4
	for _, v := range ticks {
		x := sc.at(v)
		p.line(faint, 0.5, nil, pt{x, rowsTop}, pt{x, bottom})
		p.line(ink, 0.7, nil, pt{x, bottom}, pt{x, bottom + 3})
		p.text(mid, small, false, 0.5, x, bottom+4+small, decimals(v))
	}
	p.line(ink, 0.9, nil, pt{sc.from, bottom}, pt{sc.to, bottom})
	p.text(mid, small, false, 1, sc.to, bottom+8+2*small, axis)
	x := sc.clip(at)
	p.line(ink, 1.1, nil, pt{x, rowsTop - 4}, pt{x, bottom})
	anchor := math.Max(0, math.Min(1, (x-sc.from)/(sc.to-sc.from)))
	p.text(ink, small, false, anchor, x, rowsTop-8, shorten(origin, small, false, sc.to-sc.from))
	heads := make([]rowHead, len(rows))
	for i, r := range rows {
		heads[i] = rowHead{r.name, r.value}
	}
	place := besides(sc, x, heads)
	for i, r := range rows {
		top := rowsTop + float64(i)*rowHeight
		place.draw(p, heads[i], top)
		drawRow(p, r, sc, top)
	}
}

// rowHead is what stands over the interval of a row: a name and, at the right,
// the numbers.
type rowHead struct{ name, value string }

// headPlace is where the names of all rows start and their numbers end.
type headPlace struct{ from, to float64 }

// besides finds the place for the heads of rows on which no word crosses the
// reference line at x: all names to its right or all numbers to its left.
// Where the words have no room for that they stay at the edges and the line
// gives way.
func besides(sc scale, x float64, heads []rowHead) headPlace {
	const gap = 5
	edges := headPlace{sc.from, sc.to}
	crossed := func(h headPlace) bool {
		for _, r := range heads {
			nameEnd, valueStart := h.from+width(r.name, body, true), h.to-width(r.value, body, true)
			if nameEnd+8 > valueStart || h.from < x && nameEnd+gap > x || h.to > x && valueStart-gap < x {
				return true
			}
		}
		return false
	}
	for _, h := range []headPlace{edges, {x + gap, sc.to}, {sc.from, x - gap}} {
		if !crossed(h) {
			return h
		}
	}
	return edges
}

// draw writes a head on a quiet ground.
func (h headPlace) draw(p *pen, r rowHead, top float64) {
	room := width(r.value, body, true) + 8
	name := shorten(r.name, body, true, h.to-h.from-room)
	p.rect(paper, h.from-3, top+1, width(name, body, true)+6, body+5)
	p.rect(paper, h.to-room+5, top+1, room-2, body+5)
	p.text(ink, body, true, 0, h.from, top+body+2, name)
	p.text(ink, body, true, 1, h.to, top+body+2, r.value)
}

func drawRow(p *pen, r row, sc scale, top float64) {
	y := top + 24
	if r.claim > 0 {
		x := sc.clip(r.claim)
		p.line(mid, 1, []float64{2, 1.5}, pt{x, y - 7}, pt{x, y + 7})
		p.text(mid, small, false, 1, x-3, y+9, "claim")
	}
	switch {
	case math.IsNaN(r.mid):
		p.text(mid, small, false, 0, sc.from+4, y+3, "not known")
		return
	case r.bound && r.upper:
		p.arrow(shade(r.index), sc.clip(r.mid), y, -1, 0, 22)
		return
	case r.bound:
		p.arrow(shade(r.index), sc.clip(r.mid), y, 1, 0, 22)
		return
	}
	if !math.IsNaN(r.lo) {
		a, b := sc.clip(r.lo), sc.clip(r.hi)
		p.line(shade(r.index), 2, nil, pt{a, y}, pt{b, y})
		p.line(shade(r.index), 1.2, nil, pt{a, y - 4}, pt{a, y + 4})
		p.line(shade(r.index), 1.2, nil, pt{b, y - 4}, pt{b, y + 4})
	}
	p.mark(r.index, shade(r.index), false, sc.clip(r.mid), y, 4)
}

// place finds a facing in the results, for its mark.
func place(r analysis.Results, facing string) int {
	for i, f := range r.Facings {
		if f.Facing == facing {
			return i
		}
	}
	return 0
}

// Ratios draws how many times the control's hold each facing holds. Where
// only a bound is known it is an arrow. ok is false without any of them.
func Ratios(in report.Input, wide float64) (f Figure, ok bool) {
	rows := ratioRows(in)
	lo, hi := 0.8, 1.25
	for _, r := range rows {
		for _, v := range []float64{r.mid, r.lo, r.hi, r.claim} {
			if v > 0 && !math.IsInf(v, 0) {
				// An interval that leaves no room for the others is cut at the edge.
				lo, hi = math.Min(lo, math.Max(v/1.1, 0.02)), math.Max(hi, math.Min(v*1.1, 50))
				ok = true
			}
		}
	}
	if !ok {
		return Figure{}, false
	}
	control := report.Plain(in.Results.Control)
	f = Figure{Name: "ratios", Title: ratioTitle(in), Width: wide, Height: rowsTop + float64(len(rows))*rowHeight + rowsFoot, Breaks: every(len(rows), rowsTop, rowHeight)}
	f.Desc = fmt.Sprintf("Grip as a multiple of %s, with %s %% intervals adjusted for all comparisons.", control, report.Given(confidence(in)*100))
	for _, r := range rows {
		f.Desc += fmt.Sprintf(" %s: %s.", r.name, r.value)
	}
	f.draw = func(p *pen) {
		sc := scale{lo: lo, hi: hi, from: 6, to: wide - 4, log: true}
		drawRows(p, rows, sc, thin(sc), report.Given, "times the grip of "+report.Brief(in.Results.Control, 40), "as "+report.Brief(in.Results.Control, 40), 1)
	}
	return f, true
}

// thin takes ticks out of a log scale until they do not crowd.
func thin(sc scale) []float64 {
	ticks := sc.logTicks()
	for len(ticks) > 9 {
		var kept []float64
		for i := 0; i < len(ticks); i += 3 {
			kept = append(kept, ticks[i])
		}
		ticks = kept
	}
	return ticks
}

func ratioRows(in report.Input) []row {
	var rows []row
	seen := make(map[string]bool)
	for _, x := range in.Results.AgainstControl {
		if !x.Ratio.Known() {
			continue
		}
		seen[x.Facing] = true
		r := row{index: place(in.Results, x.Facing), name: report.Plain(x.Facing), mid: float64(x.Ratio), lo: math.NaN(), hi: math.NaN()}
		iv := report.Write(analysis.Estimate{Estimate: x.Ratio, Lower: x.Lower, Upper: x.Upper}, report.Same)
		if iv.Known {
			r.lo, r.hi = float64(x.Lower), float64(x.Upper)
		}
		r.value = iv.Value + " ×"
		if iv.Known {
			r.value += " (" + iv.Lower + " to " + iv.Upper + ")"
		}
		rows = append(rows, r)
	}
	for _, b := range in.Results.Bounds {
		if b.A != in.Results.Control || !b.AtLeast.Known() || seen[b.B] {
			continue
		}
		rows = append(rows, row{index: place(in.Results, b.B), name: report.Plain(b.B), bound: true,
			mid: float64(b.AtLeast), lo: math.NaN(), hi: math.NaN(), value: "at least " + report.Short(float64(b.AtLeast), 2) + " ×"})
	}
	for _, c := range in.Study.Claims {
		for i := range rows {
			if c.Kind == "ratio" && report.Plain(c.Facing) == rows[i].name {
				rows[i].claim = c.Ratio
			}
		}
	}
	return rows
}

func ratioTitle(in report.Input) string {
	return report.Sentence(trimStop(in.Verdict().Headline))
}

// Squeeze draws the handle weight at which each facing holds what the control
// holds at the usual one. ok is false where that is not known.
func Squeeze(in report.Input, wide float64) (f Figure, ok bool) {
	u := in.WeightUnit()
	weights := false
	for _, s := range in.Results.LessSqueeze {
		weights = weights || s.Weight.Estimate.Known() && s.Usual.Known()
	}
	toUnit, name, unitName := func(v float64) float64 { return v * 100 }, "of the squeeze used on "+report.Brief(in.Results.Control, 40), "%"
	if weights {
		toUnit, name, unitName = u.FromSI, "weight on the handle for the same hold", u.Name
	}
	usual := math.NaN()
	var rows []row
	most := 0.0
	for _, s := range in.Results.LessSqueeze {
		if s.Facing == in.Results.Control {
			continue
		}
		e, at := s.Share, 1.0
		if weights {
			e, at = s.Weight, float64(s.Usual)
		}
		if !e.Estimate.Known() && !e.Upper.Known() {
			continue
		}
		usual = toUnit(at)
		r := row{index: place(in.Results, s.Facing), name: report.Plain(s.Facing), mid: toUnit(float64(e.Estimate)), lo: math.NaN(), hi: math.NaN(), bound: s.Bound, upper: true}
		iv := report.Write(e, toUnit)
		if s.Bound && !e.Estimate.Known() {
			r.mid = toUnit(float64(e.Upper))
			iv = report.Interval{Value: report.Short(r.mid, 2)}
		}
		if iv.Known && !s.Bound {
			r.lo, r.hi = toUnit(float64(e.Lower)), toUnit(float64(e.Upper))
		}
		r.value = iv.String() + " " + unitName
		if s.Bound {
			r.value = "at most " + report.Short(r.mid, 2) + " " + unitName
		}
		most = math.Max(most, math.Max(r.mid, math.Min(zeroIfNaN(r.hi), 3*usual)))
		rows = append(rows, r)
	}
	if len(rows) == 0 || math.IsNaN(usual) {
		return Figure{}, false
	}
	f = Figure{Name: "squeeze", Title: squeezeTitle(in), Width: wide, Height: rowsTop + float64(len(rows))*rowHeight + rowsFoot, Breaks: every(len(rows), rowsTop, rowHeight)}
	f.Desc = fmt.Sprintf("Squeeze at which each facing holds what %s holds at %s %s.", report.Plain(in.Results.Control), report.Given(usual), unitName)
	for _, r := range rows {
		f.Desc += fmt.Sprintf(" %s: %s.", r.name, r.value)
	}
	f.draw = func(p *pen) {
		sc := fromZero(math.Max(most, usual), 6, wide-4)
		ticks, d := sc.ticks(6)
		drawRows(p, rows, sc, ticks, func(v float64) string { return report.Number(v, d) }, name+" ["+unitName+"]",
			report.Brief(in.Results.Control, 40)+", as used today: "+report.Given(usual)+" "+unitName, usual)
	}
	return f, true
}

func zeroIfNaN(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}

func squeezeTitle(in report.Input) string {
	if s := in.Verdict().Squeeze; s != "" {
		return trimStop(s)
	}
	return "The squeeze that gives the same hold"
}

func trimStop(s string) string {
	if n := len(s); n > 0 && s[n-1] == '.' {
		return s[:n-1]
	}
	return s
}
