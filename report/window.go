package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"griptrial/analysis"
	"griptrial/analysis/unit"
)

// WindowText is the clamp window in words and in the study's units, for every
// report and for the terminal.
type WindowText struct {
	Answer   string // one sentence
	Lead     string // what the bands are for
	Head     []string
	Rows     [][]string
	Facings  []WindowItem // what the table cannot say of a facing
	Stages   []WindowItem // what each stage of machining bears and needs
	Notes    []string
	Caution  string
	Cautions []string // of every trial; reports that show them elsewhere leave them out
}

// WindowItem is a name with lines under it.
type WindowItem struct {
	Name  string
	Lines []string
}

// WindowCaution stands with every clamp window.
const WindowCaution = "Estimates for comparing facings, not proof that a part is safely held."

// Window words the results' clamp window; ok is false where there is none.
func (in Input) Window() (t WindowText, ok bool) {
	if in.Results.Window == nil {
		return t, false
	}
	return in.WindowText(*in.Results.Window), true
}

// WindowText words a clamp window in the input's units.
func (in Input) WindowText(w analysis.Window) WindowText {
	t := WindowText{
		Answer:   windowAnswer(w) + in.windowBut(w),
		Lead:     fmt.Sprintf("Clamp force on each jaw face that holds the cut and spares the part (%.0f of 100 clampings, %s %% confidence)", 100*w.Coverage, Given(100*w.Confidence)),
		Head:     []string{"facing", "mu at least", "least to most", "on the handle", "window"},
		Caution:  WindowCaution,
		Cautions: w.Cautions,
	}
	mass := in.WeightUnit()
	for _, f := range w.Facings {
		mu, weight := Dash, Dash
		if f.Mu.Known() {
			mu = Short(float64(f.Mu), 2)
		}
		if f.LeastWeight.Known() {
			weight = bandText(f.LeastWeight, f.MostWeight, mass)
			if handleTooMuch(f) {
				weight = "none"
			}
		}
		t.Rows = append(t.Rows, []string{Brief(f.Facing, 60), mu, bandText(f.Least, f.Most, in.Force), weight, windowState(f)})
		if lines := in.windowLines(w, f); len(lines) > 0 {
			t.Facings = append(t.Facings, WindowItem{Brief(f.Facing, 60), lines})
		}
	}
	for _, s := range w.Stages {
		t.Stages = append(t.Stages, in.windowStage(w, s))
	}
	for _, n := range w.Warnings {
		t.Notes = append(t.Notes, n.Text)
	}
	return t
}

// windowWord says what the clamp window of the study's cut has against hanging
// the weight of a squeeze; "" where it has nothing, or there is none.
func (in Input) windowWord(s analysis.Squeeze) string {
	if in.Results.Window == nil {
		return ""
	}
	w := s.Weight.Upper
	if !w.Known() {
		w = s.Weight.Estimate
	}
	for _, f := range in.Results.Window.Facings {
		if f.Facing != s.Facing || !w.Known() {
			continue
		}
		mass := in.WeightUnit()
		switch {
		case f.MostWeight.Known() && w > f.MostWeight:
			return fmt.Sprintf("The part as described may not bear that: no more than %s %s.", roundDown(mass.FromSI(float64(f.MostWeight))), mass.Name)
		case f.LeastWeight.Known() && w < f.LeastWeight:
			return fmt.Sprintf("The cut as described may need more: at least %s %s.", RoundUp(mass.FromSI(float64(f.LeastWeight))), mass.Name)
		}
	}
	return ""
}

// roundDown writes a positive number with two digits, rounded down.
func roundDown(v float64) string {
	d := clampInt(1-exponent(v), 0, 12)
	p := math.Pow(10, float64(d))
	return Number(math.Floor(v*p*(1+1e-12))/p, d)
}

func windowState(f analysis.WindowFacing) string {
	switch {
	case f.Open == nil:
		return "cannot be said"
	case *f.Open:
		return fmt.Sprintf("open, margin %.2f", float64(f.Margin))
	case f.Margin < 0.01:
		return "CLOSED, below 0.01 of what is needed"
	}
	return fmt.Sprintf("CLOSED, %.2f of what is needed", math.Floor(100*float64(f.Margin))/100)
}

// handleTooMuch reports whether no weight at all spares the part.
func handleTooMuch(f analysis.WindowFacing) bool {
	return f.LeastWeight.Known() && f.Most.Known() && !f.MostWeight.Known()
}

// windowBut warns after the answer of facings whose window is open, and whose
// usual squeeze nevertheless lies outside it.
func (in Input) windowBut(w analysis.Window) string {
	var slip, crush []string
	for _, f := range w.Facings {
		if f.Open == nil || !*f.Open {
			continue
		}
		switch f.Usual {
		case "slips":
			slip = append(slip, Brief(f.Facing, 60))
		case "crushes":
			crush = append(crush, Brief(f.Facing, 60))
		}
	}
	text := ""
	if len(crush) > 0 {
		text += ", but the usual " + in.windowUsual(w) + " may be more than that"
	}
	if len(slip) > 0 {
		text += ", but at the usual " + in.windowUsual(w) + " " + strings.Join(slip, ", ") + " may let go"
	}
	return text
}

// windowUsual is the usual squeeze: the measured clamp force, or the weight.
func (in Input) windowUsual(w analysis.Window) string {
	if w.UsualClamp > 0 {
		return Given(in.Force.FromSI(float64(w.UsualClamp))) + " " + in.Force.Name
	}
	return Given(in.WeightUnit().FromSI(float64(w.Usual))) + " " + in.WeightUnit().Name
}

// usualCaution says that the usual squeeze may be more than the part of the
// study bears; "" where it is not, or nothing is known.
func (in Input) usualCaution() string {
	w := in.Results.Window
	if w == nil || !slices.ContainsFunc(w.Facings, func(f analysis.WindowFacing) bool { return f.Usual == "crushes" }) {
		return ""
	}
	return "The usual " + in.windowUsual(*w) + " may be more than the part as described bears."
}

// windowAnswer says in a sentence which facings hold.
func windowAnswer(w analysis.Window) string {
	var open []string
	said := 0
	for _, f := range w.Facings {
		if f.Open != nil {
			said++
			if *f.Open {
				open = append(open, Brief(f.Facing, 60))
			}
		}
	}
	switch {
	case said == 0:
		return "Whether a facing holds this cut within what the part bears cannot be said"
	case len(open) == 0:
		return "No facing holds this cut within what the part bears"
	case len(open) == 1 && said > 1:
		return "Only " + open[0] + " holds this cut within what the part bears"
	case len(open) == 1:
		return Sentence(open[0]) + " holds this cut within what the part bears"
	case len(open) == said:
		return "Every facing holds this cut within what the part bears"
	}
	return fmt.Sprintf("%d of %d facings hold this cut within what the part bears", len(open), said)
}

// windowLines says what the table cannot: reasons, the usual weight, the stages
// that decide, ways out.
func (in Input) windowLines(w analysis.Window, f analysis.WindowFacing) []string {
	var lines []string
	if f.Reason != "" {
		lines = append(lines, f.Reason)
	}
	if f.Usual != "" {
		fares := map[string]string{"slips": "may let go", "crushes": "may be more than the part bears", "holds": "lies inside"}[f.Usual]
		lines = append(lines, fmt.Sprintf("the usual %s %s", in.windowUsual(w), fares))
	}
	if len(w.Stages) > 1 && f.LeastStage != "" {
		text := fmt.Sprintf("stage %q asks for the most", f.LeastStage)
		if f.MostStage != "" {
			text += fmt.Sprintf(", stage %q bears the least", f.MostStage)
		}
		lines = append(lines, text)
	}
	if f.Open == nil || *f.Open {
		return lines
	}
	for _, end := range []struct {
		of          string
		least, most analysis.Number
		u           unit.Unit
	}{{"", f.Least, f.Most, in.Force}, {" on the handle", f.LeastWeight, f.MostWeight, in.WeightUnit()}} {
		if end.least > end.most { // not where either is unknown
			lines = append(lines, fmt.Sprintf("closed%s: needs at least %s, the part bears at most %s", end.of, end.u.Format(float64(end.least), 3), end.u.Format(float64(end.most), 3)))
		}
	}
	if handleTooMuch(f) {
		lines = append(lines, fmt.Sprintf("closed on the handle: needs at least %s, and the handle alone presses more than the part bears", in.WeightUnit().Format(float64(f.LeastWeight), 3)))
	}
	lines = append(lines, f.NoWays...)
	for _, way := range f.Ways {
		text := "would open it: " + way.Text
		if way.Least.Known() {
			text += " (then " + bandText(way.Least, way.Most, in.Force) + ")"
		}
		lines = append(lines, text)
	}
	if len(f.Ways) == 0 {
		lines = append(lines, "none of the changes computed opens it alone (another facing, a lighter cut, a deeper grip, another feed direction, a measured clamp force): support the part, or change several things")
	}
	return lines
}

// windowStage tells what bounds a stage, what each facing needs in it where
// there are several, and what was assumed.
func (in Input) windowStage(w analysis.Window, s analysis.WindowStage) WindowItem {
	item := WindowItem{Name: s.Stage}
	for _, l := range s.Limits {
		item.Lines = append(item.Lines, fmt.Sprintf("bears %s by %s: %s", in.Force.Format(float64(l.Force), 3), l.Kind, l.Text))
	}
	if len(w.Stages) > 1 {
		var needs []string
		for _, f := range w.Facings {
			for _, x := range f.Stages {
				if x.Stage == s.Stage {
					needs = append(needs, fmt.Sprintf("%s %s", Brief(f.Facing, 60), in.Force.Format(float64(x.Least), 3)))
				}
			}
		}
		if len(needs) > 0 {
			item.Lines = append(item.Lines, "needs at least: "+strings.Join(needs, ", "))
		}
	}
	if len(s.Assumed) > 0 {
		item.Lines = append(item.Lines, "assumed, as not given: "+strings.Join(s.Assumed, "; "))
	}
	return item
}

// bandText writes a band of SI values in a unit, "430 to 1250 N", to three
// digits of its greater end; "none" where the ends are the wrong way round.
func bandText(low, high analysis.Number, u unit.Unit) string {
	if low > high {
		return "none"
	}
	places, most := 0, analysis.Number(0)
	for _, n := range []analysis.Number{low, high} {
		if n.Known() {
			most = max(most, n)
		}
	}
	if most > 0 {
		places = max(0, 2-int(math.Floor(math.Log10(u.FromSI(float64(most))))))
	}
	end := func(n analysis.Number) string {
		if !n.Known() {
			return "?"
		}
		return strconv.FormatFloat(u.FromSI(float64(n)), 'f', places, 64)
	}
	return end(low) + " to " + end(high) + " " + u.Name
}
