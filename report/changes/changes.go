// Package changes says what changed between two states of a study, or between
// two trials: the verdict, the ratios, the pulls, the set-up and the
// calibration. It writes it as JSON, for a terminal by Change, and as a page.
//
// Two independent trials earn an interval for the change of a ratio. Two states
// of one study share pulls, and an interval that treats them as independent
// would be a lie: there only the change itself is told.
package changes

import (
	"time"

	"griptrial/analysis"
	"griptrial/report"
)

// Side is one of the two that are compared.
type Side struct {
	Name        string // as it is called on the command line
	In          report.Input
	Ledger      bool      // the rows come from a ledger, which is only ever appended to
	History     []Row     // every row ever written
	Current     []Row     // the rows that stand
	Settings    []Setting // keys of study.toml in order; nil: no study
	Calibration *Calibration
}

// Row is a row of a ledger, or of a table of readings.
type Row struct {
	Row, Pull              int
	Facing, Sample, Level  string
	Block, Outcome, Reason string
	Force                  float64 // N
	Trace                  string  // SHA-256; "": none
	Time                   time.Time
}

// Setting is one key of study.toml.
type Setting struct{ Key, Value string }

// Calibration is what makes forces of counts.
type Calibration struct {
	File, SHA256 string
	Span         float64 // counts a newton
}

// Change is what changed from the old to the new.
type Change struct {
	Old         Summary                `json:"old"`
	New         Summary                `json:"new"`
	SameStudy   bool                   `json:"same_study"` // they share pulls
	Confidence  float64                `json:"confidence"`
	Control     string                 `json:"control"` // "": the controls differ
	Ratios      []analysis.RatioChange `json:"ratios"`
	Grips       []GripChange           `json:"grips"`
	Pulls       Pulls                  `json:"pulls"`
	Settings    []SettingChange        `json:"settings"`
	Calibration *SettingChange         `json:"calibration"` // null: unchanged
	Remarks     []string               `json:"remarks"`

	force  report.Input    // gives the units in which the new is shown
	was    map[string]bool // facings that were pulled in the old
	stayed map[string]bool // facings that were pulled in the new
}

// Summary is one side in short.
type Summary struct {
	Name    string `json:"name"`
	Verdict string `json:"verdict"`
	Sure    string `json:"sure"`
	Best    string `json:"best"` // facing that holds best; "": none stands out
	Control string `json:"control"`
	Pulls   int    `json:"pulls"`
	Void    int    `json:"void"`
	Last    string `json:"last_pull"` // date; "": not recorded
}

// GripChange is one facing's own grip, in the results' quantity and SI.
type GripChange struct {
	Facing string             `json:"facing"`
	Old    *analysis.Estimate `json:"old"` // null: not pulled
	New    *analysis.Estimate `json:"new"`
}

// Pulls is what became of the pulls; all but Shared is empty for two trials.
type Pulls struct {
	Shared    int          `json:"shared"` // stand alike in both
	Added     []PullChange `json:"added"`
	Corrected []PullChange `json:"corrected"`
	Voided    []PullChange `json:"voided"`
	Withdrawn []PullChange `json:"withdrawn"`
	Missing   []PullChange `json:"missing"` // in the old and not in the new
}

// PullChange is one pull before and after.
type PullChange struct {
	Pull       int             `json:"pull"`
	Facing     string          `json:"facing"`
	OldOutcome string          `json:"old_outcome"` // "": it was not there
	OldForce   analysis.Number `json:"old_force_N"`
	NewOutcome string          `json:"new_outcome"`
	NewForce   analysis.Number `json:"new_force_N"`
	Why        string          `json:"why"`
}

// SettingChange is one key before and after; "" where it is not set.
type SettingChange struct {
	Key string `json:"key"`
	Old string `json:"old"`
	New string `json:"new"`
}

// Between finds what changed.
func Between(old, new Side) Change {
	c := Change{
		Old: summary(old), New: summary(new), SameStudy: shareRows(old, new), Confidence: new.In.Results.Confidence,
		Ratios: []analysis.RatioChange{}, Settings: []SettingChange{}, Remarks: []string{}, force: new.In,
		was: pulled(old.In.Results), stayed: pulled(new.In.Results),
	}
	c.Pulls = Pulls{Added: []PullChange{}, Corrected: []PullChange{}, Voided: []PullChange{}, Withdrawn: []PullChange{}, Missing: []PullChange{}}
	if old.In.Results.Control == new.In.Results.Control {
		c.Control = new.In.Results.Control
		c.Ratios = append(c.Ratios, analysis.Changes(old.In.Results, new.In.Results, !c.SameStudy)...)
	}
	c.grips(old.In.Results, new.In.Results)
	if c.SameStudy {
		c.pulls(old, new)
	}
	c.settings(old.Settings, new.Settings)
	c.calibration(old.Calibration, new.Calibration)
	c.remarks(old, new)
	return c
}

// pulled names the facings of which a pull tells something.
func pulled(r analysis.Results) map[string]bool {
	out := map[string]bool{}
	for _, f := range r.Facings {
		out[f.Facing] = f.Slipped+f.Held > 0
	}
	return out
}

func summary(s Side) Summary {
	v := s.In.Verdict()
	out := Summary{Name: s.Name, Verdict: report.Sentence(v.Headline), Sure: v.Sure, Best: v.Best, Control: s.In.Results.Control, Pulls: len(s.Current)}
	for _, r := range s.Current {
		if r.Outcome == "void" {
			out.Void++
		}
	}
	if !s.In.Made.IsZero() {
		out.Last = s.In.Made.Format(time.DateOnly)
	}
	return out
}

// grips puts the facings' own grips side by side, where both are in one
// quantity.
func (c *Change) grips(old, new analysis.Results) {
	c.Grips = []GripChange{}
	if old.Quantity != new.Quantity {
		return
	}
	before := map[string]*analysis.Estimate{}
	for _, f := range old.Facings {
		before[f.Facing] = &f.Grip
	}
	for _, f := range new.Facings {
		c.Grips = append(c.Grips, GripChange{f.Facing, before[f.Facing], &f.Grip})
		delete(before, f.Facing)
	}
	for _, f := range old.Facings {
		if grip := before[f.Facing]; grip != nil {
			c.Grips = append(c.Grips, GripChange{f.Facing, grip, nil})
		}
	}
}

// settings lists the keys that differ. Both lists are in the order of the keys.
func (c *Change) settings(old, new []Setting) {
	if old == nil || new == nil {
		return
	}
	for len(old) > 0 || len(new) > 0 {
		switch {
		case len(new) == 0 || len(old) > 0 && old[0].Key < new[0].Key:
			c.Settings = append(c.Settings, SettingChange{Key: old[0].Key, Old: old[0].Value})
			old = old[1:]
		case len(old) == 0 || new[0].Key < old[0].Key:
			c.Settings = append(c.Settings, SettingChange{Key: new[0].Key, New: new[0].Value})
			new = new[1:]
		default:
			if old[0].Value != new[0].Value {
				c.Settings = append(c.Settings, SettingChange{old[0].Key, old[0].Value, new[0].Value})
			}
			old, new = old[1:], new[1:]
		}
	}
}
