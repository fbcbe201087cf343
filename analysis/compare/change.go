package compare

import (
	"math"

	"griptrial/analysis/dist"
)

// Measured is a log value from one trial with its interval by Student's t:
// value ± t·SE, at a confidence that the caller knows, with DF degrees of
// freedom.
type Measured struct{ Value, Lower, Upper, DF float64 }

// Change compares a log value measured in two independent trials, for instance
// the log ratio of a facing to the control: new minus old, so that its
// exponential is a ratio of ratios.
//
//	d = new − old,  SE² = SE_old² + SE_new²,
//	df = SE⁴ / (SE_old⁴/df_old + SE_new⁴/df_new),  d ± t_df·SE
//
// where SE_i = (Upper_i − Lower_i)/(2·t_df_i). confidence is that of the
// intervals of old and new and of the one that is returned. For several
// comparisons each interval holds with 1 − (1−confidence)/comparisons, so that
// by Bonferroni's inequality all of them hold together, however they depend on
// each other, and P is multiplied by their number, up to 1; Adjusted is then
// "bonferroni", otherwise "none". Single is the comparison alone.
//
// It assumes that no pull is in both trials. ok is false where either has no
// interval.
//
// Source: Welch, The generalization of 'Student's' problem when several
// different population variances are involved, Biometrika 34 (1947) 28-35;
// Satterthwaite, Biometrics Bulletin 2 (1946) 110-114, for the degrees of
// freedom. Tested against R's t.test (testdata/reference/change.R), to 1e-9.
func Change(old, new Measured, confidence float64, comparisons int) (c Comparison, ok bool) {
	tail := (1 - confidence) / 2
	variance := func(m Measured) float64 {
		se := (m.Upper - m.Lower) / 2 / dist.TQuantile(tail, m.DF)
		return se * se
	}
	vOld, vNew := variance(old), variance(new)
	if !(vOld > 0 && vNew > 0) || math.IsInf(vOld+vNew, 0) {
		return Comparison{}, false
	}
	c = Comparison{A: 0, B: 1, Difference: new.Value - old.Value, SE: math.Sqrt(vOld + vNew), Adjusted: "none"}
	c.DF = (vOld + vNew) * (vOld + vNew) / (vOld*vOld/old.DF + vNew*vNew/new.DF)
	c.single(confidence)
	c.Lower, c.Upper, c.P = c.Single.Lower, c.Single.Upper, c.Single.P
	if n := float64(comparisons); comparisons > 1 {
		t := dist.TQuantile(tail/n, c.DF)
		c.Lower, c.Upper, c.P = c.Difference-t*c.SE, c.Difference+t*c.SE, math.Min(1, n*c.P)
		c.Adjusted = "bonferroni"
	}
	return c, true
}
