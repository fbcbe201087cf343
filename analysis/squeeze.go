package analysis

import "math"

// squeeze says at which handle weight each facing holds what the control holds
// at the usual weight. Grip is in proportion to the torque on the handle, so
// the share of the usual squeeze is 1/ratio, and
//
//	weight = (usual + extra)·share - extra,
//
// extra being what the handle's own mass is worth at its end. Neither screw
// nor friction enters.
func (w *work) squeeze() {
	usual := w.usualWeight()
	w.res.Usual = usual
	for _, r := range w.res.AgainstControl {
		s := Squeeze{Facing: r.Facing, Usual: usual, Weight: noEstimate(), Share: noEstimate()}
		if r.Ratio.Known() {
			s.Share = Estimate{1 / r.Ratio, 1 / r.Upper, 1 / r.Lower}
		} else {
			for _, b := range w.res.Bounds {
				if b.A == w.res.Control && b.B == r.Facing {
					s.Share.Estimate = 1 / b.AtLeast
					s.Bound = true
				}
			}
		}
		if usual.Known() {
			extra := Number(w.scale.extra)
			at := func(share Number) Number { return Number(math.Max(0, float64((usual+extra)*share-extra))) }
			if s.Share.Estimate.Known() {
				s.Weight.Estimate = at(s.Share.Estimate)
			}
			if s.Share.Lower.Known() && s.Share.Upper.Known() {
				s.Weight.Lower, s.Weight.Upper = at(s.Share.Lower), at(s.Share.Upper)
			}
		}
		s.Beyond = w.beyond(w.index[r.Facing], s)
		if s.Share.Estimate.Known() {
			w.res.LessSqueeze = append(w.res.LessSqueeze, s)
		}
	}
}

// usualWeight is the handle weight of today: as asked, or the study's usual
// level, or the greatest that was hung.
func (w *work) usualWeight() Number {
	if w.o.Usual > 0 && w.o.Usual.Known() {
		return w.o.Usual
	}
	for _, l := range w.study.Levels {
		if l.Usual && l.Weight > 0 {
			return Number(l.Weight)
		}
	}
	most := 0.0
	for _, r := range w.rows {
		most = math.Max(most, w.readings[r.at].Weight)
	}
	if most == 0 {
		return Unknown()
	}
	return Number(most)
}

// beyond reports whether the squeeze found lies outside what was tried on the
// facing. Where weights are not known, shares are taken of the greatest clamp
// force tried on the control.
func (w *work) beyond(facing int, s Squeeze) bool {
	least, most, control := math.Inf(1), 0.0, 0.0
	for _, r := range w.rows {
		v := w.readings[r.at].Weight
		if !s.Usual.Known() {
			v = w.readings[r.at].Clamp
		}
		if v == 0 {
			continue
		}
		if r.facing == w.control {
			control = math.Max(control, v)
		}
		if r.facing == facing {
			least, most = math.Min(least, v), math.Max(most, v)
		}
	}
	at := float64(s.Weight.Estimate)
	if !s.Usual.Known() {
		at = control * float64(s.Share.Estimate)
	}
	const rounding = 1e-9
	return most > 0 && at > 0 && (at < least*(1-rounding) || at > most*(1+rounding)) || s.Usual.Known() && at == 0
}
