package bench

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"

	"griptrial/acquire/study"
	"griptrial/acquire/table"
	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
)

// judge ends the record and proposes what it shows.
func (s *session) judge() {
	peak := finite(s.stream.Peak())
	if peak < touchShare*s.full && s.record.broken == "" {
		if err := s.record.drop(); err != nil {
			s.say("%v", err)
		}
		s.say("a touch of %s, not a pull; nothing is saved", s.unit.Format(peak, 2))
		s.record = nil
		s.nextPull()
		s.show()
		return
	}
	p := &Proposal{Doubts: s.record.doubts()}
	s.view.Proposal = p
	f, err := table.ReadTrace("record", bytes.NewReader(s.record.text.Bytes()))
	if err == nil {
		p.Result, err = slip.Detect(f.Trace, slip.Options{})
	}
	if err != nil {
		p.Result = slip.Result{PeakForce: peak, SlipForce: math.NaN(), SlipTime: math.NaN()}
		p.Doubts = append(p.Doubts, fmt.Sprintf("the record cannot be judged: %v", err))
	} else {
		p.Why = p.Result.Why(s.unit)
	}
	p.Outcome = p.Result.Outcome
	if s.record.broken != "" {
		p.Outcome = trial.Unclear
	}
	p.Force = finite(p.Result.PeakForce)
	if p.Outcome == trial.Slipped {
		p.Force = p.Result.SlipForce
	}
	s.phase(Judging)
	s.show()
	if s.alone {
		s.nobodyLeft()
	}
}

// finite takes what is not a number for nothing.
func finite(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return v
}

// command takes what a person wants. What does not fit the phase is answered
// with a notice.
func (s *session) command(c Command) {
	s.view.Step++
	p := s.view.Phase
	before := p == Mounting || p == Settling || p == Ready
	switch {
	case p == Checks && c.Verb == Begin:
		s.checked = s.c.Now()
		s.nextPull()
	case p == Judging && slices.Contains([]Verb{Accept, Slipped, Held, Void}, c.Verb):
		s.answer(c)
	case p == Pulling && c.Verb == End:
		s.judge()
		return
	case before && c.Verb == Tare:
		s.recent.samples = s.recent.samples[:0] // the tare is of what comes from now on
		s.starter, s.restless = nil, -1
		s.phase(Settling)
	case before && c.Verb == Undo:
		s.undo(c.Text)
	case before && c.Verb == Skip:
		s.skip(c.Text)
	case p != Pulling && c.Verb == Quit:
		s.breakOff("not judged: the operator left")
		s.phase(Over)
	default:
		s.say("not now (%s)", p)
	}
	s.show()
}

// answer saves the pull as a person judges it.
func (s *session) answer(c Command) {
	p := s.view.Proposal
	e := study.Entry{Note: c.Text, Judged: study.ByPerson, Digits: c.Digits}
	switch c.Verb {
	case Accept:
		if p.Outcome == trial.Unclear {
			s.say("the record alone cannot tell; say whether it slipped, held, or is void")
			return
		}
		e.Outcome, e.Judged = p.Outcome, study.ByTool
	case Slipped:
		e.Outcome = trial.Slipped
	case Held:
		e.Outcome = trial.Held
	case Void:
		e.Outcome = trial.Void
		if strings.TrimSpace(c.Text) == "" {
			s.say("a void pull needs a reason")
			return
		}
	}
	r := p.Result
	switch {
	case c.Force > 0:
		e.Force = c.Force
	case e.Outcome == trial.Slipped && r.Outcome == trial.Slipped:
		e.Force, e.Low, e.High = r.SlipForce, finite(r.Low), finite(r.High)
	default:
		e.Force = finite(r.PeakForce)
	}
	if len(p.Doubts) > 0 {
		e.Note = strings.TrimPrefix(e.Note+"; "+strings.Join(p.Doubts, "; "), "; ")
	}
	if s.save(e) {
		s.nextPull()
	}
}

// save writes the pull down: what is left of the trace, then the row. After an
// error the pull is still at hand and can be saved again.
func (s *session) save(e study.Entry) bool {
	e.Order, e.Time = s.view.Next.Order, s.c.Now()
	err := s.record.tryFlush()
	pull := 0
	if err == nil {
		pull, err = s.record.journal.Save(e)
	}
	if err != nil {
		s.say("NOT SAVED: %v. Nothing earlier is harmed; put that right and answer again", err)
		return false
	}
	s.record = nil
	s.sum.count(e.Outcome, 1)
	s.view.Last = &Saved{Pull: pull, Planned: s.view.Next, Outcome: e.Outcome, Force: e.Force, Note: e.Note}
	return true
}

// undo withdraws the pull saved last; it is then to be done again.
func (s *session) undo(reason string) {
	row, err := s.c.Folder.Undo(reason, s.c.Now())
	if err != nil {
		s.say("%v", err)
		return
	}
	s.say("pull %d withdrawn; the ledger keeps it, with the correction", row.Pull)
	if l := s.view.Last; l != nil && l.Pull == row.Pull {
		undone := *l
		undone.Undone = true
		s.sum.count(l.Outcome, -1)
		s.view.Last = &undone
	}
	s.nextPull()
}

// skip leaves the planned pull out for good.
func (s *session) skip(reason string) {
	if strings.TrimSpace(reason) == "" {
		s.say("to skip a pull needs a reason")
		return
	}
	_, err := s.c.Folder.Append(study.Entry{Order: s.view.Next.Order, Outcome: trial.Void, Note: reason, Skip: true, Time: s.c.Now()})
	if err != nil {
		s.say("%v", err)
		return
	}
	s.say("pull %d of the plan is skipped: %s", s.view.Next.Order, reason)
	s.nextPull()
}
