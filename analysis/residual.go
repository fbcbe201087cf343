package analysis

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// bandPoints is the most places at which the band of normal samples is given.
const bandPoints = 41

// residuals fills in what the model leaves over of each pull, where that stands
// among normal scores, and each pull beside its facing's own mean.
//
// A residual is the log value as read less what the model expects, with the
// sample's own part where the fit predicts it. Of a held pull it is a lower
// bound, and it has no score. Normal scores are Φ⁻¹(p) at the plotting positions
// of the product-limit estimate,
//
//	p_i = 1 - (n - c + 1)/(n - 2c + 1) · prod over exact j up to i of (n - j - c + 1)/(n - j - c + 2),  c = 3/8,
//
// which are Blom's (i - c)/(n - 2c + 1) where no pull held (J. R. Michael and
// W. R. Schucany in D'Agostino and Stephens, Goodness-of-Fit Techniques, 1986,
// section 11.3, from memory). Tested against R's ppoints, and against a product
// over R's survival table where pulls held.
func (w *work) residuals() {
	w.res.Residuals = Residuals{SD: Unknown(), Band: []BandPoint{}}
	grip := make(map[string]Number, len(w.res.Facings))
	for _, f := range w.res.Facings {
		grip[f.Facing] = f.Grip.Estimate
	}
	for i := range w.res.Pulls {
		p := &w.res.Pulls[i]
		p.Residual, p.Score = Unknown(), Unknown()
		p.Relative = p.Value / grip[p.Facing]
	}
	if w.model == nil {
		return
	}
	expected, sd := w.model.Fit, math.Hypot(w.model.Sigma, w.model.Tau)
	if w.model.Predicted != nil || !w.random() {
		sd = w.model.Sigma
	}
	if w.model.Predicted != nil {
		expected = w.model.Predicted
	}
	w.res.Residuals.SD = Number(sd)
	var left []leftOver
	k := 0
	for i := range w.res.Pulls {
		p := &w.res.Pulls[i]
		if !p.Fitted.Known() || !p.Value.Known() {
			continue
		}
		p.Residual = Number(math.Log(float64(p.Value)) - expected[k])
		left = append(left, leftOver{i, float64(p.Residual), p.Outcome == "held"})
		k++
	}
	for i, score := range normalScores(left) {
		w.res.Pulls[i].Score = Number(score)
	}
	if !w.bounded {
		w.res.Residuals.Band = normalBand(len(left), w.o.Confidence)
	}
}

// leftOver is the residual of the pull at a place.
type leftOver struct {
	pull     int
	residual float64
	held     bool
}

// normalScores gives the score of each exact residual, by its pull.
func normalScores(left []leftOver) map[int]float64 {
	const c = 3.0 / 8
	order := slices.Clone(left)
	slices.SortStableFunc(order, func(a, b leftOver) int {
		switch {
		case a.residual != b.residual:
			return cmp.Compare(a.residual, b.residual)
		case a.held == b.held:
			return 0
		case b.held:
			return -1
		}
		return 1
	})
	n := float64(len(order))
	scores := make(map[int]float64, len(order))
	survival := (n - c + 1) / (n - 2*c + 1)
	for i, l := range order {
		if l.held {
			continue
		}
		j := float64(i + 1)
		survival *= (n - j - c + 1) / (n - j - c + 2)
		scores[l.pull] = distuv.UnitNormal.Quantile(1 - survival)
	}
	return scores
}

// normalBand is, at up to bandPoints places of n ordered values, the range that
// holds the value of a standard normal sample there with the confidence given,
// each place by itself: the i-th of n uniform values is beta(i, n + 1 - i)
// distributed. That the sd is estimated, and that residuals are not quite
// independent, is left out, so the band is a guide to the eye and no test.
func normalBand(n int, confidence float64) []BandPoint {
	if n < 3 {
		return []BandPoint{}
	}
	m := min(n, bandPoints)
	band := make([]BandPoint, 0, m)
	for k := range m {
		i := 1 + float64(k)*float64(n-1)/float64(m-1)
		b := distuv.Beta{Alpha: i, Beta: float64(n) + 1 - i}
		band = append(band, BandPoint{
			Score: Number(distuv.UnitNormal.Quantile((i - 0.375) / (float64(n) + 0.25))),
			Lower: Number(distuv.UnitNormal.Quantile(b.Quantile((1 - confidence) / 2))),
			Upper: Number(distuv.UnitNormal.Quantile(b.Quantile((1 + confidence) / 2))),
		})
	}
	return band
}
