package analysis

import (
	"math"

	"griptrial/analysis/trial"
)

// drawPulls lists every pull and the fitted lines as the figures draw them.
func (w *work) drawPulls() {
	// Rows and the model's rows are in the order of the readings.
	rows, used, fit := w.rows, w.used, []float64(nil)
	if w.model != nil {
		fit = w.model.Fit
	}
	w.res.Pulls = make([]PullResult, 0, len(w.readings))
	for i := range w.readings {
		r := &w.readings[i]
		if r.Outcome == trial.Unclear {
			continue
		}
		p := PullResult{
			Pull: r.Pull, Facing: r.Facing, Sample: r.Sample, Block: r.Block, Level: r.Level, Outcome: r.Outcome.String(),
			Force: Number(r.Force), Clamp: Unknown(), Weight: Unknown(), Value: Unknown(), Fitted: Unknown(), Note: r.Note,
			Order: counted(r.Order), Clampings: counted(r.Clampings),
		}
		if r.Clamp > 0 {
			p.Clamp = Number(r.Clamp)
		}
		if r.Weight > 0 {
			p.Weight = Number(r.Weight)
		}
		if len(rows) > 0 && rows[0].at == i {
			row := rows[0]
			rows = rows[1:]
			p.Value = Number(w.asRead(row))
			if w.res.Quantity == Mu { // measured, or computed from the handle weight
				p.Clamp = Number(row.squeeze)
			}
		}
		if len(used) > 0 && used[0].at == i {
			used = used[1:]
			if fit != nil {
				p.Fitted = exp(fit[0])
				fit = fit[1:]
			}
		}
		w.res.Pulls = append(w.res.Pulls, p)
	}
	w.drawLines()
}

// counted is a count that may not have been recorded.
func counted(c trial.Count) Number {
	if !c.Known {
		return Unknown()
	}
	return Number(c.N)
}

// drawLines gives the line of each facing: force = slope × squeeze.
func (w *work) drawLines() {
	var per float64
	switch w.res.Quantity {
	case Mu:
		per = w.scale.faces * w.scale.phi
	case PerWeight:
		per = w.scale.gravity
	default:
		return
	}
	for i, f := range w.res.Facings {
		if !f.Grip.Estimate.Known() {
			continue
		}
		l := ClampLine{Facing: f.Facing, Slope: f.Grip.Estimate * Number(per), Lower: f.Grip.Lower * Number(per), Upper: f.Grip.Upper * Number(per), Min: Number(math.Inf(1))}
		for _, r := range w.rows {
			if r.facing == i {
				l.Min, l.Max = min(l.Min, Number(r.squeeze)), max(l.Max, Number(r.squeeze))
			}
		}
		w.res.Lines = append(w.res.Lines, l)
	}
}
