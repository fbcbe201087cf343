package bench

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"time"

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
		p.Trace, p.Began = f.Trace, float64(s.record.began)/1e6
		p.Result, err = slip.Detect(f.Trace, slip.Options{})
	}
	if err != nil {
		p.Result = slip.Result{PeakForce: peak, SlipForce: math.NaN(), SlipTime: math.NaN()}
		p.Doubts = append(p.Doubts, fmt.Sprintf("the record cannot be judged: %v", err))
	} else {
		p.Why = p.Result.Since(p.Began).Why(s.unit)
		if p.Result.Outcome == trial.Slipped {
			p.Tool = p.mark(nearest(p.Trace.T, p.Result.SlipTime))
			p.Tool.Force = p.Result.SlipForce
		}
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

// nearest is the index of the time closest to at; t rises and is not empty.
func nearest(t []float64, at float64) int {
	i := sort.SearchFloat64s(t, at)
	if i == len(t) || i > 0 && at-t[i-1] < t[i]-at {
		i--
	}
	return i
}

// finite takes what is not a number for nothing.
func finite(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return v
}

// answer saves the pull as a person judges it, or says why not.
func (s *session) answer(c Command) (why string) {
	p := s.view.Proposal
	e := study.Entry{Note: c.Text, Judged: study.ByPerson, Digits: c.Digits, Typed: c.Typed}
	switch c.Verb {
	case Accept:
		switch {
		case p.Person != nil: // who moved the slip point says that it slipped there
			e.Outcome = trial.Slipped
		case p.Outcome == trial.Unclear:
			return "the record alone cannot tell; say whether it slipped, held, or is void"
		default:
			e.Outcome, e.Judged = p.Outcome, study.ByTool
		}
	case Slipped:
		e.Outcome = trial.Slipped
	case Held:
		e.Outcome = trial.Held
	case Void:
		e.Outcome = trial.Void
		if strings.TrimSpace(c.Text) == "" {
			return "a void pull needs a reason"
		}
	}
	r := p.Result
	switch {
	case c.Force > 0:
		e.Force = c.Force
	case e.Outcome == trial.Slipped && p.Person != nil:
		e.Force = p.Person.Force
		e.Moved = moved(p)
	case e.Outcome == trial.Slipped && r.Outcome == trial.Slipped:
		e.Force, e.Low, e.High = r.SlipForce, finite(r.Low), finite(r.High)
	default:
		e.Force = finite(r.PeakForce)
	}
	if len(p.Doubts) > 0 {
		e.Note = strings.TrimPrefix(e.Note+"; "+strings.Join(p.Doubts, "; "), "; ")
	}
	if why := s.save(e); why != "" {
		return why
	}
	s.nextPull()
	return ""
}

// moved is what the study keeps of a slip point that a person put elsewhere.
func moved(p *Proposal) *study.Move {
	m := &study.Move{Tool: study.Mark{T: math.NaN(), Force: math.NaN()}, Person: study.Mark{T: p.Person.T, Force: p.Person.Force}}
	if p.Tool != nil {
		m.Tool = study.Mark{T: p.Tool.T, Force: p.Tool.Force}
	}
	return m
}

// place puts the slip point where a person says.
func (s *session) place(to Placing) (why string) {
	p := *s.view.Proposal
	n := len(p.Trace.T)
	if n == 0 {
		return "the record cannot be read, so there is nothing to mark; type the force instead"
	}
	switch {
	case to.Reset:
		p.Person = nil
		s.view.Proposal = &p
		return ""
	case to.At != nil:
		p.Person = p.mark(nearest(p.Trace.T, *to.At+p.Began))
	default:
		from := 0
		for i, f := range p.Trace.Force { // where there is no mark yet, it starts from the peak
			if p.Above(f) > p.Above(p.Trace.Force[from]) {
				from = i
			}
		}
		if p.Tool != nil {
			from = p.Tool.Index
		}
		if p.Person != nil {
			from = p.Person.Index
		}
		p.Person = p.mark(min(max(from+min(max(to.By, -n), n), 0), n-1))
	}
	if p.Person.Force <= 0 {
		return "there is no load at that place"
	}
	s.view.Proposal = &p
	return ""
}

// Above is a raw force of the record above rest, in the direction of the pull.
func (p *Proposal) Above(raw float64) float64 {
	f := raw - finite(p.Result.Evidence.Rest)
	if p.Result.Evidence.Reverse {
		return -f
	}
	return f
}

func (p *Proposal) mark(i int) *Mark {
	return &Mark{Index: i, T: p.Trace.T[i], Force: p.Above(p.Trace.Force[i])}
}

// save writes the pull down: what is left of the trace, then the row. After an
// error, which it words, the pull is still at hand and can be saved again.
func (s *session) save(e study.Entry) (why string) {
	e.Order, e.Time = s.view.Next.Order, s.c.Now()
	var pull int
	var err error
	if s.record == nil {
		pull, err = s.c.Folder.Append(e)
	} else if err = s.record.tryFlush(); err == nil {
		pull, err = s.record.journal.Save(e)
	}
	if err != nil {
		why := fmt.Sprintf("NOT SAVED: %v. Nothing earlier is harmed; put that right and answer again", err)
		s.warn("%s", why)
		return why
	}
	if s.record != nil {
		s.noteOverload(pull, s.record.overload())
	}
	s.record = nil
	s.sum.count(e.Outcome, 1)
	s.paces = append(s.paces, e.Time)
	s.view.Last = &Saved{Pull: pull, Planned: s.view.Next, Outcome: e.Outcome, Force: e.Force, Digits: e.Digits, Note: e.Note}
	s.view.Before = s.view.Next
	return ""
}

// left is how long the rest of the plan will take at the pace of this session,
// by the median pull; 0 before two pulls.
func (s *session) left() time.Duration {
	var took []time.Duration
	for i := 1; i < len(s.paces); i++ {
		took = append(took, s.paces[i].Sub(s.paces[i-1]))
	}
	if len(took) == 0 {
		return 0
	}
	slices.Sort(took)
	return took[len(took)/2] * time.Duration(s.view.Planned-s.view.Done)
}
