package bench

import (
	"fmt"
	"math"

	"griptrial/acquire/loadcell"
	"griptrial/acquire/study"
	"griptrial/analysis/calibration"
	"griptrial/analysis/clamp"
	"griptrial/analysis/unit"
)

// weighOff is the share by which a known weight may read wrong before the
// person is told to calibrate again (common practice, no source).
const weighOff = 0.01

// settleFor takes the tare: for a pull, or to hang a known weight.
func (s *session) settleFor(weighing bool) (why string) {
	if s.lost != nil {
		return "the load cell is not there: put the cable back first"
	}
	s.recent.samples = s.recent.samples[:0] // the tare is of what comes from now on
	s.starter, s.restless, s.weighing = nil, -1, weighing
	s.phase(Settling)
	return ""
}

// weighed takes what a known weight reads, with the force of the latest second.
func (s *session) weighed(text string) (why string) {
	mass, _, err := unit.Parse(unit.Mass, text)
	if err != nil {
		return err.Error() + `; type the weight with its unit, as "2 kg"`
	}
	g, err := clamp.GravityAt(s.setup.Handle)
	if err != nil {
		return err.Error()
	}
	want, err := calibration.HangingForce(mass, g, 0)
	if err != nil {
		return err.Error()
	}
	var counts []int32
	for _, x := range s.recent.since(restFor) {
		counts = append(counts, x.Counts)
	}
	mean, _, err := loadcell.Tare(counts)
	if err != nil || len(counts) < fewest {
		return "too few samples came in the last second; wait a moment"
	}
	read := math.Abs(s.newtons(mean))
	if mass <= 0 {
		return "a weight of nothing tells nothing"
	}
	off := read/want - 1
	said := fmt.Sprintf("%s hung: %s read, %s expected (%+.1f %%)", text, s.unit.Format(read, 5), s.unit.Format(want, 5), 100*off)
	if err := s.c.Folder.Note(study.Fact{Time: s.c.Now(), What: study.Weighed, Text: said}); err != nil {
		return err.Error()
	}
	if math.Abs(off) > weighOff {
		s.warn("%s: more than %g %% off. Look at the mount and calibrate again before going on", said, 100*weighOff)
	} else {
		s.say("%s", said)
	}
	s.weighedIn = s.view.Next.Block
	s.hasWeighed = true
	s.phase(Mounting)
	s.reminder()
	return ""
}

// reminder asks for a known weight once in each block of a session.
func (s *session) reminder() {
	s.view.Weigh = !s.view.Typed && !(s.hasWeighed && s.weighedIn == s.view.Next.Block)
}
