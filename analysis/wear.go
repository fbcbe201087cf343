package analysis

import (
	"math"

	"griptrial/analysis/dist"
)

// lasting says how long each facing lasts under the stated need; nil where none
// was stated. The tolerance bound of the facing holds at the mean number of
// earlier clampings of its pulls; from there it falls with the slope of wear.
func (w *work) lasting(slope Estimate) []Lasting {
	if !(w.o.Need > 0) || !w.o.Need.Known() {
		return nil
	}
	per, err := w.forceAtUsual()
	if err != nil {
		w.warn("no-lasting", "how long a facing lasts cannot be said: %s.", err)
		return nil
	}
	var list []Lasting
	for i, name := range w.facings {
		l := Lasting{Facing: name, Clampings: Unknown(), AtLeast: Unknown()}
		bound, _ := w.tolerance(i, 0.99)
		mean, n := 0.0, 0.0
		for _, r := range w.used {
			if c := w.readings[r.at].Clampings; r.facing == i && c.Known {
				mean += float64(c.N)
				n++
			}
		}
		if bound.Known() && n > 0 {
			spare := math.Log(float64(bound) * per / float64(w.o.Need))
			at := func(s Number) Number {
				switch {
				case !s.Known():
					return Unknown()
				case s < 0:
					return Number(math.Max(0, math.Floor(mean/n+spare/-float64(s))))
				case spare < 0: // below the need already, and not rising out of it for sure
					return 0
				}
				return Unknown()
			}
			l.Clampings, l.AtLeast = at(slope.Estimate), at(slope.Lower)
		}
		list = append(list, l)
	}
	return list
}

// lost is the share of the grip after which a facing is to be changed, unless a
// need was stated: common practice, no source.
const lost = 0.1

// wearByFacing fits the slope of each facing on its clampings beside the
// model's terms, all at once. Intervals and p-values are adjusted for the number
// of facings (Bonferroni: confidence 1 - alpha/k, p·k). A facing whose pulls all
// had as many clampings before them has no slope; with one facing the common
// slope says it all and the list holds it.
func (w *work) wearByFacing() []FacingWear {
	list := []FacingWear{}
	var rows []row
	clampings := func(r row) float64 { return float64(w.readings[r.at].Clampings.N) }
	least, most := make([]float64, len(w.facings)), make([]float64, len(w.facings))
	for i := range least {
		least[i] = math.Inf(1)
	}
	for _, r := range w.used {
		if w.readings[r.at].Clampings.Known {
			rows = append(rows, r)
			least[r.facing], most[r.facing] = math.Min(least[r.facing], clampings(r)), math.Max(most[r.facing], clampings(r))
		}
	}
	var facings []int
	var slopes [][]float64
	for i := range w.facings {
		if !(most[i] > least[i]) {
			continue
		}
		x := make([]float64, len(rows))
		for k, r := range rows {
			if r.facing == i {
				x[k] = clampings(r)
			}
		}
		facings, slopes = append(facings, i), append(slopes, x)
	}
	if len(facings) == 0 {
		return list
	}
	f, err := w.fitRows(rows, slopes)
	if err != nil {
		return list
	}
	k := float64(len(facings))
	for j, i := range facings {
		l := f.Slope(j)
		b := f.Estimate(l)
		lower, upper := f.Limits(l, 1-(1-w.o.Confidence)/k)
		t, df := f.Statistic(l)
		p := math.Min(1, k*2*dist.TSurvival(math.Abs(t), df))
		wear := FacingWear{Facing: w.facings[i], Slope: Number(b), Lower: Number(lower), Upper: Number(upper), P: Number(p), Most: Number(most[i])}
		wear.Tenth, wear.TenthAtLeast = gone(b), gone(lower)
		list = append(list, wear)
	}
	return list
}

// gone is at how many clampings the share lost of the grip is gone at a slope of
// the log value: ln(1 - lost)/slope, whole clampings down.
func gone(slope float64) Number {
	if !(slope < 0) {
		return Unknown()
	}
	return Number(math.Floor(math.Log(1-lost) / slope))
}
