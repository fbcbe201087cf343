package analysis

import (
	"errors"
	"math"

	"griptrial/analysis/compare"
	"griptrial/analysis/fit"
)

// Spreads say whether facings share one scatter.
type Spreads string

const (
	// SpreadsAuto takes one scatter for all facings unless a test says that they
	// differ (Brown and Forsythe's on exact pulls, Bartlett's with held or divided
	// ones): at 5 % it warns, and pairs of exact pulls are compared with their own;
	// at 1 % every ratio and bound rests on the facings' own.
	SpreadsAuto Spreads = ""
	// SpreadsCommon takes one scatter for all.
	SpreadsCommon Spreads = "common"
	// SpreadsByFacing gives every facing its own.
	SpreadsByFacing Spreads = "by facing"
)

// chooseSpreads decides whether ratios, pairs and tolerance bounds rest on one
// scatter or on each facing's own. Checks and slopes stay with the common model.
func (w *work) chooseSpreads() {
	w.res.Model.Spread = SpreadsCommon
	asked := w.o.Spreads == SpreadsByFacing
	if w.model == nil || w.modelFacings() < 2 {
		return
	}
	odd := w.oddSpreads()
	if !odd.differ && !asked {
		return
	}
	apart, err := w.fitApart()
	switch {
	case w.o.Spreads == SpreadsCommon:
		w.warn("unequal-spread", "the facings' pulls scatter differently (%s p = %.2g), and one common scatter was asked for: intervals are too wide for some facings and too narrow for others.", odd.test, odd.p)
	case err == nil && (asked || odd.p < decided):
		w.separate, w.separatePairs = apart, apart
		w.res.Model.Spread = SpreadsByFacing
		if !asked {
			w.warn("unequal-spread", "the facings' pulls scatter differently (%s p = %.2g), so each is taken with its own scatter; --spread common takes one for all.", odd.test, odd.p)
		}
	case asked && errors.Is(err, fit.ErrNotSeparate):
		w.warn("no-spread-by-facing", "facings share blocks or samples, so a scatter for each alone is not fitted; the common one stands. Compare the facings in one block, with one pull on each sample.")
	case asked:
		w.warn("no-spread-by-facing", "a scatter for each facing needs two pulls of each that slipped and do not read the same; the common one stands.")
	case err == nil && w.method == "ols":
		w.separatePairs = apart
		w.warn("unequal-spread", "the facings' pulls scatter differently (%s p = %.2g); pairs are compared with each facing's own scatter, ratios to the control with the common one. --spread by-facing or --spread common takes one way for all.", odd.test, odd.p)
	default:
		why := "the model takes one common scatter"
		if errors.Is(err, fit.ErrNotSeparate) {
			why = "they share blocks or samples, so the model takes one common scatter"
		}
		w.warn("unequal-spread", "the facings' pulls scatter differently (%s p = %.2g); %s: intervals are too wide for some facings and too narrow for others.", odd.test, odd.p, why)
	}
}

// decided is the p-value below which facings are taken to scatter differently.
const decided = 0.01

// oddness is what a test of equal spreads says.
type oddness struct {
	test   string
	p      float64
	differ bool
}

// oddSpreads tests whether the facings scatter alike.
func (w *work) oddSpreads() oddness {
	if groups, ok := w.plainGroups(); ok && w.method == "ols" {
		p := compare.BrownForsythe(groups).P
		return oddness{"Brown-Forsythe", p, p < suspicion}
	}
	if w.method != "censored-ml" {
		return oddness{}
	}
	apart, err := w.fitApart()
	if err != nil {
		return oddness{}
	}
	_, _, p := apart.SpreadTest()
	return oddness{"Bartlett", p, p < suspicion}
}

// fitApart fits each facing of the model alone; once.
func (w *work) fitApart() (*fit.Fitted, error) {
	if w.alone == nil && w.aloneErr == nil {
		w.alone, w.aloneErr = fit.Separate(w.data(w.used, nil))
	}
	return w.alone, w.aloneErr
}

// compared is the model that ratios and tolerance bounds rest on.
func (w *work) compared() *fit.Fitted {
	if w.separate != nil {
		return w.separate
	}
	return w.model
}

// scatter is the log sd of single pulls on fresh samples of a facing.
func (w *work) scatter(facing int) float64 {
	m := w.compared()
	return math.Hypot(m.Spread(w.inModel[facing]), m.Tau)
}
