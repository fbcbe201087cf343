package bench

import (
	"slices"
	"time"

	"griptrial/acquire/study"
	"griptrial/analysis/trial"
)

// freshFor is how long the set-up counts as looked at when a session that was
// cut off begins again.
const freshFor = 30 * time.Minute

// begin leaves the checks of the set-up for the first pull.
func (s *session) begin(c Command) (why string) {
	now := s.c.Now()
	checks := slices.Clone(s.view.Checks)
	var facts []study.Fact
	for i := range checks {
		if checks[i].At.IsZero() {
			if c.Ticked {
				return "not yet looked at: " + checks[i].Text
			}
			checks[i].At = now
		}
		facts = append(facts, study.Fact{Time: checks[i].At, What: study.Looked, Text: checks[i].Text})
	}
	if !s.noted { // not again where a session before noted the same ticks
		if err := s.c.Folder.Note(facts...); err != nil {
			return err.Error()
		}
	}
	s.view.Checks, s.checked = checks, now
	if !s.c.Stay || !s.takeUp() { // a script has its answers ready for another pull
		s.nextPull()
	}
	return ""
}

// tick takes or takes back a check of the set-up.
func (s *session) tick(n int, on bool) (why string) {
	if n < 0 || n >= len(s.view.Checks) {
		return "there is no such check"
	}
	checks := slices.Clone(s.view.Checks)
	if on {
		checks[n].At = s.c.Now()
	} else {
		checks[n] = Check{Text: checks[n].Text}
	}
	s.view.Checks, s.noted = checks, false
	return ""
}

// ticked is how the checks stand when a session begins: not looked at, unless
// a session before was cut off a moment ago and nothing can have changed.
func (s *session) ticked() {
	s.view.Checks = make([]Check, len(trial.SetupChecks))
	facts, err := s.c.Folder.Facts()
	if err != nil {
		s.say("%v", err)
	}
	now := s.c.Now()
	s.noted = true
	for i, text := range trial.SetupChecks {
		s.view.Checks[i].Text = text
		for _, f := range facts {
			if age := now.Sub(f.Time); f.What == study.Looked && f.Text == text && age >= 0 && age < freshFor {
				s.view.Checks[i].At = f.Time
			}
		}
		s.noted = s.noted && !s.view.Checks[i].At.IsZero()
	}
	if s.noted {
		s.say("the set-up was looked at a moment ago, at %s; look again if anything was moved", s.view.Checks[0].At.Format("15:04"))
	}
}
