package report

import (
	"fmt"
	"strings"
)

// mostListed is how many single deviations of a kind are written out.
const mostListed = 20

// Deviations holds the pulls against the run order as it was drawn, and says in
// sentences where they part: what was left out, pulled in another order, pulled
// otherwise than planned, tried again, added, corrected or void. Without any, it
// says so.
func (in Input) Deviations() []string {
	var out []string
	if len(in.Results.Pulls) == 0 {
		return []string{"Nothing was pulled yet."}
	}
	if len(in.Plan) == 0 {
		out = append(out, "No run order was drawn before the first pull, so drift and wear may be mixed with the facings.")
	} else {
		out = append(out, in.fromPlan()...)
	}
	if n := len(in.Superseded); n > 0 {
		out = append(out, fmt.Sprintf("%s corrected or withdrawn afterwards; the earlier rows stand in the table of pulls, struck through, with the reason.", were(n, "row")))
	}
	if n := in.voids(); n > 0 {
		out = append(out, fmt.Sprintf("%s void and without a value; the reason stands in the table of pulls.", was(n, "pull")))
	}
	moved := 0
	for _, l := range in.Bench {
		if l.What == "mark" {
			moved++
		}
		if l.What == "results" {
			out = append(out, fmt.Sprintf("The results so far were looked at during the trial, on %s. Stopping when they please makes them look surer than they are.", l.Time.Format("2 January 2006, 15:04")))
		}
	}
	if moved > 0 {
		out = append(out, fmt.Sprintf("A person moved the slip point of %s; tool's and person's places are both kept in bench.csv.", count(moved, "pull")))
	}
	if len(out) == 0 {
		out = append(out, fmt.Sprintf("None: all %s were made once, in the order that was drawn.", count(len(in.Plan), "planned pull")))
	}
	return out
}

// fromPlan are the deviations from a run order.
func (in Input) fromPlan() []string {
	tries := make([][]int, len(in.Plan)+1) // places in Results.Pulls, by order
	var extra, other, late []string
	highest := 0
	for i, p := range in.Results.Pulls {
		n := int(p.Order)
		if !p.Order.Known() || n < 1 || n > len(in.Plan) {
			extra = append(extra, fmt.Sprint(pullNumber(in, i)))
			continue
		}
		if len(tries[n]) == 0 && n < highest {
			late = append(late, fmt.Sprint(pullNumber(in, i)))
		}
		highest = max(highest, n)
		tries[n] = append(tries[n], i)
		if q := in.Plan[n-1]; q.Facing != p.Facing || q.Sample != "" && q.Sample != p.Sample || q.Level != "" && q.Level != p.Level {
			other = append(other, fmt.Sprintf("%d (planned: %s)", pullNumber(in, i), in.planned(n)))
		}
	}
	var missed, again []string
	for n := 1; n <= len(in.Plan); n++ {
		done, why := false, ""
		for _, i := range tries[n] {
			p := in.Results.Pulls[i]
			done = done || p.Outcome != "void"
			if in.Skipped[p.Pull] {
				why = "skipped"
				if p.Note != "" {
					why += ": " + Plain(p.Note)
				}
			}
		}
		if !done {
			text := fmt.Sprintf("%d (%s", n, in.planned(n))
			if why != "" {
				text += "; " + why
			}
			missed = append(missed, text+")")
		}
		if len(tries[n]) > 1 {
			var pulls []string
			for _, i := range tries[n] {
				pulls = append(pulls, fmt.Sprint(pullNumber(in, i)))
			}
			again = append(again, fmt.Sprintf("%d (pulls %s)", n, List(pulls)))
		}
	}
	var out []string
	add := func(list []string, one, many string) {
		switch {
		case len(list) == 1:
			out = append(out, fmt.Sprintf(one, brief(list)))
		case len(list) > 1:
			out = append(out, fmt.Sprintf(many, len(list), brief(list)))
		}
	}
	of := fmt.Sprintf(" of %d", len(in.Plan))
	add(missed, "1"+of+" planned pulls gave no result: number %s.", "%d"+of+" planned pulls gave no result: numbers %s.")
	add(late, "Pull %s was made later than its place in the order.", "%d pulls were made later than their place in the order: %s.")
	add(other, "Pull %s was made otherwise than planned.", "%d pulls were made otherwise than planned: %s.")
	add(again, "The planned pull number %s was tried more than once.", "%d planned pulls were tried more than once: numbers %s.")
	add(extra, "Pull %s stands outside the plan.", "%d pulls stand outside the plan: %s.")
	return out
}

// planned names a planned pull: "ground steel, sample 2, firm".
func (in Input) planned(n int) string {
	p := in.Plan[n-1]
	text := Brief(p.Facing, 60)
	if p.Sample != "" {
		text += ", sample " + Brief(p.Sample, 40)
	}
	if p.Level != "" {
		text += ", " + Brief(p.Level, 40)
	}
	return text
}

// pullNumber is the number of the pull at a place of the results.
func pullNumber(in Input, i int) int {
	if n := in.Results.Pulls[i].Pull; n > 0 {
		return n
	}
	return i + 1
}

// brief lists what there is room for.
func brief(list []string) string {
	if len(list) <= mostListed {
		return strings.Join(list, "; ")
	}
	return fmt.Sprintf("%s; and %d more", strings.Join(list[:mostListed], "; "), len(list)-mostListed)
}

func was(n int, noun string) string {
	if n == 1 {
		return "1 " + noun + " is"
	}
	return fmt.Sprintf("%d %ss are", n, noun)
}

func were(n int, noun string) string {
	if n == 1 {
		return "1 " + noun + " was"
	}
	return fmt.Sprintf("%d %ss were", n, noun)
}
