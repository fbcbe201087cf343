package report

import (
	"fmt"
	"math"
	"slices"

	"griptrial/analysis"
)

// Methods tells in sentences how the numbers were made, for those who will
// check them.
func (in Input) Methods() []string {
	return slices.Concat(in.Procedure(), in.ModelWords(), in.DoubtWords(), in.Randomisation(), in.CheckWords())
}

// Procedure tells what a pull gives, and what is made of it.
func (in Input) Procedure() []string {
	out := []string{"A pull that slipped gives the force at which the part moved. A pull that held gives a lower bound. A void pull gives nothing; it is counted and left out."}
	switch in.Results.Quantity {
	case analysis.Mu:
		out = append(out, "The friction coefficient is the force over the number of faces, the clamp force on one face and the grip factor of the way of pulling.")
	case analysis.PerWeight:
		out = append(out, "Only the handle weight is known, so grip is the force over the weight's own force. Ratios between facings are those of the friction coefficient; the coefficient itself is not known.")
	case analysis.Force:
		out = append(out, "Neither clamp force nor handle weight is known, so forces are compared as they are.")
	}
	return out
}

// ModelWords tells what was fitted, and what its intervals and bounds mean.
func (in Input) ModelWords() []string {
	r := in.Results
	var out []string
	if r.Model.Method != "" && r.Model.Method != "none" {
		s := fmt.Sprintf("Model: %s, fitted by %s to %s.", r.Model.Formula, methodName(r.Model.Method), count(r.Model.Pulls, "pull"))
		if !r.Model.Converged {
			s += " The fit did not settle; its numbers are not to be trusted."
		}
		out = append(out, s)
	}
	for _, a := range r.AgainstControl {
		if a.Adjusted != "none" && a.Adjusted != "" {
			out = append(out, fmt.Sprintf("Ratios are of geometric means. Their %s %% intervals are adjusted (%s), so that all of them hold together with that confidence.", Given(r.Confidence*100), a.Adjusted))
			break
		}
	}
	if r.Model.Spread == analysis.SpreadsByFacing {
		out = append(out, "Ratios and tolerance bounds take the scatter of each facing; checks take the common one.")
	}
	for _, f := range r.Facings {
		if len(f.Tolerance) > 0 && f.Tolerance[0].Lower.Known() {
			t := f.Tolerance[0]
			out = append(out, fmt.Sprintf("The lower tolerance bound for %s %% is the grip that at least so many clampings exceed, with %s %% confidence.", Given(t.Coverage*100), Given(t.Confidence*100)))
			break
		}
	}
	return out
}

// Randomisation tells how the run order came about; nil without a plan.
func (in Input) Randomisation() []string {
	if p := in.Study.Plan; p.Blocks > 0 {
		return []string{fmt.Sprintf("The run order was drawn at random within %s (seed %d) and stored before the first pull.", count(p.Blocks, "block"), p.Seed)}
	}
	return nil
}

// DoubtWords says what of the uncertainty of mu cancels in ratios, and how large
// the rest is.
func (in Input) DoubtWords() []string {
	r := in.Results
	if r.Doubt == nil || len(r.AgainstControl) == 0 {
		return nil
	}
	lists := map[string][]string{}
	for _, t := range r.Doubt.Terms {
		text := t.Term
		if t.U.Known() {
			text += " (" + Short(100*float64(t.U), 2) + " % of the coefficient)"
		}
		lists[t.Ratio] = append(lists[t.Ratio], text)
	}
	out := []string{fmt.Sprintf("In a ratio of facings at one squeeze these cancel: %s. These stay: %s.", List(lists[analysis.Cancels]), List(lists[analysis.Stays]))}
	if c := r.Doubt.Clamp; c != nil {
		out = append(out, fmt.Sprintf("The clamp force, computed from the handle weight, lies between %s and %s times the value used (%s %% of %d Monte Carlo draws, seed %d); coefficients “with the doubt in the clamp force” hold that, ratios do not need it.",
			Short(float64(c.Lower), 3), Short(float64(c.Upper), 3), Given(100*r.Confidence), c.Draws, c.Seed))
	}
	return out
}

func methodName(m string) string {
	switch m {
	case "ols":
		return "least squares"
	case "reml":
		return "restricted maximum likelihood (random sample effect)"
	case "censored-reml":
		return "maximum likelihood adjusted as in the restricted one (random sample effect; held and divided readings enter as what they are)"
	case "censored-ml":
		return "maximum likelihood (held and divided readings enter as what they are)"
	}
	return m
}

// CheckWords puts the tests of the assumptions in words.
func (in Input) CheckWords() []string {
	c := in.Results.Checks
	var out []string
	add := func(p analysis.Number, good, bad string) {
		switch {
		case !p.Known():
		case float64(p) < 0.05:
			out = append(out, fmt.Sprintf("%s (p = %s).", bad, P(float64(p))))
		default:
			out = append(out, fmt.Sprintf("%s (p = %s).", good, P(float64(p))))
		}
	}
	if c.Proportionality != nil {
		add(c.Proportionality.P, fmt.Sprintf("Force in step with clamp force: slope on log scales %s, not shown to differ from 1", Short(float64(c.Proportionality.Slope), 3)),
			fmt.Sprintf("Force is not in step with clamp force: slope on log scales %s", Short(float64(c.Proportionality.Slope), 3)))
	}
	if c.BrownForsythe != nil {
		add(c.BrownForsythe.P, "Scatter not shown to differ between facings", "Scatter differs between facings")
	}
	if c.ShapiroWilk != nil {
		add(c.ShapiroWilk.P, "Residuals of log values not shown to differ from normal", "Residuals of log values are not normal")
	}
	if c.Drift != nil {
		add(c.Drift.P, "No drift over the run order shown", fmt.Sprintf("Drift over the run order: %s %% a pull", Short(100*(math.Exp(float64(c.Drift.Slope))-1), 2)))
	}
	if c.Wear != nil {
		add(c.Wear.P, "No wear over clampings shown", fmt.Sprintf("Wear: %s %% a clamping", Short(100*(math.Exp(float64(c.Wear.Slope))-1), 2)))
	}
	return out
}

// P writes a p-value: two digits, and below one in ten thousand only that.
func P(p float64) string {
	if p < 0.0001 {
		return "less than 0.0001"
	}
	return Short(p, 2)
}

// Date writes the study's date: "14 March 2026".
func (in Input) Date() string {
	if in.Made.IsZero() {
		return "date not recorded"
	}
	return in.Made.Format("2 January 2006")
}

// Title is the study's name.
func (in Input) Title() string {
	if in.Study.Name == "" {
		return "Grip trial"
	}
	return Plain(in.Study.Name)
}

// Ended tells how all pulls ended: "42 slipped, 3 held, 3 void".
func (in Input) Ended() string {
	var s, h, v int
	for _, f := range in.Results.Facings {
		s, h, v = s+f.Slipped, h+f.Held, v+f.Void
	}
	return fmt.Sprintf("%d slipped, %d held, %d void", s, h, v)
}
