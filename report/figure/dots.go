package figure

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"griptrial/analysis"
	"griptrial/report"
)

// column is what the dot plot shows of one facing.
type column struct {
	result analysis.FacingResult
	pulls  []analysis.PullResult
}

// columns sorts the pulls under their facings, in the order of the results.
func columns(r analysis.Results) []column {
	out := make([]column, len(r.Facings))
	at := make(map[string]int)
	for i, f := range r.Facings {
		out[i].result = f
		at[f.Facing] = i
	}
	for _, p := range r.Pulls {
		if i, ok := at[p.Facing]; ok {
			out[i].pulls = append(out[i].pulls, p)
		}
	}
	return out
}

// perBand is how many facings stand beside each other at most.
const perBand = 4

// Heights of the parts of one band of the dot plot; names come below.
const (
	bandTop   = 20.0
	bandPlot  = 190.0
	bandVoid  = 15.0
	keyHeight = 46.0
)

// under is the room for names and counts below the columns of one width.
func under(cols []column, wide float64) float64 {
	name, count := 1, 1
	for _, c := range cols {
		name = max(name, len(nameLinesOf(c, wide)))
		count = max(count, len(countLinesOf(c, wide)))
	}
	return float64(name+count)*small*1.2 + 14
}

func nameLinesOf(c column, wide float64) []string {
	return wrap(report.Plain(c.result.Facing), small, true, wide-6, 3)
}

func countLinesOf(c column, wide float64) []string {
	return wrap(counts(c.result), small, false, wide-4, 2)
}

// Dots draws every pull by facing, with the geometric mean, its interval and
// the lower tolerance bound, laid out so many points wide. ok is false when no
// pull has a place.
func Dots(in report.Input, wide float64) (f Figure, ok bool) {
	cols := columns(in.Results)
	greatest := 0.0
	for _, c := range cols {
		for _, p := range c.pulls {
			if p.Value.Known() {
				greatest = math.Max(greatest, float64(p.Value))
			}
		}
		if c.result.Grip.Upper.Known() && float64(c.result.Grip.Upper) < 3*greatest {
			greatest = math.Max(greatest, float64(c.result.Grip.Upper))
		}
	}
	if greatest == 0 {
		return Figure{}, false
	}
	bands := (len(cols) + perBand - 1) / perBand
	across := (len(cols) + bands - 1) / bands
	share := math.Min((wide-yMargin)/float64(across), 150) // one facing alone stays together
	bandHeight := bandTop + bandPlot + bandVoid + under(cols, share)
	_, _, toUnit := in.Grip()
	f = Figure{
		Name: "pulls", Title: dotsTitle(in), Desc: dotsDesc(in),
		Width: wide, Height: float64(bands)*bandHeight + keyHeight, Breaks: every(bands, 0, bandHeight),
	}
	f.draw = func(p *pen) {
		for b := range bands {
			top := float64(b) * bandHeight
			fr := frame{
				left: yMargin, right: wide, top: top + bandTop, bottom: top + bandTop + bandPlot,
				y: fromZero(toUnit(greatest), top+bandTop+bandPlot, top+bandTop), yTicks: 5, yName: axisName(in),
			}
			fr.draw(p)
			for i, c := range cols[b*across : min(len(cols), (b+1)*across)] {
				drawColumn(p, fr, c, b*across+i, fr.left+float64(i)*share, share, toUnit)
			}
		}
		drawDotKey(p, float64(bands)*bandHeight, in)
	}
	return f, true
}

// axisName is the name of the grip axis with its unit.
func axisName(in report.Input) string {
	name, unitName, _ := in.Grip()
	if unitName == "" {
		return name
	}
	return name + " [" + unitName + "]"
}

// drawColumn draws one facing: the swarm of pulls, and the summary right of it.
func drawColumn(p *pen, fr frame, c column, index int, x, wide float64, toUnit func(float64) float64) {
	centre := x + wide*0.42
	r := 2.7
	if len(c.pulls) > 60 {
		r = 1.5
	}
	sw := swarm{centre: centre, half: wide * 0.34}
	voids := 0
	for _, q := range byValue(c.pulls) {
		switch {
		case q.Outcome == "void":
			voids++
		case !q.Value.Known():
		case q.Outcome == "held":
			y := fr.y.clip(toUnit(float64(q.Value)))
			p.arrow(shade(index), sw.place(3.1, y-14.5, y+1), y, 0, -1, 14)
		default:
			y := fr.y.clip(toUnit(float64(q.Value)))
			p.mark(index, shade(index), false, sw.place(r+0.2, y-r, y+r), y, r)
		}
	}
	drawSummary(p, fr, c.result, x+wide*0.86, toUnit)

	y := fr.bottom + 10
	if voids > 0 {
		p.mark(index, shade(index), true, centre-10, y-3, 2.7)
		p.text(mid, small, false, 0, centre-3, y, fmt.Sprintf("%d void", voids))
	}
	y += 4
	for _, line := range nameLinesOf(c, wide) {
		y += small * 1.2
		p.text(ink, small, true, 0.5, x+wide/2, y, line)
	}
	y += 2
	for _, line := range countLinesOf(c, wide) {
		y += small * 1.2
		p.text(mid, small, false, 0.5, x+wide/2, y, line)
	}
}

// drawSummary draws mean, interval and tolerance bounds of a facing.
func drawSummary(p *pen, fr frame, f analysis.FacingResult, x float64, toUnit func(float64) float64) {
	g := f.Grip
	if g.Lower.Known() && g.Upper.Known() {
		lo, hi := fr.y.clip(toUnit(float64(g.Lower))), fr.y.clip(toUnit(float64(g.Upper)))
		p.line(ink, 1.6, nil, pt{x, lo}, pt{x, hi})
	}
	if g.Estimate.Known() {
		y := fr.y.clip(toUnit(float64(g.Estimate)))
		p.line(ink, 1.8, nil, pt{x - 5, y}, pt{x + 5, y})
	}
	if t, ok := bound(f); ok {
		y := fr.y.clip(toUnit(float64(t.Lower)))
		p.line(ink, 0.9, []float64{2, 1.5}, pt{x - 7, y}, pt{x + 7, y})
		p.line(ink, 0.7, nil, pt{x - 2.2, y + 2.6}, pt{x, y + 5}, pt{x + 2.2, y + 2.6})
	}
}

// bound is the tolerance bound that the dot plot shows: that of the smallest
// coverage which is known.
func bound(f analysis.FacingResult) (t analysis.Tolerance, ok bool) {
	for _, x := range f.Tolerance {
		if x.Lower.Known() && (!ok || x.Coverage < t.Coverage) {
			t, ok = x, true
		}
	}
	return t, ok
}

// drawDotKey shows each kind of mark with what it means.
func drawDotKey(p *pen, top float64, in report.Input) {
	y := top + 12
	item := func(x float64, draw func(x, y float64), s string) {
		draw(x, y-3)
		p.text(mid, small, false, 0, x+9, y, s)
	}
	item(6, func(x, y float64) { p.mark(0, mid, false, x, y, 2.7) }, "slipped here")
	item(88, func(x, y float64) { p.arrow(mid, x, y+5, 0, -1, 11) }, "held: at least this")
	item(204, func(x, y float64) { p.mark(0, mid, true, x, y, 2.7) }, "void: no value")
	y += 15
	item(6, func(x, y float64) {
		p.line(ink, 1.6, nil, pt{x, y - 5}, pt{x, y + 5})
		p.line(ink, 1.8, nil, pt{x - 4, y}, pt{x + 4, y})
	}, "mean, "+report.Given(confidence(in)*100)+" % interval")
	known := analysis.Tolerance{}
	for _, f := range in.Results.Facings {
		if t, ok := bound(f); ok {
			known = t
			break
		}
	}
	if known.Coverage == 0 {
		return
	}
	y += 15
	item(8, func(x, y float64) {
		p.line(ink, 0.9, []float64{2, 1.5}, pt{x - 5, y}, pt{x + 6, y})
		p.line(ink, 0.7, nil, pt{x - 2, y + 2.4}, pt{x, y + 4.6}, pt{x + 2, y + 2.4})
	}, report.Given(known.Coverage*100)+" in 100 clampings grip better (tolerance bound)")
}

// confidence is that of the intervals; results without one have 95 %.
func confidence(in report.Input) float64 {
	if in.Results.Confidence > 0 {
		return in.Results.Confidence
	}
	return 0.95
}

// swarm finds places for marks beside each other that do not overlap.
type swarm struct {
	centre, half float64
	taken        []box
	full         int // marks that found no free place
}

type box struct{ left, right, top, bottom float64 }

// place gives the x for a mark that reaches w to each side, up to top and down
// to bottom. Where the column is full, marks overlap.
func (s *swarm) place(w, top, bottom float64) float64 {
	const step = 3
	for k := 0; ; k++ {
		off := float64((k+1)/2) * step
		if k%2 == 1 {
			off = -off
		}
		if math.Abs(off) > s.half {
			break
		}
		b := box{s.centre + off - w, s.centre + off + w, top, bottom}
		if s.free(b) {
			s.taken = append(s.taken, b)
			return s.centre + off
		}
	}
	s.full++
	return s.centre - s.half + math.Mod(float64(s.full)*0.618*2*s.half, 2*s.half)
}

func (s *swarm) free(b box) bool {
	for _, q := range s.taken {
		if b.left < q.right && q.left < b.right && b.top < q.bottom && q.top < b.bottom {
			return false
		}
	}
	return true
}

// byValue sorts pulls from the least value up, in a copy.
func byValue(pulls []analysis.PullResult) []analysis.PullResult {
	out := append([]analysis.PullResult(nil), pulls...)
	sort.SliceStable(out, func(i, j int) bool { return out[i].Value < out[j].Value })
	return out
}

// counts tells how the pulls of a facing ended: "20 slipped, 4 held".
func counts(f analysis.FacingResult) string {
	var parts []string
	for _, c := range []struct {
		n    int
		word string
	}{{f.Slipped, "slipped"}, {f.Held, "held"}} {
		if c.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", c.n, c.word))
		}
	}
	if parts == nil {
		return "no result"
	}
	return strings.Join(parts, ", ")
}

func dotsTitle(in report.Input) string {
	name, unitName, toUnit := in.Grip()
	var best *analysis.FacingResult
	var control *analysis.FacingResult
	for i, f := range in.Results.Facings {
		if f.Grip.Estimate.Known() && (best == nil || f.Grip.Estimate > best.Grip.Estimate) {
			best = &in.Results.Facings[i]
		}
		if f.Facing == in.Results.Control {
			control = &in.Results.Facings[i]
		}
	}
	if title := heldTitle(in, best); title != "" {
		return title
	}
	if best == nil {
		return "Every pull by facing"
	}
	write := func(f *analysis.FacingResult) string {
		s := report.Short(toUnit(float64(f.Grip.Estimate)), 2)
		if unitName != "" {
			s += " " + unitName
		}
		return s
	}
	first := fmt.Sprintf("%s grips most: %s %s", report.Sentence(report.Brief(best.Facing, 48)), name, write(best))
	if len(in.Results.Facings) == 1 {
		first = fmt.Sprintf("%s: %s %s", report.Sentence(report.Brief(best.Facing, 48)), name, write(best))
	}
	if control == nil || control == best || !control.Grip.Estimate.Known() {
		return first
	}
	return fmt.Sprintf("%s, against %s for %s", first, write(control), report.Brief(control.Facing, 48))
}

// heldTitle is the title where a facing without an estimate held more than the
// best estimate; "" where none did.
func heldTitle(in report.Input, best *analysis.FacingResult) string {
	name, unitName, toUnit := in.Grip()
	facing, most := "", 0.0
	for _, c := range columns(in.Results) {
		if c.result.Grip.Estimate.Known() {
			continue
		}
		for _, p := range c.pulls {
			if p.Outcome == "held" && p.Value.Known() && float64(p.Value) > most {
				facing, most = c.result.Facing, float64(p.Value)
			}
		}
	}
	if facing == "" || best != nil && most < float64(best.Grip.Estimate) {
		return ""
	}
	with := func(v float64) string {
		if unitName == "" {
			return report.Short(toUnit(v), 2)
		}
		return report.Short(toUnit(v), 2) + " " + unitName
	}
	title := fmt.Sprintf("%s never slipped: %s at least %s", report.Sentence(report.Brief(facing, 48)), name, with(most))
	if best == nil {
		return title
	}
	return fmt.Sprintf("%s, against %s for %s", title, with(float64(best.Grip.Estimate)), report.Brief(best.Facing, 48))
}

func dotsDesc(in report.Input) string {
	name, unitName, toUnit := in.Grip()
	if unitName != "" {
		name += " in " + unitName
	}
	var b strings.Builder
	fmt.Fprintf(&b, "Every pull by facing; %s.", name)
	for _, f := range in.Results.Facings {
		fmt.Fprintf(&b, " %s: %s", report.Plain(f.Facing), counts(f))
		if f.Void > 0 {
			fmt.Fprintf(&b, ", %d void", f.Void)
		}
		if f.Grip.Estimate.Known() {
			fmt.Fprintf(&b, "; mean %s", report.Write(f.Grip, toUnit))
		}
		b.WriteByte('.')
	}
	return b.String()
}
