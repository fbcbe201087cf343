package analysis

import (
	"math"

	"griptrial/analysis/trial"
)

// drawPulls lists every pull and the fitted lines as the figures draw them.
func (w *work) drawPulls() {
	fitted := map[int]float64{}
	if w.model != nil {
		for i, r := range w.used {
			fitted[r.at] = math.Exp(w.model.Fit[i])
		}
	}
	rows := map[int]row{}
	for _, r := range w.rows {
		rows[r.at] = r
	}
	for i, r := range w.readings {
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
		if row, ok := rows[i]; ok {
			p.Value = Number(w.asRead(row))
			if w.res.Quantity == Mu { // measured, or computed from the handle weight
				p.Clamp = Number(row.squeeze)
			}
		}
		if v, ok := fitted[i]; ok {
			p.Fitted = Number(v)
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
