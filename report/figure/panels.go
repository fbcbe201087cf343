package figure

import (
	"fmt"
	"math"

	"griptrial/analysis"
	"griptrial/report"
)

// panels lays out one small frame for each of n facings, side by side and below
// each other.
type panels struct {
	n, across  int
	wide, high float64
}

// gridOf is the layout for n panels on a width; high is that of one panel.
func gridOf(n int, full, high float64) panels {
	across := 2
	if full > 450 && n > 4 {
		across = 3
	}
	across = min(across, max(1, n))
	return panels{n, across, full / float64(across), high}
}

// height is that of all panels and of the names of the axes, which stand once
// below them.
func (g panels) height() float64 { return float64((g.n+g.across-1)/g.across)*g.high + small*1.6 }

// breaks are where the panels may be cut apart.
func (g panels) breaks() []float64 { return every((g.n+g.across-1)/g.across, 0, g.high) }

// axes writes the names of the axes, that of y at the left.
func (g panels) axes(p *pen, x, y string) {
	bottom := g.height() - 3
	p.text(mid, small, false, 0, 2, bottom, y)
	p.text(mid, small, false, 1, g.wide*float64(g.across)-8, bottom, x)
}

// frame is the plotting area of panel i, with room for a head of so many lines.
func (g panels) frame(i, lines int) frame {
	left, top := float64(i%g.across)*g.wide, float64(i/g.across)*g.high
	return frame{left: left + yMargin - 6, right: left + g.wide - 8, top: top + 8 + float64(lines)*small*1.25, bottom: top + g.high - 32, xTicks: 4, yTicks: 4}
}

// head writes a facing's mark and name, and a line below it, over its panel.
func (g panels) head(p *pen, i, index int, name, below string) {
	left, top := float64(i%g.across)*g.wide, float64(i/g.across)*g.high
	p.mark(index, shade(index), false, left+7, top+small*0.7, 2.8)
	p.text(ink, small, true, 0, left+13, top+small, shorten(report.Plain(name), small, true, g.wide-22))
	if below != "" {
		p.text(mid, small, false, 0, left+2, top+small*2.25, shorten(below, small, false, g.wide-10))
	}
}

// around is a scale about 1 that holds all values and leaves room for arrows.
func around(values []float64, from, to float64) scale {
	lo, hi := 0.92, 1.08
	for _, v := range values {
		if v > 0 && !math.IsInf(v, 0) {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	return scale{lo: lo - 0.06*(hi-lo), hi: hi + 0.1*(hi-lo), from: from, to: to}
}

// level draws the line at which the mean of a facing lies.
func level(p *pen, fr frame, at float64) {
	p.line(mid, 0.8, []float64{3, 2}, pt{fr.left, fr.y.at(at)}, pt{fr.right, fr.y.at(at)})
}

// pullMark draws one pull: an arrow where it held, a filled mark where it
// slipped.
func pullMark(p *pen, index int, q analysis.PullResult, x, y, r float64) {
	if q.Outcome == "held" {
		p.arrow(shade(index), x, y, 0, -1, 11)
		return
	}
	p.mark(index, shade(index), false, x, y, r)
}

// voidMark draws one hollow mark with the count of void pulls, which ends at
// right.
func voidMark(p *pen, index, n int, right, y float64) {
	if n == 0 {
		return
	}
	text := fmt.Sprintf("%d void", n)
	p.text(mid, small, false, 1, right, y, text)
	p.mark(index, mid, true, right-width(text, small, false)-6, y-3, 2.6)
}

// legend names the facings beside their marks, in as many rows as they need.
type legend struct {
	rows [][]entry
}

type entry struct {
	index int
	name  string
	x     float64
}

// mostNamed is how many facings a legend names; their marks repeat beyond that.
const mostNamed = 14

func legendOf(r analysis.Results, full float64) legend {
	var l legend
	x := full
	for i, f := range r.Facings {
		if i == mostNamed {
			l.rows = append(l.rows, []entry{{-1, fmt.Sprintf("and %d more facings; marks repeat after every %d", len(r.Facings)-i, shapes), 0}})
			break
		}
		name := shorten(report.Plain(f.Facing), small, false, full*0.46)
		w := width(name, small, false) + 24
		if x+w > full {
			l.rows = append(l.rows, nil)
			x = 0
		}
		last := len(l.rows) - 1
		l.rows[last] = append(l.rows[last], entry{i, name, x})
		x += w
	}
	return l
}

func (l legend) height() float64 { return float64(len(l.rows)) * small * 1.5 }

func (l legend) draw(p *pen, top float64) {
	for i, row := range l.rows {
		y := top + float64(i+1)*small*1.5 - 4
		for _, e := range row {
			if e.index >= 0 {
				p.mark(e.index, shade(e.index), false, e.x+6, y-3, 2.7)
			}
			p.text(ink, small, false, 0, e.x+13, y, e.name)
		}
	}
}

// voids counts the void pulls of a list.
func voids(pulls []analysis.PullResult) (n int) {
	for _, q := range pulls {
		if q.Outcome == "void" {
			n++
		}
	}
	return n
}

// surely reports whether a p-value is below what the confidence leaves.
func surely(in report.Input, p analysis.Number) bool {
	return p.Known() && float64(p) < 1-confidence(in)
}
