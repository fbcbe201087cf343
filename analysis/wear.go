package analysis

import "math"

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
