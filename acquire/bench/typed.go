package bench

import (
	"errors"
	"fmt"
	"strings"

	"griptrial/acquire/study"
	"griptrial/analysis/trial"
)

var errPlanned = errors.New("the plan says what is pulled; leave the @ and what follows away")

// typed saves a reading of a hand scale, or says why not.
func (s *session) typed(c Command) (why string) {
	e := study.Entry{Force: c.Force, Digits: c.Digits, Typed: c.Typed, Note: c.Text, Judged: study.ByPerson}
	switch c.Verb {
	case Slipped:
		e.Outcome = trial.Slipped
	case Held:
		e.Outcome = trial.Held
	case Void:
		e.Outcome = trial.Void
		if strings.TrimSpace(c.Text) == "" {
			return "a void pull needs a reason"
		}
	default:
		return "type what was read: 10, 35+, or x and a reason"
	}
	if e.Outcome != trial.Void && c.Typed == "" {
		return "type what was read: 10 (slipped at 10), 35+ (held at 35)"
	}
	if end := s.setup.Scale.Capacity; end > 0 && c.Force > end {
		return fmt.Sprintf("%s is beyond the scale's end, %s; type what was read", s.unit.Format(c.Force, 6), s.unit.Format(end, 6))
	}
	if why := s.save(e); why != "" {
		return why
	}
	s.nextPull()
	return ""
}
