package study

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"griptrial/analysis/plan"
	"griptrial/analysis/trial"
)

// Check looks at everything in the folder: the ledger's rows and checksums,
// corrections, traces against their SHA-256, the plan against its seed. A study
// is whole when no problem remains that is not a Note.
func (f *Folder) Check() []Problem {
	c := &check{f: f, problems: slices.Clone(f.ledger.problems)}
	if n := len(f.ledger.torn); n > 0 {
		c.add(f.ledger.name, strings.Count(c.ledgerText(), "\n")+1, "", false,
			"the last row was cut off while it was written (%d bytes); it is not a saved pull. The next `griptrial log` or `bench` sets it aside", n)
	}
	c.rows()
	c.traces()
	c.leftovers()
	c.bench()
	c.plan()
	c.rig()
	if p := f.CalibrationPath(); p != "" {
		if _, err := f.disk.Stat(p); err != nil {
			c.add(p, 0, "", false, "the calibration that %s names is not there", SetupFile)
		}
	}
	return c.problems
}

type check struct {
	f        *Folder
	problems []Problem
}

func (c *check) add(file string, line int, column string, note bool, format string, args ...any) {
	c.problems = append(c.problems, Problem{File: file, Line: line, Column: column, What: fmt.Sprintf(format, args...), Note: note})
}

// ledgerText is the part of the ledger that is whole.
func (c *check) ledgerText() string {
	b, err := c.f.disk.ReadFile(c.f.ledger.name)
	if err != nil {
		return ""
	}
	return string(b[:min(int64(len(b)), c.f.ledger.end)])
}

// rows looks at what the rows say of each other and of study.toml.
func (c *check) rows() {
	l := c.f.ledger
	seen := map[int]Row{}
	superseded := map[int]int{}
	firstOf := map[int]int{}  // the first row of each pull
	refused := map[int]bool{} // rows that could not be read
	for i, r := range l.rows {
		bad := func(column, format string, args ...any) { c.add(l.name, r.Line, column, false, format, args...) }
		before, line := 0, 0
		if i > 0 {
			before, line = l.rows[i-1].Row, l.rows[i-1].Line
		}
		switch gap := r.Row - before - 1; {
		case gap == 0:
		case gap > 0 && gap == l.refusedBetween(line, r.Line):
			for n := before + 1; n < r.Row; n++ {
				refused[n] = true // it was told already
			}
		case i == 0:
			bad("row", "the first row is %d: rows before it are missing", r.Row)
		default:
			bad("row", "row %d follows row %d: rows are missing or out of order", r.Row, before)
		}
		if r.Supersedes > 0 {
			old, ok := seen[r.Supersedes]
			switch {
			case refused[r.Supersedes]:
			case !ok:
				bad("supersedes", "there is no earlier row %d", r.Supersedes)
			case old.Pull != r.Pull:
				bad("supersedes", "row %d is of pull %d, not %d", r.Supersedes, old.Pull, r.Pull)
			case superseded[r.Supersedes] != 0:
				bad("supersedes", "row %d was superseded by row %d before", r.Supersedes, superseded[r.Supersedes])
			}
			if r.Reason == "" {
				bad("reason", "a correction without a reason")
			}
			superseded[r.Supersedes] = r.Row
		} else {
			if first := firstOf[r.Pull]; first != 0 {
				bad("pull", "pull %d stands in row %d already, and this row does not supersede it", r.Pull, first)
			}
			firstOf[r.Pull] = r.Row
		}
		seen[r.Row] = r
		if what, column := c.f.unknown(r.Facing, r.Sample, r.Level); what != "" {
			bad(column, "%s", what)
		}
		if c.f.HasPlan() && r.Order.Known && (r.Order.N < 1 || r.Order.N > len(c.f.plan)) {
			bad("order", "the plan has no pull of order %d", r.Order.N)
		}
	}
	orders := map[int]Row{}
	for _, r := range c.f.current() {
		if !c.f.HasPlan() || !r.Order.Known || r.Outcome == trial.Void {
			continue
		}
		if first, twice := orders[r.Order.N]; twice {
			c.add(l.name, r.Line, "order", false, "the planned pull %d was done in row %d already", r.Order.N, first.Row)
		}
		orders[r.Order.N] = r
		if r.Order.N < 1 || r.Order.N > len(c.f.plan) {
			continue
		}
		if p := c.f.plan[r.Order.N-1]; p.Facing != r.Facing || p.Sample != r.Sample || p.Level != r.Level {
			c.add(l.name, r.Line, "order", true, "the plan has %s %s %s as pull %d, and %s %s %s was pulled", p.Facing, p.Sample, p.Level, p.Order, r.Facing, r.Sample, r.Level)
		}
	}
}

// traces holds each trace against the row that names it.
func (c *check) traces() {
	named := map[string]Row{}
	for _, r := range c.f.ledger.rows {
		if r.Trace == "" {
			continue
		}
		if r.Trace != traceName(r.Pull) {
			c.add(c.f.ledger.name, r.Line, "trace", false, "%q is not the trace of pull %d", r.Trace, r.Pull)
			continue
		}
		if first, ok := named[r.Trace]; ok {
			if first.SHA256 != r.SHA256 {
				c.add(c.f.ledger.name, r.Line, "sha256", false, "row %d gives another one for the same trace", first.Row)
			}
			continue
		}
		named[r.Trace] = r
		path := c.f.path(TraceDir, r.Trace)
		b, err := c.f.disk.ReadFile(path)
		if err != nil {
			c.add(path, 0, "", false, "the trace of pull %d cannot be read: %v", r.Pull, err)
			continue
		}
		if sum := sha256.Sum256(b); hex.EncodeToString(sum[:]) != r.SHA256 {
			c.add(path, 0, "", false, "the trace of pull %d is not as it was saved: its SHA-256 differs from the one in row %d", r.Pull, r.Row)
		}
		if info, err := c.f.disk.Stat(path); err == nil && info.Mode().Perm()&0o222 != 0 {
			c.add(path, 0, "", true, "the trace is no longer marked read-only")
		}
	}
	names, err := c.f.disk.ReadDir(c.f.path(TraceDir))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		c.add(c.f.path(TraceDir), 0, "", false, "%v", err)
	}
	for _, n := range names {
		path := c.f.path(TraceDir, n.Name())
		_, mine := named[n.Name()]
		switch {
		case mine:
		case strings.HasSuffix(n.Name(), unfinishedAfter):
			c.add(path, 0, "", true, "a recording that was not finished, or is going on now")
		case strings.Contains(n.Name(), ".unfinished-"):
			c.add(path, 0, "", true, "a recording that was cut off before its pull was judged; kept aside")
		default:
			c.add(path, 0, "", true, "a trace without a row in the ledger: its pull was not saved")
		}
	}
}

// leftovers tells of what an earlier fault left in the folder.
func (c *check) leftovers() {
	names, err := c.f.disk.ReadDir(c.f.dir)
	if err != nil {
		c.add(c.f.dir, 0, "", false, "%v", err)
	}
	for _, n := range names {
		switch {
		case strings.HasPrefix(n.Name(), "pulls.torn-"):
			c.add(c.f.path(n.Name()), 0, "", true, "a ledger row that was cut off while it was written; it was never a saved pull, and is kept aside")
		case strings.HasPrefix(n.Name(), "bench.torn-"):
			c.add(c.f.path(n.Name()), 0, "", true, "a row of %s that was cut off while it was written; kept aside", BenchFile)
		case strings.HasSuffix(n.Name(), ".tmp"):
			c.add(c.f.path(n.Name()), 0, "", true, "a file that was never finished; it can be deleted")
		}
	}
}

// plan draws the order again and compares.
func (c *check) plan() {
	path := c.f.path(PlanFile)
	if !c.f.HasPlan() {
		for _, r := range c.f.ledger.rows {
			if r.Order.Known && r.Block != "" { // without a plan there are no blocks
				c.add(path, 0, "", false, "the plan is not there, and row %d of %s is its pull %d. Put the file back from a copy: it is not drawn again once there are pulls", r.Row, LedgerFile, r.Order.N)
				return
			}
		}
		return
	}
	drawn, err := plan.Draw(c.f.setup, c.f.seed)
	if err != nil || !slices.Equal(drawn, c.f.plan) {
		c.add(path, 0, "", true, "the seed and %s no longer give this order: one of them was changed after the plan was drawn. The stored order stands", SetupFile)
	}
}

// rig tells what is still missing where the handle and the screw are described
// in part only: such a study is whole, but has no friction coefficient.
func (c *check) rig() {
	file := c.f.path(SetupFile)
	doc, err := c.f.disk.ReadFile(file)
	if err != nil {
		c.add(file, 0, "", false, "%v", err)
		return
	}
	places := findKeys(bytes.TrimPrefix(doc, []byte("\ufeff")))
	has := func(key string) bool { _, ok := places[key]; return ok }
	missing := func(key, without string) {
		if has(key) {
			return
		}
		table, _, _ := strings.Cut(key, ".")
		c.add(file, places[table].line, key, true, "missing: without it %s", without)
	}
	if has("handle.mass") {
		missing("handle.mass_arm", "the handle's own weight is left out")
	}
	if has("handle.mass_arm") {
		missing("handle.mass", "the handle's own weight is left out")
	}
	needed := []string{"handle.arm", "screw.pitch_diameter", "screw.lead", "screw.thread_friction"}
	begun := slices.ContainsFunc(append([]string{"handle.mass", "handle.mass_arm", "screw.half_flank", "screw.collar_friction"}, needed...), has)
	// A clamp force that was measured needs neither handle nor screw.
	computed := slices.ContainsFunc(c.f.setup.Levels, func(l trial.Level) bool { return l.Clamp == 0 })
	if begun && computed {
		for _, key := range needed {
			missing(key, "mu is not computed (ratios between facings do not need it)")
		}
	}
}
