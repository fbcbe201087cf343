package changes

import (
	"fmt"
	"strings"

	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/report"
)

// calibration tells whether forces are made of counts in another way.
func (c *Change) calibration(old, new *Calibration) {
	text := func(k *Calibration) string {
		if k == nil {
			return ""
		}
		return fmt.Sprintf("%s, %s counts a newton (SHA-256 %.12s)", k.File, report.Short(k.Span, 5), k.SHA256)
	}
	if was, now := text(old), text(new); was != now {
		c.Calibration = &SettingChange{"calibration", was, now}
	}
}

// remarks are what to know before a change is believed.
func (c *Change) remarks(old, new Side) {
	add := func(format string, args ...any) { c.Remarks = append(c.Remarks, fmt.Sprintf(format, args...)) }
	switch {
	case c.SameStudy:
		add("Both are states of one study and share pulls. So a change has no interval: it tells what the pulls and corrections since did to the result, and not whether a facing changed.")
	case len(c.Ratios) > 1:
		add("The two trials have no pull in common. Each change of a ratio has an interval that holds for all facings together (Bonferroni over %d).", c.intervals())
	default:
		add("The two trials have no pull in common.")
	}
	if !c.SameStudy && c.intervals() > 0 {
		add("More than chance says only that pull-to-pull scatter does not explain it: another vise, part, operator, day or calibration may.")
	}
	if c.Control == "" {
		add("The controls differ (%s, then %s), so the ratios to them cannot be compared; --control names one facing for both.", report.Brief(c.Old.Control, 60), report.Brief(c.New.Control, 60))
	}
	if q, r := old.In.Results.Quantity, new.In.Results.Quantity; q != r {
		add("The old is analysed as %s and the new as %s, so the grips themselves cannot be compared.", q, r)
	}
	if n := len(c.Pulls.Missing); n > 0 {
		add("%s of the old %s not in the new: is the order of the two right?", count(n, "pull"), map[bool]string{true: "is", false: "are"}[n == 1])
	}
	if !old.Ledger || !new.Ledger {
		add("Tables of readings carry no times and no history: that they %s is judged by their rows.", map[bool]string{true: "are states of one", false: "are two trials"}[c.SameStudy])
	}
}

// intervals counts the ratios whose change has an interval.
func (c Change) intervals() int {
	n := 0
	for _, r := range c.Ratios {
		if r.Change.Lower.Known() {
			n++
		}
	}
	return n
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// Table is a part of the comparison as rows of texts under heads.
type Table struct {
	Title string
	Heads []string
	Rows  [][]string
}

// Tables are the parts of the comparison in the order in which they are read:
// verdicts, ratios, grips, pulls, set-up. Those without a row are left out, but
// for the pulls of one study, whose title tells how many stand alike.
func (c Change) Tables() []Table {
	var out []Table
	for _, t := range []Table{c.sides(), c.ratioTable(), c.gripTable(), c.pullTable(), c.settingTable()} {
		if len(t.Rows) > 0 || c.SameStudy && t.Title == c.pullTitle() {
			out = append(out, t)
		}
	}
	return out
}

func (c Change) sides() Table {
	t := Table{Title: "Verdict", Heads: []string{"which", "trial", "verdict", "pulls", "last pull"}}
	for i, s := range []Summary{c.Old, c.New} {
		pulls := fmt.Sprint(s.Pulls)
		if s.Void > 0 {
			pulls += fmt.Sprintf(" (%d void)", s.Void)
		}
		t.Rows = append(t.Rows, []string{[]string{"old", "new"}[i], report.Plain(s.Name), s.Verdict, pulls, s.Last})
	}
	return t
}

// ratioTable: how many times what the control holds, before and after.
func (c Change) ratioTable() Table {
	t := Table{Title: "Holds times what " + report.Brief(c.Control, 60) + " holds", Heads: []string{"facing", "old", "new", "new over old"}}
	if !c.SameStudy {
		t.Heads = append(t.Heads, "is it chance?")
	}
	for _, r := range c.Ratios {
		row := []string{report.Brief(r.Facing, 120), written(&r.Old, report.Same), written(&r.New, report.Same), written(&r.Change, report.Same)}
		if !c.SameStudy {
			row = append(row, judge(r))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// What may be said of a change.
const (
	higher = "more than chance, higher"
	lower  = "more than chance, lower"
	chance = "within chance"
)

// judge says whether a change of a ratio is more than chance.
func judge(r analysis.RatioChange) string {
	switch lo, hi := r.Change.Lower, r.Change.Upper; {
	case !lo.Known() || !hi.Known():
		return "cannot be told"
	case lo > 1:
		return higher
	case hi < 1:
		return lower
	}
	return chance
}

// gripTable: each facing on its own.
func (c Change) gripTable() Table {
	name, unitName, scale := c.force.Grip()
	if unitName != "" {
		name += " [" + unitName + "]"
	}
	t := Table{Title: report.Sentence(name), Heads: []string{"facing", "old", "new"}}
	for _, g := range c.Grips {
		t.Rows = append(t.Rows, []string{report.Brief(g.Facing, 120), written(g.Old, scale), written(g.New, scale)})
	}
	return t
}

// written is an estimate as every report writes it; without an interval to three
// digits.
func written(e *analysis.Estimate, scale func(float64) float64) string {
	if e == nil {
		return "not pulled"
	}
	if x := report.Write(*e, scale); x.Known {
		return x.String()
	}
	return report.Short(scale(float64(e.Estimate)), 3)
}

// pullTable lists the pulls that do not stand alike in both.
func (c Change) pullTable() Table {
	t := Table{Title: c.pullTitle(), Heads: []string{"what", "pull", "facing", "old", "new", "why"}}
	for _, group := range []struct {
		what  string
		pulls []PullChange
	}{{"corrected", c.Pulls.Corrected}, {"voided", c.Pulls.Voided}, {"withdrawn", c.Pulls.Withdrawn}, {"missing", c.Pulls.Missing}, {"added", c.Pulls.Added}} {
		for _, p := range group.pulls {
			why := ""
			if p.Why != "" {
				why = report.Plain(p.Why)
			}
			t.Rows = append(t.Rows, []string{group.what, fmt.Sprint(p.Pull), report.Brief(p.Facing, 120), c.outcome(p.OldOutcome, p.OldForce), c.outcome(p.NewOutcome, p.NewForce), why})
		}
	}
	return t
}

// pullTitle counts what became of the pulls: "Pulls: 20 alike, 4 added".
func (c Change) pullTitle() string {
	parts := []string{fmt.Sprintf("%d alike", c.Pulls.Shared)}
	for _, x := range []struct {
		n    int
		what string
	}{{len(c.Pulls.Added), "added"}, {len(c.Pulls.Corrected), "corrected"}, {len(c.Pulls.Voided), "voided"}, {len(c.Pulls.Withdrawn), "withdrawn"}, {len(c.Pulls.Missing), "missing"}} {
		if x.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", x.n, x.what))
		}
	}
	return "Pulls: " + strings.Join(parts, ", ")
}

// outcome words what a pull showed: "slipped, 98 N".
func (c Change) outcome(what string, force analysis.Number) string {
	if what == "" || !force.Known() {
		return what
	}
	text := report.Given(c.force.Force.FromSI(float64(force))) + " " + c.force.Force.Name
	if what == trial.Held.String() {
		text = "at least " + text
	}
	return what + ", " + text
}
