package figure

import (
	"fmt"
	"math"
	"strings"

	"griptrial/analysis/slip"
	"griptrial/report"
)

const (
	mostOverlaid = 40  // traces drawn in one panel
	mostBefore   = 2.0 // s before the slip point that are drawn
	mostAfter    = 3.0 // s after it
)

// overlaid is what one panel of Overlay shows.
type overlaid struct {
	index      int
	facing     string
	traces     []report.Trace // with a slip point
	held, void int
	unmarked   int // slipped, but no point in time is known
	kinds      map[slip.Kind]int
}

// Overlay draws the traces of each facing over each other, with the slip point
// at the origin and the force as a share of the slip force: how each facing lets
// go. Pulls without a slip point in their record are counted. ok is false where
// no record has one.
func Overlay(in report.Input, full float64) (f Figure, ok bool) {
	var list []overlaid
	total := 0
	before, after := 0.3, 0.3
	for i, r := range in.Results.Facings {
		o := overlaid{index: i, facing: r.Facing, kinds: map[slip.Kind]int{}}
		for _, tr := range in.Traces {
			switch {
			case tr.Facing != r.Facing:
			case tr.Outcome == "slipped" && tr.Slip.SlipForce > 0 && !math.IsNaN(tr.Slip.SlipTime) && len(tr.Trace.T) > 1:
				o.traces = append(o.traces, tr)
				o.kinds[tr.Slip.Kind]++
				before = math.Max(before, tr.Slip.SlipTime-tr.Trace.T[0])
				after = math.Max(after, tr.Trace.T[len(tr.Trace.T)-1]-tr.Slip.SlipTime)
			case tr.Outcome == "slipped":
				o.unmarked++
			case tr.Outcome == "held":
				o.held++
			case tr.Outcome == "void":
				o.void++
			}
		}
		total += len(o.traces)
		if len(o.traces)+o.held+o.void+o.unmarked > 0 {
			list = append(list, o)
		}
	}
	if total == 0 {
		return Figure{}, false
	}
	before, after = math.Min(before, mostBefore), math.Min(after, mostAfter)
	g := gridOf(len(list), full, 150)
	f = Figure{Name: "letting-go", Title: overlayTitle(list), Width: full, Height: g.height(), Breaks: g.breaks()}
	f.Desc = "Force as a share of the slip force against the time from the slip point, the traces of each facing over each other."
	for _, o := range list {
		f.Desc += fmt.Sprintf(" %s: %s.", report.Plain(o.facing), o.words())
	}
	columns := max(12, min(60, 6000/total))
	f.draw = func(p *pen) {
		for i, o := range list {
			fr := g.frame(i, 2)
			fr.x = scale{lo: -before, hi: after, from: fr.left, to: fr.right}
			fr.y = scale{lo: 0, hi: 1.25, from: fr.bottom, to: fr.top}
			fr.draw(p)
			g.head(p, i, o.index, o.facing, o.words())
			p.line(mid, 0.7, []float64{2, 2}, pt{fr.x.at(0), fr.top}, pt{fr.x.at(0), fr.bottom})
			for _, tr := range o.chosen() {
				p.line(shade(o.index), 0.7, nil, alignedLine(tr, fr, columns)...)
			}
			if len(o.traces) > 0 {
				p.mark(0, ink, true, fr.x.at(0), fr.y.at(1), 2.6)
			}
		}
		g.axes(p, "time from the slip point [s]", "share of the slip force")
	}
	return f, true
}

// chosen takes evenly spaced traces where there are too many to draw.
func (o overlaid) chosen() []report.Trace {
	n := len(o.traces)
	if n <= mostOverlaid {
		return o.traces
	}
	var out []report.Trace
	for k := range mostOverlaid {
		out = append(out, o.traces[k*n/mostOverlaid])
	}
	return out
}

// words counts how the pulls of one facing let go.
func (o overlaid) words() string {
	var parts []string
	for _, k := range []slip.Kind{slip.Sharp, slip.StickSlip, slip.Creep} {
		if n := o.kinds[k]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, k))
		}
	}
	var missing []string
	for _, m := range []struct {
		n    int
		what string
	}{{o.held, "held"}, {o.void, "void"}, {o.unmarked, "without a slip point"}} {
		if m.n > 0 {
			missing = append(missing, fmt.Sprintf("%d %s", m.n, m.what))
		}
	}
	if missing != nil {
		parts = append(parts, "not drawn: "+strings.Join(missing, ", "))
	}
	if len(o.traces) > mostOverlaid {
		parts = append(parts, fmt.Sprintf("%d drawn", mostOverlaid))
	}
	return strings.Join(parts, ", ")
}

// alignedLine is the stretch of a record about its slip point, in the frame.
func alignedLine(tr report.Trace, fr frame, columns int) []pt {
	t, force := tr.Trace.T, tr.Trace.Force
	n := min(len(t), len(force))
	from, to := 0, n
	for from < n && t[from] < tr.Slip.SlipTime+fr.x.lo {
		from++
	}
	for to > from && t[to-1] > tr.Slip.SlipTime+fr.x.hi {
		to--
	}
	if to-from < 2 {
		return nil
	}
	rest, peak := restAndPeak(force, tr.Slip)
	sign := 1.0
	if rest > peak {
		sign = -1
	}
	dt, df := decimate(t[from:to], force[from:to], columns)
	line := make([]pt, len(dt))
	for i := range dt {
		line[i] = pt{fr.x.at(dt[i] - tr.Slip.SlipTime), fr.y.clip(sign * (df[i] - rest) / tr.Slip.SlipForce)}
	}
	return line
}

// overlayTitle says how most pulls of each facing let go.
func overlayTitle(list []overlaid) string {
	by := map[slip.Kind][]string{}
	count := map[slip.Kind]int{}
	total, told := 0, 0
	for _, o := range list {
		n := len(o.traces)
		total += n
		for k, m := range o.kinds {
			count[k] += m
			if 2*m > n {
				by[k] = append(by[k], report.Brief(o.facing, 40))
				told++
			}
		}
	}
	if len(list) > 4 || told == 0 {
		return fmt.Sprintf("Of %d slips %d let go at once, %d slipped and caught again, %d gave way gradually", total, count[slip.Sharp], count[slip.StickSlip], count[slip.Creep])
	}
	for kind, words := range map[slip.Kind]string{slip.Sharp: "Every facing lets go at once", slip.StickSlip: "Every facing slips and catches again", slip.Creep: "Every facing gives way gradually"} {
		if len(list) > 1 && len(by[kind]) == len(list) {
			return words // at most one kind has them all
		}
	}
	var parts []string
	for _, w := range []struct {
		kind      slip.Kind
		one, many string
	}{{slip.Sharp, "lets go at once", "let go at once"}, {slip.StickSlip, "slips and catches again", "slip and catch again"}, {slip.Creep, "gives way gradually", "give way gradually"}} {
		switch names := by[w.kind]; {
		case len(names) == 1:
			parts = append(parts, names[0]+" "+w.one)
		case len(names) > 1:
			parts = append(parts, report.List(names)+" "+w.many)
		}
	}
	return report.Sentence(strings.Join(parts, "; "))
}
