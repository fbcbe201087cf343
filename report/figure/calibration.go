package figure

import (
	"fmt"
	"math"

	"griptrial/analysis/calibration"
	"griptrial/report"
)

// Calibration draws what a load cell reads beside its line, for each weight
// that was hung: a bend, a wrong weight and the difference between loading and
// unloading show here and not in the fit. ok is false where two loads make the
// line, which then passes through both.
func Calibration(cell string, points []calibration.Point, r calibration.Result) (f Figure, ok bool) {
	if len(points) != len(r.Residuals) || r.Line.DF < 1 || len(points) == 0 {
		return Figure{}, false
	}
	runs := 1
	for _, q := range points {
		runs = max(runs, q.Run)
	}
	sd := r.Line.ResidualSD / math.Abs(r.Span)
	reach := math.Max(2*sd, math.Abs(r.Residuals[r.Worst])) * 1.15
	if reach == 0 {
		reach = 1e-6 // every point on the line
	}
	const high = 216.0
	of := ""
	if cell != "" {
		of = " of cell " + cell
	}
	worst := points[r.Worst]
	f = Figure{Name: "calibration", Width: fullWidth, Height: high + 2*small*1.5,
		Title: fmt.Sprintf("The readings%s lie within %s N of a straight line, %s %% of the greatest load", of,
			report.Short(math.Abs(r.Residuals[r.Worst]), 2), report.Short(100*math.Abs(r.Residuals[r.Worst])/r.Line.MaxX, 2))}
	f.Desc = fmt.Sprintf("Residuals in newtons of %d readings in %s against the load. The largest is %s N, at %s N in run %d. Two standard deviations of the scatter are %s N.",
		len(points), plural(runs, "run"), report.Short(r.Residuals[r.Worst], 2), report.Short(worst.Force, 4), worst.Run, report.Short(2*sd, 2))
	f.draw = func(p *pen) {
		fr := frame{left: yMargin + 8, right: fullWidth - 10, top: 22, bottom: high - 34, xTicks: 6, yTicks: 5, xName: "load [N]", yName: "reading less line [N]"}
		fr.x = scale{lo: -0.03 * r.Line.MaxX, hi: 1.03 * r.Line.MaxX, from: fr.left, to: fr.right}
		fr.y = scale{lo: -reach, hi: reach, from: fr.bottom, to: fr.top}
		p.rect(wash, fr.left, fr.y.at(2*sd), fr.right-fr.left, fr.y.at(-2*sd)-fr.y.at(2*sd))
		fr.draw(p)
		p.line(ink, 1, nil, pt{fr.left, fr.y.at(0)}, pt{fr.right, fr.y.at(0)})
		for run := 1; run <= runs; run++ {
			var path []pt
			for i, q := range points {
				if q.Run == run {
					path = append(path, pt{fr.x.at(q.Force), fr.y.at(r.Residuals[i])})
				}
			}
			if len(path) > 1 {
				p.line(shade(run-1), 0.7, []float64{2, 2}, path...)
			}
		}
		for i, q := range points {
			p.mark(q.Run-1, shade(q.Run-1), q.Direction == calibration.Down, fr.x.at(q.Force), fr.y.at(r.Residuals[i]), 3)
		}
		x, y := fr.left, high+small
		for run := 1; run <= min(runs, 6); run++ {
			p.mark(run-1, shade(run-1), false, x+3, y-3, 3)
			text := fmt.Sprintf("run %d", run)
			p.text(mid, small, false, 0, x+9, y, text)
			x += 15 + 5.4*float64(len(text))
		}
		p.text(mid, small, false, 0, fr.left, y+small*1.5, "filled: loading, hollow: unloading; band: two standard deviations")
	}
	return f, true
}

func plural(n int, word string) string {
	if n == 1 {
		return fmt.Sprintf("%d %s", n, word)
	}
	return fmt.Sprintf("%d %ss", n, word)
}
