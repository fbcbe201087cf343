package study

import (
	"math"
	"strings"

	"griptrial/analysis/trial"
)

// bench looks at bench.csv by itself and beside the ledger.
func (c *check) bench() {
	b, err := c.f.readBench()
	if err != nil {
		c.add(b.name, 0, "", false, "%v", err)
		return
	}
	c.problems = append(c.problems, b.problems...)
	if n := len(b.torn); n > 0 {
		c.add(b.name, 0, "", true, "the last row was cut off while it was written (%d bytes); it is set aside when the next one is written", n)
	}
	first := map[int]Row{}
	for _, r := range c.f.ledger.rows {
		if _, ok := first[r.Pull]; !ok {
			first[r.Pull] = r
		}
	}
	last := map[int]int{} // the last mark of each pull; those before it were saved with an attempt that failed
	for i, fact := range b.facts {
		if fact.What == Moved {
			last[fact.Pull] = i
		}
	}
	for i, fact := range b.facts {
		bad := func(column, format string, args ...any) { c.add(b.name, fact.Line, column, false, format, args...) }
		if i > 0 && fact.Row <= b.facts[i-1].Row {
			bad("row", "row %d follows row %d: rows are out of order", fact.Row, b.facts[i-1].Row)
		}
		switch fact.What {
		case Looked, Weighed, Overloaded, Peeked:
			if fact.What != Peeked && strings.TrimSpace(fact.Text) == "" {
				bad("text", "a %s without its text", fact.What)
			}
		case Moved:
			r, saved := first[fact.Pull]
			switch {
			case math.IsNaN(fact.Person.T) || math.IsNaN(fact.Person.Force):
				bad("person force", "a mark without where the person put it")
			case !saved:
				c.add(b.name, fact.Line, "pull", true, "a mark of pull %d, whose saving was cut off", fact.Pull)
			case r.Trace == "":
				bad("pull", "pull %d has no trace to mark", fact.Pull)
			case last[fact.Pull] == i && r.Outcome == trial.Slipped && math.Abs(r.Force-fact.Person.Force) > 1e-9*math.Abs(r.Force):
				bad("person force", "the ledger has %g N for pull %d", r.Force, fact.Pull)
			}
		default:
			c.add(b.name, fact.Line, "what", true, "%q is not known to this griptrial", fact.What)
		}
	}
}
