package changes

import (
	"griptrial/analysis"
)

// shareRows tells whether two sides are states of one study. Rows of ledgers
// carry the time at which they were written, so that one in common is enough;
// tables of readings carry none, and hand-read forces repeat, so that more than
// half of the pulls of the shorter must stand alike under the same number (or in
// the same row, where the table numbers none).
func shareRows(old, new Side) bool {
	if old.Ledger && new.Ledger {
		have := map[Row]bool{}
		for _, r := range old.History {
			have[r] = true
		}
		for _, r := range new.History {
			if have[r] {
				return true
			}
		}
		return false
	}
	was := byPull(old.Current)
	alike, shorter := 0, min(len(old.Current), len(new.Current))
	for _, r := range new.Current {
		if before, both := was[r.Pull]; both && told(before) == told(r) {
			alike++
		}
	}
	return 2*alike > shorter
}

// told is what a row says of its pull.
func told(r Row) Row {
	return Row{Pull: r.Pull, Facing: r.Facing, Sample: r.Sample, Level: r.Level, Block: r.Block, Outcome: r.Outcome, Force: r.Force}
}

// pulls sorts the pulls of two states by what became of them.
func (c *Change) pulls(old, new Side) {
	was, ever := byPull(old.Current), byPull(new.History)
	seen := map[int]bool{}
	for _, r := range new.Current {
		seen[r.Pull] = true
		before, both := was[r.Pull]
		x := PullChange{Pull: r.Pull, Facing: r.Facing, OldForce: analysis.Unknown(), NewOutcome: r.Outcome, NewForce: force(r), Why: r.Reason}
		if both {
			x.OldOutcome, x.OldForce = before.Outcome, force(before)
		}
		switch {
		case !both:
			c.Pulls.Added = append(c.Pulls.Added, x)
		case told(before) == told(r):
			c.Pulls.Shared++
		case r.Outcome == "void" && before.Outcome != "void":
			c.Pulls.Voided = append(c.Pulls.Voided, x)
		default:
			c.Pulls.Corrected = append(c.Pulls.Corrected, x)
		}
	}
	for _, r := range old.Current {
		if seen[r.Pull] {
			continue
		}
		x := PullChange{Pull: r.Pull, Facing: r.Facing, OldOutcome: r.Outcome, OldForce: force(r), NewForce: analysis.Unknown()}
		if last, ok := ever[r.Pull]; ok && new.Ledger {
			x.Why = last.Reason
			c.Pulls.Withdrawn = append(c.Pulls.Withdrawn, x)
		} else {
			c.Pulls.Missing = append(c.Pulls.Missing, x)
		}
	}
}

// byPull gives the last row of every pull.
func byPull(rows []Row) map[int]Row {
	out := make(map[int]Row, len(rows))
	for _, r := range rows {
		out[r.Pull] = r
	}
	return out
}

// force is what a row says of the force; a void pull may say nothing.
func force(r Row) analysis.Number {
	if r.Force == 0 && r.Outcome == "void" {
		return analysis.Unknown()
	}
	return analysis.Number(r.Force)
}
