package report

import (
	"fmt"
	"time"
)

// NotGiven stands for what a report of a test names and nobody gave.
const NotGiven = "not given"

// Item is one thing that ISO/IEC 17025:2017 asks of the report of a test.
type Item struct {
	Clause  string
	What    string
	Says    string // the content, or where it stands
	Missing bool   // nobody gave it
}

// Places names the parts of the document that items point to.
type Places struct {
	Claim, Method, Rig, Results, Pulls, Budget, Deviations, Limits string
}

// Items lists what clauses 7.8.2 and 7.8.3 of ISO/IEC 17025:2017 ask of the
// report of a test, in our words and from memory: the standard itself decides.
// What nobody gave is marked, so that a reader sees the gap.
func (in Input) Items(at Places) []Item {
	r := in.Study.Report
	var out []Item
	given := func(clause, what string, texts ...string) {
		says := ""
		for _, t := range texts {
			if t != "" {
				if says != "" {
					says += ", "
				}
				says += Plain(t)
			}
		}
		if says == "" {
			out = append(out, Item{clause, what, NotGiven, true})
			return
		}
		out = append(out, Item{clause, what, says, false})
	}
	given("7.8.2.1 a", "title", "Validation of a grip trial: "+in.Title())
	given("7.8.2.1 b", "laboratory and its address", r.Laboratory, r.Address)
	given("7.8.2.1 c", "place of the test", r.Location)
	given("7.8.2.1 d", "number of the report; every page bears title and page x of y, and the end is marked", r.Number)
	given("7.8.2.1 e", "customer and contact", r.Customer, r.Contact)
	method := r.Method
	if method == "" {
		method = "no method named; what was done stands under " + at.Method
	}
	given("7.8.2.1 f", "method", method)
	given("7.8.2.1 g", "items tested, their marks and condition", r.Items)
	given("7.8.2.1 h", "date of receipt of the items", day(r.Received))
	given("7.8.2.1 i", "dates of the test", in.Dates())
	given("7.8.2.1 j", "date of issue of the report", day(r.Issued))
	given("7.8.2.1 k", "sampling", r.Sampling)
	given("7.8.2.1 l", "to what the results relate", "only to the items tested, as stated under "+at.Limits)
	given("7.8.2.1 m", "results with units", fmt.Sprintf("under %s; forces in %s", at.Results, in.Force.Name))
	given("7.8.2.1 n", "additions, deviations, exclusions", "under "+at.Deviations)
	given("7.8.2.1 o", "who authorises the report", r.AuthorisedBy)
	external := r.External
	if external == "" {
		external = "none stated"
	}
	given("7.8.2.1 p", "results from others", external)
	provided := r.Provided
	if provided == "" && r.Customer == "" {
		provided = "no customer is named, so nothing is marked as theirs"
	}
	given("7.8.2.2", "what the customer provided", provided)
	given("7.8.3.1 a", "conditions of the test, such as temperature", r.Conditions)
	conformity := "no claim was made"
	if len(in.Study.Claims) > 0 {
		conformity = "under " + at.Claim
	}
	given("7.8.3.1 b", "statement of conformity", conformity)
	given("7.8.3.1 c", "uncertainty of measurement", "under "+at.Budget)
	opinion := r.Opinion
	if opinion == "" {
		opinion = "none"
	}
	given("7.8.3.1 d", "opinions and interpretations", opinion)
	rule := r.DecisionRule
	if rule == "" && len(in.Study.Claims) > 0 {
		rule = fmt.Sprintf("a claim counts as shown where its whole %s %% interval supports it, as refuted where it all speaks against it, and as not decided otherwise", Given(in.confidence()*100))
	}
	if len(in.Study.Claims) > 0 || r.DecisionRule != "" {
		given("7.8.6", "decision rule", rule)
	}
	return out
}

// Dates are the first and the last day of the pulls; "" where not recorded.
func (in Input) Dates() string {
	switch {
	case in.Made.IsZero():
		return ""
	case in.Began.IsZero() || in.Began.Format(time.DateOnly) == in.Made.Format(time.DateOnly):
		return in.Date()
	}
	return in.Began.Format("2 January 2006") + " to " + in.Date()
}

// day writes a date of study.toml as the reports write dates.
func day(date string) string {
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return date
	}
	return t.Format("2 January 2006")
}

// Traceability tells how the scale is tied to known forces, as pairs of a name
// and a value.
func (in Input) Traceability() [][2]string {
	c := in.Cell
	if c == nil {
		text := "no calibration is part of the study; the division and capacity are those that study.toml states"
		if name := in.Study.Scale.Calibration; name != "" {
			text = Plain(name) + " is named in study.toml and was not found"
		}
		return [][2]string{{"Calibration", text}, {"Uncertainty of its readings", in.scaleU()}}
	}
	out := [][2]string{{"Calibration", Plain(c.File)}}
	add := func(name, text string) {
		if text == "" {
			text = NotGiven
		}
		out = append(out, [2]string{name, text})
	}
	add("Date of calibration", day(c.Date))
	add("Load cell", c.Cell)
	newtons := func(n float64) string { return in.Force.Format(n, 3) }
	add("Loads", fmt.Sprintf("%s, up to %s", count(c.Points, "point"), newtons(c.Greatest)))
	add("Uncertainty of its readings", in.scaleU())
	if c.SpanU > 0 {
		add("Span", fmt.Sprintf("known to a relative standard uncertainty of %s %%", Short(100*c.SpanU, 2)))
	}
	if c.ReadingU > 0 {
		add("One reading", fmt.Sprintf("standard uncertainty %s at %s", in.Force.Format(c.ReadingU, 2), newtons(c.Greatest)))
	}
	for _, d := range c.Deviations {
		add(Sentence(d[0]), d[1])
	}
	if c.Class != "" {
		add("ISO 376", c.Class)
	}
	weights := ""
	if c.WeightsU > 0 {
		weights = fmt.Sprintf("relative standard uncertainty %s %%, as stated", Short(100*c.WeightsU, 2))
	}
	add("Weights", weights)
	traced := ""
	for _, n := range c.Notes {
		if n[0] == "traceability" || n[0] == "certificate" {
			traced = n[1]
			continue
		}
		add(Sentence(Plain(n[0])), Plain(n[1]))
	}
	add("Traceability of the weights", traced)
	return out
}

// scaleU writes the relative standard uncertainty of the scale.
func (in Input) scaleU() string {
	if u := in.Study.Scale.U; u > 0 {
		return fmt.Sprintf("relative standard uncertainty %s %%", Short(100*u, 2))
	}
	return NotGiven
}
