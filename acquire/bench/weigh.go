package bench

import (
	"griptrial/acquire/loadcell"
	"griptrial/acquire/study"
	"griptrial/acquire/wire"
)

// settleFor takes the tare: for a pull, or to hang a known weight. While the
// last known weight stands as off, nothing is pulled.
func (s *session) settleFor(weighing bool) (why string) {
	if s.lost != nil {
		return "the load cell is not there: put the cable back first"
	}
	if s.drifted != "" && !weighing {
		return s.drifted
	}
	s.recent.samples = s.recent.samples[:0] // the tare is of what comes from now on
	s.starter, s.restless, s.weighing = nil, -1, weighing
	s.phase(Settling)
	return ""
}

// weighed takes what a known weight reads, by the latest second.
func (s *session) weighed(text string) (why string) {
	loaded := s.recent.since(restFor)
	if len(loaded) < fewest {
		return "too few samples came in the last second; wait a moment"
	}
	w, err := s.c.Calibration.Weigh(text, countsOf(s.rest), countsOf(loaded))
	if err == nil {
		err = s.c.Folder.Note(study.Fact{Time: s.c.Now(), What: study.Weighed, Text: w.String()})
	}
	if err != nil {
		return err.Error()
	}
	s.said(w)
	s.weighedIn, s.hasWeighed = s.view.Next.Block, true
	s.phase(Mounting)
	s.reminder()
	return ""
}

// said tells what a known weight read, and stops the session where it is off.
func (s *session) said(w loadcell.Weighing) {
	text := w.Text(s.unit)
	s.drifted = ""
	if !w.Off() {
		s.say("%s", text)
		return
	}
	s.drifted = text + ", more than 0.5 % off: calibrate again before the next pull, or hang the weight again to be sure"
	s.warn("%s", s.drifted)
}

// weighings finds what known weights read before this session: one that was off
// still stops it, unless the cell was calibrated since, and one of today need
// not be hung again. So does an overload after which no weight was hung.
func (s *session) weighings() error {
	facts, err := s.c.Folder.Facts()
	if err != nil {
		return err
	}
	for i := len(facts) - 1; i >= 0 && s.drifted == ""; i-- {
		if facts[i].What == study.Overloaded {
			s.hurt(facts[i].Text)
		}
		w, ok := loadcell.ParseWeighing(facts[i].Text)
		if facts[i].What != study.Weighed || !ok || !w.Of(s.c.Calibration) {
			continue
		}
		now := s.c.Now()
		today := facts[i].Time.In(now.Location()).Format("2006-01-02") == now.Format("2006-01-02")
		switch {
		case w.Off():
			s.said(w)
		case today:
			s.weighedIn, s.hasWeighed = s.view.Next.Block, true
		}
		break
	}
	s.reminder()
	return nil
}

// reminder asks for a known weight once in each block of a session.
func (s *session) reminder() {
	s.view.Weigh = !s.view.Typed && !(s.hasWeighed && s.weighedIn == s.view.Next.Block)
}

func countsOf(samples []wire.Sample) []int32 {
	counts := make([]int32, len(samples))
	for i, x := range samples {
		counts[i] = x.Counts
	}
	return counts
}
