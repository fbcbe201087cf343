package analysis

import (
	"fmt"
	"math"
	"strconv"

	"griptrial/analysis/clamp"
	"griptrial/analysis/compare"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// judgeClaims answers the claims of the study.
func (w *work) judgeClaims() {
	for _, c := range w.study.Claims {
		v := ClaimVerdict{Claim: c, Verdict: "not decided", Lower: Unknown(), Upper: Unknown()}
		i, known := w.index[c.Facing]
		switch c.Kind {
		case "ratio":
			v.Text = fmt.Sprintf("%s holds at least %s times what %s holds", c.Facing, plain(c.Ratio), w.res.Control)
			w.judgeRatio(c, &v)
		case "same":
			v.Text = fmt.Sprintf("%s holds the same as %s within %s %%", c.Facing, w.res.Control, plain(100*c.Within))
			w.judgeSame(c, &v)
		case "force":
			share := c.Coverage
			if share == 0 {
				share = 0.99
			}
			v.Text = fmt.Sprintf("%s holds at least %s at level %s in %s of 100 clampings", c.Facing, w.inUnit(c.Force), c.Level, plain(100*share))
			if known {
				w.judgeForce(c, i, share, &v)
			}
		default:
			v.Text = fmt.Sprintf("%s: a claim of kind %q", c.Facing, c.Kind)
			v.Reason = "this kind of claim is not known; use ratio, force or same"
		}
		if !known {
			v.Reason = fmt.Sprintf("there is no facing called %q", c.Facing)
		}
		w.res.Claims = append(w.res.Claims, v)
	}
}

// plain writes a number to four digits, as a person would.
func plain(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }

// plain3 writes a number to three digits.
func plain3(v float64) string { return strconv.FormatFloat(v, 'g', 3, 64) }

// inUnit writes a force in the study's display unit.
func (w *work) inUnit(newton float64) string {
	u, err := unit.Lookup(unit.Force, w.study.Unit)
	if err != nil { // no study, or none said
		u, _ = unit.Lookup(unit.Force, "N")
	}
	return u.Format(newton, 3)
}

// against finds the comparison of a facing with the control.
func (w *work) against(facing string) (Ratio, bool) {
	for _, r := range w.res.AgainstControl {
		if r.Facing == facing {
			return r, true
		}
	}
	return Ratio{}, false
}

// judgeRatio: shown where the whole adjusted interval lies at or above the
// claimed ratio, refuted where it lies below.
func (w *work) judgeRatio(c trial.Claim, v *ClaimVerdict) {
	r, ok := w.against(c.Facing)
	if !ok {
		v.Reason = "the claim is about the control itself"
		return
	}
	v.Lower, v.Upper = r.Lower, r.Upper
	if !r.Lower.Known() || !r.Upper.Known() {
		v.Reason = fmt.Sprintf("there is no interval for the ratio; %d slipped pulls of each facing would earn one", earn)
		return
	}
	w.place(v, r.Ratio, c.Ratio, "ratio", plain3)
}

// place judges an interval against a least value, on the log scale, and says
// what would decide.
func (w *work) place(v *ClaimVerdict, estimate Number, least float64, what string, show func(float64) string) {
	switch {
	case float64(v.Lower) >= least:
		v.Verdict = "shown"
		v.Reason = fmt.Sprintf("the %s is at least %s with %s %% confidence", what, show(float64(v.Lower)), plain(100*w.o.Confidence))
	case float64(v.Upper) < least:
		v.Verdict = "refuted"
		v.Reason = fmt.Sprintf("the %s is at most %s with %s %% confidence", what, show(float64(v.Upper)), plain(100*w.o.Confidence))
	default:
		v.Reason = fmt.Sprintf("the interval of the %s, %s to %s, holds %s", what, show(float64(v.Lower)), show(float64(v.Upper)), show(least))
		gap := math.Abs(math.Log(float64(estimate) / least))
		reach := math.Log(float64(v.Upper/v.Lower)) / 2
		if times := math.Ceil(reach * reach / (gap * gap)); times >= 2 && times <= 100 {
			v.Reason += fmt.Sprintf("; about %.0f times as many pulls (samples, where they differ) would decide if the estimate stays", times)
		} else if times > 100 {
			v.Reason += "; the estimate lies so near that hardly any number of pulls would decide"
		} else {
			v.Reason += "; twice as many pulls would likely decide"
		}
	}
}

// judgeSame makes two one-sided tests (D. J. Schuirmann, Journal of
// Pharmacokinetics and Biopharmaceutics 15 (1987) 657), each at the level 1 -
// confidence: shown where the interval of confidence 2·confidence - 1 lies
// within 1/(1 + w) to 1 + w; refuted where the interval at the full confidence
// lies outside.
func (w *work) judgeSame(c trial.Claim, v *ClaimVerdict) {
	r, ok := w.against(c.Facing)
	if !ok {
		v.Reason = "the claim is about the control itself"
		return
	}
	if !r.Single.Lower.Known() || !r.Single.Upper.Known() {
		v.Reason = fmt.Sprintf("there is no interval for the ratio; %d slipped pulls of each facing would earn one", earn)
		return
	}
	m := w.compared()
	l, _ := m.Difference(w.inModel[w.control], w.inModel[w.index[c.Facing]])
	lower, upper := m.Limits(l, 2*w.o.Confidence-1)
	v.Lower, v.Upper = exp(lower), exp(upper)
	low, high := 1/(1+c.Within), 1+c.Within
	switch {
	case float64(v.Lower) >= low && float64(v.Upper) <= high:
		v.Verdict = "shown"
		v.Reason = fmt.Sprintf("the ratio lies between %.3g and %.3g, inside %.3g to %.3g", float64(v.Lower), float64(v.Upper), low, high)
	case float64(r.Single.Lower) > high || float64(r.Single.Upper) < low:
		v.Verdict = "refuted"
		v.Reason = fmt.Sprintf("the ratio lies between %.3g and %.3g, outside %.3g to %.3g", float64(r.Single.Lower), float64(r.Single.Upper), low, high)
	default:
		v.Reason = fmt.Sprintf("the ratio lies between %.3g and %.3g, which is not all inside %.3g to %.3g; more pulls narrow it", float64(v.Lower), float64(v.Upper), low, high)
	}
}

// judgeForce: shown where the lower tolerance bound of the share lies at or
// above the force at that level, refuted where its upper confidence bound lies
// below.
func (w *work) judgeForce(c trial.Claim, facing int, share float64, v *ClaimVerdict) {
	per, err := w.forcePerGrip(c.Level)
	if err != nil {
		v.Reason = err.Error()
		return
	}
	lower, upper := w.tolerance(facing, share)
	if !lower.Known() || !upper.Known() {
		v.Reason = fmt.Sprintf("the scatter is not known; %d slipped pulls of the facing would tell it", earn)
		return
	}
	v.Lower, v.Upper = lower*Number(per), upper*Number(per)
	estimate := exp((math.Log(float64(v.Lower)) + math.Log(float64(v.Upper))) / 2)
	w.place(v, estimate, c.Force, fmt.Sprintf("force that %s of 100 clampings exceed", plain(100*share)), w.inUnit)
}

// forcePerGrip is the force in N that grip 1 makes at a clamp level.
func (w *work) forcePerGrip(level string) (float64, error) {
	for _, l := range w.study.Levels {
		if l.Name != level {
			continue
		}
		switch w.res.Quantity {
		case Mu:
			at, err := clamp.OfLevel(l, w.study.Handle, w.study.Screw)
			if err != nil {
				return 0, fmt.Errorf("clamp force of level %q: %w", level, err)
			}
			return at.Value * w.scale.faces * w.scale.phi, nil
		case PerWeight:
			if l.Weight > 0 {
				return (l.Weight + w.scale.extra) * w.scale.gravity, nil
			}
		}
		return 0, fmt.Errorf("the clamp force of level %q is not known", level)
	}
	return 0, fmt.Errorf("there is no clamp level called %q", level)
}

// forceAtUsual is the force in N that grip 1 makes at the level that the shop
// uses today, or at the greatest squeeze tried where none is marked.
func (w *work) forceAtUsual() (float64, error) {
	for _, l := range w.study.Levels {
		if l.Usual {
			return w.forcePerGrip(l.Name)
		}
	}
	most := math.Inf(-1)
	for _, r := range w.used {
		most = math.Max(most, r.squeeze)
	}
	switch {
	case w.res.Quantity == Mu:
		return most * w.scale.faces * w.scale.phi, nil
	case w.res.Quantity == PerWeight:
		return most * w.scale.gravity, nil
	}
	return 1, nil
}

// outlying flags pulls that the generalised extreme studentized deviate test
// finds unlike the others; they stay in every result.
func (w *work) outlying() {
	if w.model == nil || w.bounded || len(w.used) < 15 || len(w.used) > compare.ShapiroMost {
		return
	}
	residual := make([]float64, len(w.used))
	fitted := w.model.Fit
	if w.model.Predicted != nil {
		fitted = w.model.Predicted
	}
	for i, r := range w.used {
		residual[i] = r.lower - fitted[i]
	}
	for _, i := range compare.Outliers(residual, max(1, len(residual)/10), suspicion) {
		at := w.used[i].at
		w.warn("outlier", "%s reads unlike the others (%+.0f %% off what the model expects). It stays in; if something went wrong with it, mark it void and say why.",
			name(w.readings[at], at), 100*math.Expm1(residual[i]))
	}
}
