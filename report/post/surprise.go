package post

import (
	"fmt"
	"math"
	"strings"

	"griptrial/report"
)

// surprise tells what in the results goes against what one would expect, or
// that nothing does.
func surprise(b *strings.Builder, in report.Input) {
	if !in.Results.Anything() {
		return
	}
	b.WriteString("## The surprise\n\n")
	found := surprises(in)
	if len(found) == 0 {
		b.WriteString("Nothing in the numbers goes against what one would expect: no claim failed, and force, drift and wear did not stand out. What surprised you at the vise belongs here.\n\n")
		return
	}
	for _, s := range found {
		fmt.Fprintf(b, "%s\n\n", Escape(s))
	}
}

// surprises are sentences, the weightiest first. Each rests on a result that is
// surely there: a claim's verdict, an interval beyond 1, a check's p-value
// below what the intervals allow.
func surprises(in report.Input) []string {
	r := in.Results
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	best := in.Verdict().Best
	for _, c := range r.Claims {
		if c.Verdict != "shown" {
			say("The claim that %s was not borne out. %s.", report.Plain(c.Text), verdict(c))
		}
		if c.Claim.Kind == "ratio" && best != "" && c.Claim.Facing != best {
			say("The claim was about %s, and %s holds best.", report.Brief(c.Claim.Facing, 60), report.Brief(best, 60))
		}
	}
	for _, x := range r.AgainstControl {
		if x.Upper.Known() && x.Upper < 1 {
			say("%s holds less than %s: %s times as much, and surely less.", report.Sentence(report.Brief(x.Facing, 60)), report.Brief(r.Control, 60), report.Short(float64(x.Ratio), 2))
		}
	}
	alpha := 1 - r.Confidence
	c := r.Checks
	if c.Proportionality != nil && c.Proportionality.P.Known() && float64(c.Proportionality.P) < alpha {
		more := "less"
		if c.Proportionality.Slope > 1 {
			more = "more"
		}
		say("Twice the squeeze did not hold twice as much: it held %s times, %s than in step.", report.Short(math.Pow(2, float64(c.Proportionality.Slope)), 3), more)
	}
	if c.Drift != nil && c.Drift.P.Known() && float64(c.Drift.P) < alpha {
		say("The grip changed over the session, by %s %% from pull to pull, whatever was pulled.", report.Short(100*math.Expm1(float64(c.Drift.Slope)), 2))
	}
	if c.Wear != nil && c.Wear.P.Known() && float64(c.Wear.P) < alpha && c.Wear.Slope > 0 {
		say("The grip rose with use instead of wearing, by %s %% with each clamping.", report.Short(100*math.Expm1(float64(c.Wear.Slope)), 2))
	}
	if v := r.Variance; v.SampleSD.Known() && v.ResidualSD.Known() && v.SampleSD > v.ResidualSD {
		say("Two samples of one facing differed more (by about %s) than two pulls on one sample (about %s).", report.Percent(float64(v.SampleSD)), report.Percent(float64(v.ResidualSD)))
	}
	void, all := 0, 0
	for _, f := range r.Facings {
		void, all = void+f.Void, all+f.Slipped+f.Held+f.Void
	}
	if 10*void >= 2*all && void > 1 {
		say("%d of %d pulls were void. They are counted and left out, and the rig deserves a look.", void, all)
	}
	return out
}
