package bench

import (
	"fmt"
	"math"
	"regexp"
	"strconv"

	"griptrial/acquire/study"
)

// Shares of the cell's rated load (common practice, no source). The safe
// overload of most cells is 150 %: beyond it the zero and the span may have
// moved for good.
const (
	highLoad = 0.8
	overLoad = 1.0
	hurtLoad = 1.5
)

// load warns of overload, once a pull for each degree.
func (s *session) load(force float64) {
	load := LoadFine
	switch f := math.Abs(force); {
	case s.capacity == 0 || f < highLoad*s.capacity:
	case f < overLoad*s.capacity:
		load = LoadHigh
	default:
		load = LoadOver
	}
	if load <= s.view.Load {
		return
	}
	s.view.Load = load
	if load == LoadOver {
		s.warn("OVER the rated load of %s: stop and let down", s.unit.Format(s.capacity, 3))
	} else {
		s.warn("80 %% of the rated load of %s is reached: no more than a little", s.unit.Format(s.capacity, 3))
	}
}

// overload is how a record that went over the rated load says so; "" where it
// did not.
func (r *record) overload() string {
	if r.s.capacity == 0 || r.most < overLoad*r.s.capacity {
		return ""
	}
	return overloadText(r.most / r.s.capacity)
}

func overloadText(share float64) string { return fmt.Sprintf("%.0f %% of the rated load", 100*share) }

var overloaded = regexp.MustCompile(`^(\d+) % of the rated load$`)

// noteOverload keeps what a pull did to the cell. Far beyond the rated load
// nothing more is pulled before a known weight has shown that the cell is well.
func (s *session) noteOverload(pull int, text string) {
	if text == "" {
		return
	}
	if err := s.c.Folder.Note(study.Fact{Time: s.c.Now(), What: study.Overloaded, Pull: pull, Text: text}); err != nil {
		s.say("%v", err)
	}
	s.hurt(text)
}

// hurt stops the session after an overload that may have harmed the cell.
func (s *session) hurt(text string) {
	m := overloaded.FindStringSubmatch(text)
	if m == nil {
		return
	}
	if percent, err := strconv.Atoi(m[1]); err == nil && float64(percent) >= 100*hurtLoad {
		s.drifted = fmt.Sprintf("the cell was loaded with %s and may be harmed: hang a known weight before the next pull, and calibrate again if it is off", text)
		s.warn("%s", s.drifted)
	}
}
