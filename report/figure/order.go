package figure

import (
	"fmt"
	"math"
	"strings"

	"griptrial/analysis"
	"griptrial/report"
)

// Order draws every pull, beside its facing's own mean, in the order in which
// they were made, with the sessions and the drift over them. ok is false where
// the order was not recorded.
func Order(in report.Input, full float64) (f Figure, ok bool) {
	var values []float64
	first, last := math.Inf(1), math.Inf(-1)
	for _, q := range in.Results.Pulls {
		if !q.Order.Known() {
			continue
		}
		first, last = math.Min(first, float64(q.Order)), math.Max(last, float64(q.Order))
		if q.Relative.Known() {
			values = append(values, float64(q.Relative))
		}
	}
	for _, b := range in.Results.Blocks {
		values = append(values, float64(b.Ratio.Lower), float64(b.Ratio.Upper))
	}
	if len(values) < 2 || !(last > first) {
		return Figure{}, false
	}
	l := legendOf(in.Results, full)
	const high = 200.0
	f = Figure{Name: "order", Title: orderTitle(in), Width: full, Height: high + l.height()}
	f.Desc = fmt.Sprintf("Grip over the facing's mean against the place in the run order, from %.0f to %.0f. %s", first, last, blockWords(in))
	f.draw = func(p *pen) {
		fr := frame{left: yMargin, right: full - 4, top: 34, bottom: high - 34, xTicks: 6, yTicks: 5, xName: "place in the run order", yName: "grip, 1 = mean of the facing"}
		fr.x = scale{lo: first - 0.02*(last-first) - 0.5, hi: last + 0.02*(last-first) + 0.5, from: fr.left, to: fr.right}
		fr.y = around(values, fr.bottom, fr.top)
		drawSessions(p, fr, in)
		fr.draw(p)
		level(p, fr, 1)
		drawDrift(p, fr, in, first, last)
		void := 0
		for _, q := range in.Results.Pulls {
			switch {
			case q.Outcome == "void":
				void++
				if q.Order.Known() {
					p.mark(place(in.Results, q.Facing), mid, true, fr.x.at(float64(q.Order)), fr.bottom-4, 2.4)
				}
			case q.Order.Known() && q.Relative.Known():
				r := 2.6
				if len(values) > 200 {
					r = 1.6
				}
				pullMark(p, place(in.Results, q.Facing), q, fr.x.at(float64(q.Order)), fr.y.clip(float64(q.Relative)), r)
			}
		}
		voidMark(p, 0, void, fr.right, fr.top-7)
		l.draw(p, high)
	}
	return f, true
}

// drawSessions shades every other session, names it, and draws its mean with
// its interval.
func drawSessions(p *pen, fr frame, in report.Input) {
	for i, b := range in.Results.Blocks {
		if !b.First.Known() || !b.Last.Known() {
			continue
		}
		x0, x1 := fr.x.clip(float64(b.First)-0.5), fr.x.clip(float64(b.Last)+0.5)
		if i%2 == 0 {
			p.rect(wash, x0, fr.top, x1-x0, fr.bottom-fr.top)
		}
		if name := sessionName(b.Block); x1-x0 > 14 {
			if width(name, small, false) > x1-x0-4 {
				name = shorten(report.Brief(b.Block, 40), small, false, x1-x0-4)
			}
			p.text(mid, small, false, 0, x0+2, fr.top+small+1, name)
		}
		if b.Ratio.Estimate.Known() {
			y := fr.y.clip(float64(b.Ratio.Estimate))
			p.line(mid, 2.2, nil, pt{x0 + 1, y}, pt{x1 - 1, y})
		}
	}
}

// sessionName calls a block that has only a number a session.
func sessionName(block string) string {
	name := report.Brief(block, 40)
	if strings.Trim(name, "0123456789") == "" {
		return "session " + name
	}
	return name
}

// drawDrift draws the fitted drift through the middle of the run: full where it
// is shown, dotted where it is not.
func drawDrift(p *pen, fr frame, in report.Input, first, last float64) {
	d := in.Results.Checks.Drift
	if d == nil || !d.Slope.Known() {
		return
	}
	m := (first + last) / 2
	at := func(x float64) pt {
		return pt{fr.x.at(x), fr.y.clip(math.Exp(float64(d.Slope) * (x - m)))}
	}
	dash := []float64{1, 2.5}
	if surely(in, d.P) {
		dash = nil
	}
	p.line(ink, 1.3, dash, at(first), at(m), at(last))
}

func orderTitle(in report.Input) string {
	d := in.Results.Checks.Drift
	title := "Whether the grip drifted over the run cannot be said from these pulls"
	switch {
	case d != nil && surely(in, d.P):
		title = fmt.Sprintf("The grip drifts by %s %% a pull over the run; random order keeps the comparison fair", report.Short(100*math.Expm1(float64(d.Slope)), 2))
	case d != nil && d.Lower.Known() && d.Upper.Known():
		title = fmt.Sprintf("No drift over the run shown: between %s and %s %% a pull", report.Short(100*math.Expm1(float64(d.Lower)), 2), report.Short(100*math.Expm1(float64(d.Upper)), 2))
	}
	if s := apart(in.Results.Blocks); s != "" {
		title += "; " + s
	}
	return title
}

// apart says how far the sessions lie apart.
func apart(blocks []analysis.BlockEffect) string {
	lo, hi := math.Inf(1), 0.0
	for _, b := range blocks {
		if b.Ratio.Estimate.Known() {
			lo, hi = math.Min(lo, float64(b.Ratio.Estimate)), math.Max(hi, float64(b.Ratio.Estimate))
		}
	}
	if !(hi > lo) {
		return ""
	}
	return fmt.Sprintf("sessions lie %s %% apart", report.Short(100*(hi/lo-1), 2))
}

func blockWords(in report.Input) string {
	s := ""
	for _, b := range in.Results.Blocks {
		s += fmt.Sprintf("%s: %s times the mean. ", report.Sentence(sessionName(b.Block)), report.Write(b.Ratio, report.Same))
	}
	return s
}
