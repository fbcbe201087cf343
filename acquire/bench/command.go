package bench

import (
	"strings"

	"griptrial/acquire/study"
	"griptrial/acquire/study/entry"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// Verb is what a person can ask for.
type Verb uint8

// The verbs, with the phases that take them.
const (
	Begin   Verb = iota // the set-up was looked at; stands for every tick still missing, unless Ticked (checks)
	Tick                // check N was looked at, or not if On is false (checks)
	Tare                // all is mounted, take the tare (mounting, settling, ready)
	Weigh               // a known weight is to be hung on the cell (mounting)
	Weighed             // it hangs; Text is its mass (weighing)
	Back                // no weight, go on (weighing)
	Accept              // as proposed (judging)
	Slipped             // it slipped: at Force, a person's mark, the tool's slip point or the peak (judging, typing)
	Held                // it held, at Force or the peak (judging, typing)
	Void                // the pull says nothing; Text is why (judging, typing)
	Place               // the slip point is at To (judging)
	End                 // the pull is over, judge it (pulling)
	Undo                // withdraw the pull saved last; Text is why (mounting, settling, ready, typing, done)
	Skip                // leave the planned pull out for good; Text is why (mounting, settling, ready, typing)
	Look                // the results so far, which is noted (any but pulling)
	Quit                // end the session (any but pulling)
)

// Command is what a person wants.
type Command struct {
	Verb   Verb
	Text   string  // reason or note
	Force  float64 // N, as typed by the person; 0: as measured
	Digits string  // the same as typed, in the study's unit; "": not typed
	Typed  string  // the whole line as typed; "": nothing was
	N      int     // of the check, from 0
	On     bool    // the check is ticked
	Ticked bool    // begin only if every check was ticked
	To     Placing // of the slip point

	Step  int          // of the view that the person saw; 0: any
	Reply chan<- Reply // with room for one; nil: the person reads it in the notices
}

// Placing says where a slip point goes.
type Placing struct {
	Reset bool     // back to where the tool had it
	At    *float64 // s since the load was first seen: to the nearest sample
	By    int      // else by so many samples
}

// Reply tells what became of a command.
type Reply struct {
	Done     bool
	Text     string // why it was not done, or what there is to say
	Step     int    // of the session now
	Stale    bool   // the session had gone on since the view that the person saw
	NotNow   bool   // the phase does not take it
	Readings []trial.Reading
}

// repeatable commands leave the step as it is: doing them twice does no more
// than once, and nothing is saved.
func (v Verb) repeatable() bool { return v == Tick || v == Place || v == Look }

// command takes what a person wants. A command from an older view is refused,
// so that nothing is done twice; so is what does not fit the phase. It reports
// whether it was done.
func (s *session) command(c Command) (done bool) {
	if c.Step != 0 && c.Step != s.view.Step {
		s.answerTo(c, Reply{Stale: true, Text: "the session has gone on since; look again"})
		return false
	}
	r := Reply{}
	if s.takes(c.Verb) {
		r.Text = s.do(c, &r)
		r.Done = r.Text == ""
	} else {
		r.NotNow, r.Text = true, "not now ("+s.view.Phase.String()+")"
	}
	// Who is not replied to knows by the step that the command was seen.
	if !c.Verb.repeatable() && (r.Done || c.Reply == nil) {
		s.view.Step++
	}
	if n := len(s.notices); c.Reply == nil && r.Text != "" && (n == 0 || s.notices[n-1].Text != r.Text) {
		s.say("%s", r.Text)
	}
	s.answerTo(c, r)
	s.show()
	return r.Done
}

func (s *session) answerTo(c Command, r Reply) {
	if c.Reply != nil {
		r.Step = s.view.Step
		c.Reply <- r
	}
}

// takes reports whether the phase takes a verb.
func (s *session) takes(v Verb) bool {
	p := s.view.Phase
	before := p == Mounting || p == Settling || p == Ready
	switch v {
	case Begin, Tick:
		return p == Checks
	case Weigh:
		return p == Mounting
	case Weighed, Back:
		return p == Weighing
	case Tare:
		return before
	case Undo:
		return before || p == Typing || p == Done
	case Skip:
		return before || p == Typing
	case Accept, Place:
		return p == Judging
	case Slipped, Held, Void:
		return p == Judging || p == Typing
	case End:
		return p == Pulling
	case Look, Quit:
		return p != Pulling && p != Over
	}
	return false
}

// do does what is asked and says why not; "" where it is done.
func (s *session) do(c Command, r *Reply) (why string) {
	switch c.Verb {
	case Begin:
		return s.begin(c)
	case Tick:
		return s.tick(c.N, c.On)
	case Tare, Weigh:
		return s.settleFor(c.Verb == Weigh)
	case Weighed:
		return s.weighed(c.Text)
	case Back:
		s.phase(Mounting)
	case Accept, Slipped, Held, Void:
		if s.view.Phase == Typing {
			return s.typed(c)
		}
		return s.answer(c)
	case Place:
		return s.place(c.To)
	case End:
		s.judge()
	case Undo:
		return s.undo(c.Text)
	case Skip:
		return s.skip(c.Text)
	case Look:
		return s.look(r)
	case Quit:
		s.breakOff("not judged: the operator left")
		s.phase(Over)
	}
	return ""
}

// ParseReading reads what a person types for one pull, as `log` takes it: 10,
// 35+, x and a reason, with a note after a semicolon.
func ParseReading(line string, u unit.Unit) (Command, error) {
	e, err := entry.Parse(line, u)
	if err != nil {
		return Command{}, err
	}
	if e.Facing != "" || e.Sample != "" || e.Level != "" {
		return Command{}, errPlanned
	}
	verb := map[trial.Outcome]Verb{trial.Slipped: Slipped, trial.Held: Held, trial.Void: Void}[e.Outcome]
	return Command{Verb: verb, Text: e.Note, Force: e.Force, Digits: e.Digits, Typed: strings.TrimSpace(line)}, nil
}

// look gives the readings so far and keeps that they were asked for: who knows
// which facing leads may pull otherwise without wishing to.
func (s *session) look(r *Reply) (why string) {
	readings, err := s.c.Folder.Readings()
	if err == nil {
		err = s.c.Folder.Note(study.Fact{Time: s.c.Now(), What: study.Peeked})
	}
	if err != nil {
		return err.Error()
	}
	r.Readings = readings
	return ""
}

// undo withdraws the pull saved last; it is then to be done again.
func (s *session) undo(reason string) (why string) {
	row, err := s.c.Folder.Undo(reason, s.c.Now())
	if err != nil {
		return err.Error()
	}
	s.say("pull %d withdrawn; the ledger keeps it, with the correction", row.Pull)
	if l := s.view.Last; l != nil && l.Pull == row.Pull {
		undone := *l
		undone.Undone = true
		if !l.Skipped {
			s.sum.count(l.Outcome, -1)
			s.paces = s.paces[:max(0, len(s.paces)-1)]
		}
		s.view.Last = &undone
	}
	s.nextPull()
	return ""
}

// skip leaves the planned pull out for good.
func (s *session) skip(reason string) (why string) {
	if strings.TrimSpace(reason) == "" {
		return "skip needs a reason"
	}
	next := s.view.Next
	pull, err := s.c.Folder.Append(study.Entry{Order: next.Order, Outcome: trial.Void, Note: reason, Skip: true, Time: s.c.Now()})
	if err != nil {
		return err.Error()
	}
	s.say("pull %d of the plan is skipped: %s", next.Order, reason)
	s.view.Last = &Saved{Pull: pull, Planned: next, Outcome: trial.Void, Note: reason, Skipped: true}
	s.nextPull()
	return ""
}
