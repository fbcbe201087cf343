package figure

import (
	"fmt"
	"math"

	"griptrial/analysis"
	"griptrial/report"
)

// Normal draws what the model leaves over of each pull against where a normal
// sample would have it. Held pulls have no exact residual: they are arrows at
// the right edge. ok is false with fewer than three exact ones.
func Normal(in report.Input, full float64) (f Figure, ok bool) {
	sd := float64(in.Results.Residuals.SD)
	if !(sd > 0) {
		return Figure{}, false
	}
	reach, exact, held := 1.5, 0, 0
	for _, q := range in.Results.Pulls {
		switch {
		case q.Outcome == "held" && q.Residual.Known():
			held++
		case q.Score.Known() && q.Residual.Known():
			exact++
			reach = math.Max(reach, math.Max(math.Abs(float64(q.Score)), math.Abs(float64(q.Residual))/sd))
		}
	}
	if exact < 3 {
		return Figure{}, false
	}
	reach = math.Min(reach*1.1, 8)
	l := legendOf(in.Results, full)
	const high = 236.0
	f = Figure{Name: "residuals", Title: normalTitle(in, exact, held), Width: full, Height: high + l.height()}
	f.Desc = fmt.Sprintf("Residuals of %d pulls in standard deviations (of the log value, %s) against normal scores; on the line where the scatter is normal.", exact, report.Short(sd, 2))
	f.draw = func(p *pen) {
		fr := frame{left: yMargin, right: full - 30, top: 20, bottom: high - 34, xTicks: 7, yTicks: 6, xName: "where a normal sample would have it [sd]", yName: "what the model leaves over [sd]"}
		fr.x = scale{lo: -reach, hi: reach, from: fr.left, to: fr.right}
		fr.y = scale{lo: -reach, hi: reach, from: fr.bottom, to: fr.top}
		drawNormalBand(p, fr, in.Results.Residuals.Band)
		fr.draw(p)
		p.line(ink, 1, nil, pt{fr.x.at(-reach), fr.y.at(-reach)}, pt{fr.x.at(reach), fr.y.at(reach)})
		r := 2.6
		if exact > 200 {
			r = 1.6
		}
		edge := 0
		for _, q := range in.Results.Pulls {
			index := place(in.Results, q.Facing)
			switch {
			case !q.Residual.Known():
			case q.Outcome == "held":
				p.arrow(shade(index), fr.right+5+float64(edge%4)*6, fr.y.clip(float64(q.Residual)/sd), 0, -1, 11)
				edge++
			case q.Score.Known():
				p.mark(index, shade(index), false, fr.x.clip(float64(q.Score)), fr.y.clip(float64(q.Residual)/sd), r)
			}
		}
		if held > 0 {
			p.text(mid, small, false, 1, full, fr.top-8, fmt.Sprintf("%d held: at least", held))
		}
		voidMark(p, 0, voids(in.Results.Pulls), fr.left+60, fr.top+small+4) // a corner without pulls
		l.draw(p, high)
	}
	return f, true
}

// drawNormalBand fills where the ordered values of a normal sample lie.
func drawNormalBand(p *pen, fr frame, band []analysis.BandPoint) {
	if len(band) < 2 {
		return
	}
	var up, down []pt
	for _, b := range band {
		x := fr.x.clip(float64(b.Score))
		up = append(up, pt{x, fr.y.clip(float64(b.Upper))})
		down = append([]pt{{x, fr.y.clip(float64(b.Lower))}}, down...)
	}
	p.area(wash, append(up, down...)...)
}

func normalTitle(in report.Input, exact, held int) string {
	t := in.Results.Checks.ShapiroWilk
	switch {
	case t != nil && surely(in, t.P):
		return fmt.Sprintf("The pulls do not scatter as a normal law has it (p = %s)", report.P(float64(t.P)))
	case t != nil && t.P.Known():
		return fmt.Sprintf("As far as %d pulls can tell, they scatter as a normal law has it (p = %s)", exact, report.P(float64(t.P)))
	case held > 0:
		return fmt.Sprintf("Whether the scatter is normal, the eye has to judge: no test applies with %d held", held)
	}
	return "Whether the scatter is normal, the eye has to judge: no test applies"
}
