package slip

import (
	"fmt"
	"math"
	"slices"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// mostEvents is how many events Why tells of, beside the chosen one.
const mostEvents = 8

// Since gives the same result with its times counted from t, in s on the
// record's clock, as where a screen counts from the start of the pull.
func (r Result) Since(t float64) Result {
	r.SlipTime -= t
	r.PeakTime -= t
	r.Evidence.Events = slices.Clone(r.Evidence.Events)
	for i := range r.Evidence.Events {
		r.Evidence.Events[i].Time -= t
	}
	return r
}

// Why gives the evidence in words, forces in the unit u, one sentence a line:
// the verdict first, then what was considered in order of time.
func (r Result) Why(u unit.Unit) []string {
	out := []string{r.verdict(u)}
	e := r.Evidence
	if r.Outcome == trial.Slipped {
		s := fmt.Sprintf("interval from: noise %s, a reading every %s", u.Format(e.Noise, 2), seconds(e.Spacing))
		if e.Step > 0 {
			s += ", read to " + u.Format(e.Step, 3)
		}
		if rise := e.approach.slope * e.Spacing; rise > 0.005*r.SlipForce {
			s += fmt.Sprintf(", load up %s between readings", u.Format(rise, 2))
		}
		out = append(out, s)
	}
	told := 0
	for i, v := range e.Events {
		switch {
		case i == e.Chosen:
			out = append(out, v.words(u)+" (chosen)")
		case told < mostEvents && v.Meaning != MeansAfter:
			out = append(out, v.words(u))
			told++
		}
	}
	if n := len(e.Events); n > told+1 {
		out = append(out, fmt.Sprintf("%d drops in all", n))
	}
	return out
}

// verdict is the outcome with its reason.
func (r Result) verdict(u unit.Unit) string {
	at := fmt.Sprintf("%s at %.3f s", u.Format(r.SlipForce, 4), r.SlipTime)
	switch {
	case slices.Contains(r.Flags, Short):
		return "unclear: no load in the record, or too little of it"
	case r.Kind == Creep:
		return "slipped: gave way gradually, knee at " + at
	case r.Outcome == trial.Slipped:
		s := "slipped: motion followed the peak of " + at
		if slices.Contains(r.Flags, TieSuspect) {
			s += "; then the load was gone for good: look at the tie"
		}
		return s
	case slices.Contains(r.Flags, TieSuspect):
		return fmt.Sprintf("unclear: the load of %s was gone at once; the tie or the part?", u.Format(r.PeakForce, 4))
	case slices.Contains(r.Flags, Faint):
		return fmt.Sprintf("unclear: the force stood near %s; holding and sliding steadily look the same", u.Format(r.PeakForce, 4))
	case r.Outcome == trial.Held && slices.Contains(r.Flags, Saturated):
		return fmt.Sprintf("held to the scale's end: at least %s", u.Format(r.PeakForce, 4))
	case r.Outcome == trial.Held:
		return fmt.Sprintf("held: no motion up to %s, a lower bound", u.Format(r.PeakForce, 4))
	}
	return "unclear"
}

// words tells one event: its size against the load's own swing, the slope of the
// load before and after, what it was taken for.
func (e Event) words(u unit.Unit) string {
	if e.Meaning == MeansCreep {
		return fmt.Sprintf("%.3f s: slope fell from %s/s to %s/s at %s and stayed low: the part gave way", e.Time, u.Format(e.Before, 2), u.Format(e.After, 2), u.Format(e.Force, 4))
	}
	if e.Meaning == MeansFaint && e.Drop < 5e-4*e.Force {
		return fmt.Sprintf("%.3f s: stood at %s without a drop", e.Time, u.Format(e.Force, 4))
	}
	s := fmt.Sprintf("%.3f s: fell %s of %s (%s %%) in %s", e.Time, u.Format(e.Drop, 2), u.Format(e.Force, 4), percent(e.Drop, e.Force), seconds(e.Fall))
	if e.Ripple > 0 {
		s += fmt.Sprintf(", %s times its swing", multiple(e.Drop/e.Ripple))
	}
	if e.Before > 0 {
		s += fmt.Sprintf("; rose at %s/s", u.Format(e.Before, 2))
	}
	switch {
	case e.After > 0:
		s += fmt.Sprintf(", then at %s/s", u.Format(e.After, 2))
	case e.Later > 0:
		s += fmt.Sprintf(", later at most %s", u.Format(e.Later, 4))
	}
	return s + ": " + map[Meaning]string{
		MeansSlip:   "the part slipped",
		MeansSeat:   "the tie settled",
		MeansHand:   "a hand",
		MeansVanish: "gone at once and for good",
		MeansFaint:  "too faint to tell",
		MeansSlide:  "eased by a hand, or a slow slide",
		MeansAfter:  "after the slip or the scale's end",
	}[e.Meaning]
}

// multiple writes how many times; beyond a hundred it matters no more.
func multiple(x float64) string {
	if x > 100 {
		return "over 100"
	}
	return fmt.Sprintf("%.2g", x)
}

func percent(part, whole float64) string {
	p := 100 * part / math.Max(whole, math.SmallestNonzeroFloat64)
	if p >= 10 {
		return fmt.Sprintf("%.0f", p)
	}
	return fmt.Sprintf("%.2g", p)
}

// seconds writes a time with the unit that suits it.
func seconds(t float64) string {
	if t < 1 {
		return fmt.Sprintf("%.3g ms", 1000*t)
	}
	return fmt.Sprintf("%.3g s", t)
}
