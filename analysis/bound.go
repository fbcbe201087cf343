package analysis

import "math"

// earn is the number of slipped pulls of each of two facings from which an
// interval is worth printing: two of each leave 2 degrees of freedom and a t
// of 4.3, three of each leave 4 and a t of 2.8.
const earn = 3

// boundRatios says what held pulls tell where no ratio can be estimated. A
// facing of which every pull held grips, in the geometric mean, at least as
// the geometric mean of its bounds; over the geometric mean of the other's
// slipped pulls that is a lower bound for the ratio, without a statement of
// confidence. Readings are taken as read: a division blurs both sides.
func (w *work) boundRatios() {
	for i := range w.facings {
		if i == w.control {
			continue
		}
		a, b := w.control, i
		if w.slipped[b] > 0 {
			a, b = b, a
		}
		if w.slipped[a] == 0 || w.slipped[b] > 0 || w.held[b] == 0 {
			continue
		}
		slipped, n := w.readMean(a, false)
		held, m := w.readMean(b, true)
		bound := BoundRatio{A: w.facings[a], B: w.facings[b], AtLeast: exp(held - slipped), PullsA: n, PullsB: m, PullsFor: earn}
		w.res.Bounds = append(w.res.Bounds, bound)
		w.warn("bound-only", "%s holds at least about %.2g times what %s holds: a lower bound from %s that slipped and %s that held, without an interval. %d slipped pulls of each would earn one.",
			bound.B, float64(bound.AtLeast), bound.A, count(n, "pull", "pulls"), count(m, "pull", "pulls"), earn)
	}
}

// readMean is the mean log value of a facing's slipped or held pulls, as read.
func (w *work) readMean(facing int, held bool) (mean float64, n int) {
	for _, r := range w.rows {
		if r.facing == facing && r.held() == held {
			mean += math.Log(w.asRead(r))
			n++
		}
	}
	return mean / float64(n), n
}

// asRead is the value of what was read, without regard to the division.
func (w *work) asRead(r row) float64 {
	divide := 1.0
	switch w.res.Quantity {
	case Mu:
		divide = w.scale.faces * w.scale.phi * r.squeeze
	case PerWeight:
		divide = w.scale.gravity * r.squeeze
	}
	return w.readings[r.at].Force / divide
}
