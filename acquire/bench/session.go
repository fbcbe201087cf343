package bench

import (
	"errors"
	"fmt"
	"math"
	"time"

	"griptrial/acquire/study"
	"griptrial/acquire/wire"
	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

const (
	showEvery  = 50_000      // us between views while only the force changes
	impatient  = 5_000_000   // us of unrest after which it is said
	tailFor    = 500_000     // us recorded after the load is gone
	longest    = 120_000_000 // us of one pull
	zeroShare  = 0.002       // of full scale: a greater shift of the zero is said (common practice, no source)
	zeroOfPull = 0.01        // of the force of the pull before, likewise
	touchShare = 0.01        // of full scale: less is a touch, no pull
)

// session is the state of a session. All of it happens in one goroutine.
type session struct {
	c        Config
	setup    trial.Study
	unit     unit.Unit
	span     float64 // counts/N
	capacity float64 // N, rated load; 0: not known
	full     float64 // N, capacity, or else the greatest load of the calibration
	facts    map[string]string

	view    View
	sum     Summary
	notices []Notice
	err     error // of the session
	lost    error // of the source; nil: it is there
	unknown bool  // a device answers where one was lost, and has not said who it is
	alone   bool  // nobody answers any more

	checked    time.Time   // when the set-up was looked at
	noted      bool        // the ticks of the checks are in the study as they stand
	verified   bool        // the calibration was held against the facts
	paces      []time.Time // when each pull of this session was saved
	looked     time.Time   // at the clock, last; zero: not yet
	records    int         // begun in this session
	tookUp     bool        // what a program that was stopped had recorded was looked for
	weighing   bool        // the tare is for a known weight
	weighedIn  string      // the block in which a known weight was hung last
	hasWeighed bool
	drifted    string // why a known weight stops the session; "": it does not
	recent     recent
	restless   int64         // us of the first sample of this settling; -1: none came yet
	tare       float64       // counts
	hasTare    bool          // it was taken in this session
	rest       []wire.Sample // over which the tare was taken
	starter    *starter
	stream     *slip.Stream // of the pull under way
	record     *record
	shown      int64 // us of the sample last shown
}

// start is the first view.
func (s *session) start() {
	s.view.Unit = s.unit
	s.view.Places = int(max(0, min(9, math.Ceil(-math.Log10(s.unit.FromSI(s.full)/2000)))))
	s.view.Capacity = s.capacity
	if s.view.Typed = s.c.Source == nil; !s.view.Typed {
		s.view.Cell.Link = Waiting
	}
	_, more := s.atPull()
	s.reminder()
	if !s.view.Typed {
		if err := s.weighings(); err != nil {
			s.say("%v", err)
		}
	}
	for _, p := range s.c.Folder.Recovered() {
		s.say("%v", p)
	}
	s.ticked()
	s.phase(Checks)
	if !more && s.c.Stay {
		s.planDone()
	}
	s.show()
}

// say adds a notice to the next view.
func (s *session) say(format string, args ...any) {
	s.notices = append(s.notices, Notice{Text: fmt.Sprintf(format, args...)})
}

// warn adds a grave one.
func (s *session) warn(format string, args ...any) {
	s.notices = append(s.notices, Notice{Text: fmt.Sprintf(format, args...), Grave: true})
}

func (s *session) show() {
	v := s.view
	v.Summary = s.sum
	v.Notices, s.notices = s.notices, nil
	s.c.Operator.Show(v)
}

func (s *session) phase(p Phase) {
	s.view.Phase = p
	s.view.Step++
}

// newtons is the force above the tare.
func (s *session) newtons(counts float64) float64 { return (counts - s.tare) / s.span }

// atPull puts the next planned pull into the view.
func (s *session) atPull() (p trial.PlannedPull, ok bool) {
	f := s.c.Folder
	p, ok = f.Next()
	s.view.Next, s.view.Planned, s.view.Done = p, len(f.Plan()), len(f.Plan())-f.Left()
	s.view.Level, s.view.Clampings, s.view.Again, s.view.Left = trial.Level{}, 0, false, s.left()
	for _, l := range s.setup.Levels {
		if l.Name == p.Level {
			s.view.Level = l
		}
	}
	for _, r := range f.Current() {
		if r.Facing == p.Facing && r.Sample == p.Sample {
			s.view.Clampings++
		}
		s.view.Again = s.view.Again || r.Order.Known && r.Order.N == p.Order
	}
	return p, ok
}

// nextPull goes on to the next planned pull, or ends the session.
func (s *session) nextPull() {
	s.view.Force, s.view.Peak, s.view.Elapsed, s.view.State, s.view.Load, s.view.Proposal = 0, 0, 0, slip.Idle, LoadFine, nil
	s.stream, s.record, s.restless = nil, nil, -1
	before := s.view.Next.Block
	_, more := s.atPull()
	s.reminder()
	switch {
	case !more && s.c.Stay:
		s.planDone()
	case !more:
		s.say("every planned pull is done")
		s.phase(Over)
	case s.lost != nil && s.c.Regain == nil:
		s.over(s.lost)
	case s.alone:
		s.say("no more answers; the session ends")
		s.phase(Over)
	case s.c.Pulls > 0 && s.sum.Saved() >= s.c.Pulls:
		s.say("%d pulls made; the session ends", s.sum.Saved())
		s.phase(Over)
	case !s.c.Until.IsZero() && !s.c.Now().Before(s.c.Until):
		s.say("the time is up; the session ends")
		s.phase(Over)
	default:
		if before != s.view.Next.Block && s.sum.Saved() > 0 {
			s.say("a new block begins: %s", s.view.Next.Block)
		}
		if s.view.Typed {
			s.phase(Typing)
			return
		}
		s.phase(Mounting)
	}
}

// planDone waits for an undo or the end.
func (s *session) planDone() {
	s.say("every planned pull is done")
	s.phase(Done)
}

func (s *session) over(err error) {
	s.err = errors.Join(s.err, err)
	s.phase(Over)
}

// event takes what the source gave.
func (s *session) event(e wire.Event) {
	switch e.Kind {
	case wire.KindFact:
		s.facts[e.Fact.Key] = e.Fact.Value
		s.view.Cell.Name = s.facts["name"]
		if e.Fact.Key == "ready" {
			s.verify()
		}
	case wire.KindNoFacts:
		s.say("the device does not say what it is: %s", e.Seen)
		s.known()
		s.show()
	case wire.KindStalled:
		s.view.Cell.Link = Silent
		s.view.Cell.Text = fmt.Sprintf("nothing has come from the load cell for %.1f s; look at the cable", e.Silent.Seconds())
		if e.Again || s.view.Phase == Pulling {
			s.warn("%s", s.view.Cell.Text)
		}
		s.show()
	case wire.KindSegment:
		if e.Segment.Why != wire.WhyStart {
			s.say("the record of the load cell begins anew (%s)", e.Segment.Why)
		}
		if s.record != nil && s.view.Phase == Pulling {
			s.record.broken = "the load cell began anew in mid-pull (" + e.Segment.Why + ")"
			s.judge()
		} else if s.view.Phase == Ready || s.view.Phase == Weighing {
			s.settleFor(s.weighing)
		}
	case wire.KindSample:
		s.sample(e.Sample)
	}
}

// verify holds the calibration against what the device says of itself.
func (s *session) verify() {
	unverified, err := s.c.Calibration.Check(s.facts)
	if err != nil {
		if s.view.Phase == Pulling {
			s.breakOff("the device changed in mid-pull")
		}
		s.say("%v", err)
		s.over(err)
		s.show()
		return
	}
	if !s.verified && len(unverified) > 0 {
		s.say("not compared between calibration and device, because one of them does not say: %v", unverified)
		s.show()
	}
	s.verified = true
	s.known()
}

// sample takes the next conversion.
func (s *session) sample(x wire.Sample) {
	s.recent.add(x)
	s.heard()
	switch s.view.Phase {
	case Mounting, Weighing:
		if !s.hasTare || s.unknown {
			return
		}
		s.view.HasForce, s.view.Force = true, s.newtons(float64(x.Counts))
	case Settling:
		if s.unknown {
			return
		}
		s.settle(x)
	case Ready:
		s.wait(x)
	case Pulling:
		s.pull(x)
	default:
		return
	}
	if s.view.Phase == Pulling || s.view.Phase == Ready {
		s.load(s.newtons(float64(x.Counts)))
	}
	if d := x.T - s.shown; d < 0 || d >= showEvery || len(s.notices) > 0 {
		s.shown = x.T
		s.show()
	}
}

// settle waits for rest and takes the tare.
func (s *session) settle(x wire.Sample) {
	counts, noise, ok := s.recent.tare(0.001 * s.full * math.Abs(s.span))
	if !ok {
		if s.restless < 0 || x.T < s.restless {
			s.restless = x.T
		} else if x.T-s.restless > impatient {
			s.restless = x.T
			s.say("waiting for the load cell to come to rest: let the link hang free and still")
		}
		return
	}
	if s.hasTare {
		limit := zeroShare * s.full
		if l := s.view.Last; l != nil && l.Force > 0 {
			limit = min(limit, zeroOfPull*l.Force)
		}
		if shift := (counts - s.tare) / s.span; math.Abs(shift) > limit {
			s.say("the zero has moved by %s since the pull before (overload, a slipping mount, or warmth?); check with a known weight", s.unit.Format(shift, 2))
		}
	}
	s.tare, s.hasTare = counts, true
	s.rest = append(s.rest[:0], s.recent.since(restFor)...)
	s.starter = newStarter(noise/math.Abs(s.span), s.full)
	s.shown = x.T
	s.view.HasForce, s.view.Force = true, 0
	if s.weighing {
		s.phase(Weighing)
		s.show()
		return
	}
	s.phase(Ready)
	s.show()
	if s.c.Ready != nil {
		s.c.Ready(s.view.Next)
	}
}

// wait looks for the start of a pull.
func (s *session) wait(x wire.Sample) {
	s.view.Force = s.newtons(float64(x.Counts))
	if !s.starter.push(s.view.Force) {
		return
	}
	s.record = newRecord(s)
	for _, r := range s.recent.since(keepFor) {
		s.record.add(r)
	}
	s.stream = slip.NewStream(slip.Options{Capacity: s.full})
	for _, r := range s.rest {
		s.follow(r)
	}
	for _, r := range s.recent.samples[len(s.recent.samples)-inRow:] {
		s.follow(r)
	}
	s.phase(Pulling)
	s.show()
}

func (s *session) follow(x wire.Sample) slip.State {
	return s.stream.Push(float64(x.T)/1e6, s.newtons(float64(x.Counts)))
}

// pull follows a pull under way.
func (s *session) pull(x wire.Sample) {
	s.record.add(x)
	state := s.follow(x)
	if state == slip.SlipLikely && s.view.State != slip.SlipLikely && !s.record.slipSaid {
		s.record.slipSaid = true
		s.say("slipped? Let go gently")
	}
	s.view.Force, s.view.Peak, s.view.State = s.stream.Force(), s.stream.Peak(), state
	s.view.Elapsed = float64(x.T-s.record.began) / 1e6
	switch {
	case state == slip.Ended && s.record.gone == 0:
		s.record.gone = x.T
	case state == slip.Ended && x.T-s.record.gone >= tailFor:
		s.judge()
	case x.T-s.record.began > longest:
		s.say("a pull of more than %d s is cut here", longest/1_000_000)
		s.judge()
	}
}

// nobodyLeft ends the session where it would wait for an answer.
func (s *session) nobodyLeft() {
	switch s.view.Phase {
	case Pulling: // the record is finished first
	case Judging:
		s.breakOff("not judged: nobody answered")
		s.over(errors.New("a pull was not judged: nobody answered; it is saved as void with its trace, and is the next one again"))
		s.show()
	default:
		s.say("no more answers; the session ends")
		s.phase(Over)
		s.show()
	}
}

// breakOff saves the pull at hand, if any, as void: its trace is kept, and the
// planned pull is the next one again.
func (s *session) breakOff(why string) {
	if s.record == nil {
		return
	}
	note := why
	if p := s.view.Proposal; p != nil {
		note += fmt.Sprintf(" (the tool proposed %s)", p.Outcome)
	}
	s.save(study.Entry{Outcome: trial.Void, Force: finite(s.stream.Peak()), Note: note, Judged: study.ByTool})
	s.show()
}
