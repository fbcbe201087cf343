package analysis

import (
	"errors"
	"math"

	"griptrial/analysis/compare"
	"griptrial/analysis/dist"
	"griptrial/analysis/fit"
	"griptrial/analysis/trial"
)

// suspicion is the p-value below which a check raises a warning.
const suspicion = 0.05

// check puts the assumptions to the test.
func (w *work) check() {
	if w.model != nil {
		if f, df1, df2 := w.model.FacingF(); !math.IsNaN(f) {
			w.res.Checks.ANOVA = &FTest{Number(f), Number(df1), Number(df2), Number(dist.FSurvival(f, df1, df2))}
		}
	}
	w.checkGroups()
	w.permute()
	w.checkResiduals()
	w.checkProportionality()
	if slope, p, ok := w.countSlope("drift", "run order", func(r trial.Reading) trial.Count { return r.Order }); ok {
		d := DriftTest{slope.Estimate, slope.Lower, slope.Upper, p}
		w.res.Checks.Drift = &d
		if p < suspicion {
			w.warn("drift", "the grip changes over the run order (%+.2g %% a pull, p = %.2g). Random order keeps the comparison fair; look for heat, dirt or wear.", 100*math.Expm1(float64(d.Slope)), p)
		}
	}
	if slope, p, ok := w.countSlope("wear", "clampings", func(r trial.Reading) trial.Count { return r.Clampings }); ok {
		t := WearTest{slope.Estimate, slope.Lower, slope.Upper, p, w.lasting(slope), w.wearByFacing()}
		w.res.Checks.Wear = &t
		if p < suspicion {
			w.warn("wear", "the grip changes with use (%+.2g %% a clamping, p = %.2g).", 100*math.Expm1(float64(t.Slope)), p)
		}
	}
}

// checkGroups runs the classical tests of groups.
func (w *work) checkGroups() {
	groups, ok := w.plainGroups()
	if !ok {
		switch {
		case w.sampled:
			w.warn("no-group-tests", "several pulls on one sample are not independent, so Welch's, Kruskal and Wallis's and Brown and Forsythe's tests do not apply; the fitted model does.")
		case w.bounded:
			w.warn("no-group-tests", "held or divided readings have no exact value, so Welch's, Kruskal and Wallis's and Brown and Forsythe's tests do not apply; the fitted model does.")
		default:
			w.warn("no-group-tests", "tests of groups need two facings with two slipped pulls each.")
		}
		return
	}
	if t := compare.Welch(groups); !math.IsNaN(t.P) {
		w.res.Checks.WelchANOVA = newFTest(t)
	} else {
		w.warn("no-welch", "Welch's test needs scatter in every facing; all pulls of some facing read the same.")
	}
	if t := compare.KruskalWallis(groups); !math.IsNaN(t.P) {
		w.res.Checks.KruskalWallis = &ChiTest{Number(t.Statistic), Number(t.DF), Number(t.P)}
	} else {
		w.warn("no-kruskal-wallis", "Kruskal and Wallis's test needs readings that differ.")
	}
	if t := compare.BrownForsythe(groups); !math.IsNaN(t.P) {
		w.res.Checks.BrownForsythe = newFTest(t)
	} else {
		w.warn("no-brown-forsythe", "Brown and Forsythe's test needs distances from the median that differ: three pulls of some facing at least.")
	}
}

// permute runs the permutation test where pulls are independent and exact.
func (w *work) permute() {
	if w.model == nil || w.method != "ols" || w.modelFacings() < 2 {
		w.warn("no-permutation", "a permutation test needs two facings with independent pulls, all slipped and read exactly.")
		return
	}
	draws := min(w.draws(), max(20, 1000000/len(w.used))) // time is pulls × draws
	blocks := map[string]int{}
	n := len(w.used)
	value, facing, block := make([]float64, 0, n), make([]int, 0, n), make([]int, 0, n)
	for _, r := range w.used {
		if _, ok := blocks[r.block]; !ok {
			blocks[r.block] = len(blocks)
		}
		value = append(value, r.lower)
		facing, block = append(facing, w.inModel[r.facing]), append(block, blocks[r.block])
	}
	seed := w.o.Seed // not the plan's: the same pulls give the same results, with their study or without
	w.res.Checks.Permutation = &DealTest{Number(compare.Permute(value, facing, block, draws, seed)), draws, seed}
}

func newFTest(t compare.F) *FTest {
	return &FTest{Number(t.Statistic), Number(t.DF1), Number(t.DF2), Number(t.P)}
}

// checkResiduals tests that what the model leaves over is normal.
func (w *work) checkResiduals() {
	switch {
	case w.model == nil:
		w.warn("no-shapiro-wilk", "without a fitted model there are no residuals to test for normality.")
		return
	case w.bounded:
		w.warn("no-shapiro-wilk", "held or divided readings have no exact residual, so Shapiro and Wilk's test does not apply.")
		return
	case len(w.used) > compare.ShapiroMost:
		w.warn("no-shapiro-wilk", "Shapiro and Wilk's test was made for up to %d pulls; there are %d.", compare.ShapiroMost, len(w.used))
		return
	}
	fitted := w.model.Fit
	if w.model.Predicted != nil {
		fitted = w.model.Predicted
	}
	residual := make([]float64, len(w.used))
	for i, r := range w.used {
		residual[i] = r.lower - fitted[i]
	}
	t := compare.ShapiroWilk(residual)
	if math.IsNaN(t.P) {
		w.warn("no-shapiro-wilk", "Shapiro and Wilk's test needs three pulls at least.")
		return
	}
	w.res.Checks.ShapiroWilk = &WTest{Number(t.Statistic), Number(t.P)}
	if t.P < suspicion {
		w.warn("not-normal", "the scatter of the log values is not normal (Shapiro-Wilk p = %.2g); look for a pull that is unlike the others.", t.P)
	}
}

// checkProportionality puts Coulomb's law to the test: the slope of log force
// on log squeeze beside the model's terms is 1 where it holds.
func (w *work) checkProportionality() {
	if w.model == nil {
		w.warn("no-proportionality", "without a fitted model the slope of force against squeeze cannot be had.")
		return
	}
	if w.res.Quantity == Force {
		w.warn("no-proportionality", "without the squeeze of every pull it cannot be seen whether force follows it.")
		return
	}
	x := make([]float64, len(w.used))
	for i, r := range w.used {
		x[i] = math.Log(r.squeeze)
	}
	if level(x) {
		w.warn("one-level", "all pulls at one squeeze, so it cannot be seen whether force follows it. Pull at a second clamp level.")
		return
	}
	slope, p, err := w.slope(w.used, x, 1)
	if err != nil {
		w.warn("no-proportionality", "the slope of force against squeeze cannot be had: %s.", reason(err))
		return
	}
	w.res.Checks.Proportionality = &SlopeTest{slope.Estimate, slope.Lower, slope.Upper, p}
	if p < suspicion {
		w.warn("not-proportional", "force does not follow squeeze in proportion (slope %.2f where friction has 1, p = %.2g), so results hold near the squeeze that was tried only.", slope.Estimate, p)
	}
}

// countSlope fits a recorded count beside the model's terms. ok is false, with
// a warning, where it cannot be had.
func (w *work) countSlope(code, what string, get func(trial.Reading) trial.Count) (Estimate, Number, bool) {
	var rows []row
	var x []float64
	for _, r := range w.used {
		if c := get(w.readings[r.at]); c.Known {
			rows = append(rows, r)
			x = append(x, float64(c.N))
		}
	}
	switch {
	case w.model == nil:
		w.warn("no-"+code, "without a fitted model the slope on %s cannot be had.", what)
	case len(rows) == 0:
		w.warn("no-"+code, "%s was not recorded.", what)
	case level(x):
		w.warn("no-"+code, "%s is the same for every pull.", what)
	default:
		if len(rows) < len(w.used) {
			w.warn("some-"+code, "%s is recorded for %d of %d pulls; the slope is that of those.", what, len(rows), len(w.used))
		}
		slope, p, err := w.slope(rows, x, 0)
		if err == nil {
			return slope, p, true
		}
		w.warn("no-"+code, "the slope on %s cannot be had: %s.", what, reason(err))
	}
	return Estimate{}, 0, false
}

// level reports whether all values are equal, but for rounding.
func level(x []float64) bool {
	for _, v := range x {
		if math.Abs(v-x[0]) > 1e-12*(1+math.Abs(x[0])) {
			return false
		}
	}
	return true
}

// slope fits x beside the model's terms and adds plus to its coefficient; the
// p-value is that of coefficient zero.
func (w *work) slope(rows []row, x []float64, plus float64) (Estimate, Number, error) {
	f, err := w.fitRows(rows, [][]float64{x})
	if err != nil {
		return Estimate{}, 0, err
	}
	l := f.Slope(0)
	b := f.Estimate(l)
	lower, upper := f.Limits(l, w.o.Confidence)
	t, df := f.Statistic(l)
	p := 2 * dist.TSurvival(math.Abs(t), df)
	if math.IsNaN(p) {
		w.warn("slope-scatter", "a slope beside the other effects stands without an interval, because too few pulls slipped, or the scale is too coarse, to know the scatter.")
	}
	return Estimate{Number(b + plus), Number(lower + plus), Number(upper + plus)}, Number(p), nil
}

// reason says in plain words why a slope could not be fitted.
func reason(err error) string {
	switch {
	case errors.Is(err, fit.ErrAliased):
		return "it goes along with facing or block, so they cannot be told apart"
	case errors.Is(err, fit.ErrNoFreedom):
		return "too few pulls"
	case errors.Is(err, fit.ErrNoSpread):
		return "the pulls do not scatter"
	}
	return "the fit found no maximum"
}
