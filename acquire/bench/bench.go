// Package bench runs one session at the vise: it says which pull is next, waits
// for the cell to come to rest, follows the load, judges the record, lets a
// person confirm or overrule, and saves.
//
// A pull goes through phases. Mounting: the person makes it ready and says so.
// Settling: the link hangs free and the tare is taken. Ready: the pull may begin; it starts by itself when the load rises.
// Pulling: every sample is written to the study's journal as it arrives.
// Judging: the whole record is judged by analysis/slip, and nothing is saved
// before a person has answered. What was recorded is never thrown away, except
// for a touch of less than a hundredth of the scale.
//
// The session knows no screen: an Operator shows it and answers for the person.
package bench

import (
	"context"
	"errors"
	"fmt"
	"time"

	"griptrial/acquire/loadcell"
	"griptrial/acquire/study"
	"griptrial/acquire/wire"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// Source gives what a device sends. wire.Reader is one.
type Source interface {
	Next() (wire.Event, error)
}

// Operator is the person at the vise, behind a terminal or a page.
type Operator interface {
	// Show is given the session after every change, and about twenty times a
	// second while only the force changes. It must not keep the caller waiting.
	Show(View)
	// Commands gives what the person wants; closed when nobody is there any
	// more.
	Commands() <-chan Command
}

// Config is what a session needs: the first five fields, and of those
// Calibration and Source only where a load cell is read.
type Config struct {
	Folder      *study.Folder // open for writing, with a plan
	Calibration loadcell.Calibration
	Source      func(context.Context) Source // its Next must end when the context does; nil: readings of a hand scale are typed
	Operator    Operator
	Now         func() time.Time

	// Regain waits until the device that was lost is there again and gives what
	// it sends; its error ends the session. nil: a lost device ends the session.
	Regain func(context.Context) (Source, error)
	// Sampled is told of each sample of a record as it is made, with the number
	// of the record in this session, the time in s since the load was first
	// seen, and the force in N above the tare in the direction of the pull. nil:
	// nobody is.
	Sampled func(record int, t, force float64)
	Ready   func(trial.PlannedPull) // told when a pull may begin; nil: nobody is
	Tick    <-chan time.Time        // once a second; nil: Run makes it
	Stay    bool                    // a plan that is done waits for an undo or the end
	Pulls   int                     // ends the session after so many; 0: no limit
	Until   time.Time               // no pull begins after it; zero: no limit
}

// Summary is what a session did.
type Summary struct {
	Slipped, Held, Void int // pulls saved
	Left                int // planned pulls still to do
}

// Saved counts the pulls saved.
func (s Summary) Saved() int { return s.Slipped + s.Held + s.Void }

func (s *Summary) count(o trial.Outcome, n int) {
	switch o {
	case trial.Slipped:
		s.Slipped += n
	case trial.Held:
		s.Held += n
	case trial.Void:
		s.Void += n
	}
}

// Errors that end a session.
var (
	// ErrNoPlan tells that there is no run order to follow.
	ErrNoPlan = errors.New("the study has no run order yet; `griptrial plan` draws one")
	// ErrSource is wrapped by the error of a session whose device was lost.
	ErrSource = errors.New("the load cell is gone")
)

// Run runs a session until the plan is done, a limit is reached, the operator
// leaves, or the device is lost. A pull that was under way is then saved as
// void, with its trace. The same planned pull is the next one of the session
// after.
func Run(ctx context.Context, c Config) (Summary, error) {
	s, err := newSession(c)
	if err != nil {
		return Summary{}, err
	}
	if s.c.Tick == nil {
		ticker := time.NewTicker(time.Second)
		defer ticker.Stop()
		s.c.Tick = ticker.C
	}
	inner, stop := context.WithCancel(ctx)
	f := &feed{ctx: inner}
	if c.Source != nil {
		f.from(c.Source(inner))
	}
	err = s.loop(ctx, f)
	stop()
	f.end() // so that nothing is left behind
	s.sum.Left = c.Folder.Left()
	return s.sum, err
}

// newSession checks what a session needs.
func newSession(c Config) (*session, error) {
	if !c.Folder.HasPlan() {
		return nil, ErrNoPlan
	}
	display, err := unit.Lookup(unit.Force, c.Folder.Setup().Unit)
	if err != nil {
		return nil, err
	}
	s := &session{c: c, setup: c.Folder.Setup(), unit: display, facts: map[string]string{}}
	if c.Source == nil {
		s.capacity = s.setup.Scale.Capacity
		s.full = s.capacity
		return s, nil
	}
	fit, err := c.Calibration.Fit()
	if err != nil {
		return nil, fmt.Errorf("calibration: %w", err)
	}
	s.span = fit.Span
	s.capacity = c.Calibration.Rated
	if s.capacity == 0 {
		s.capacity = s.setup.Scale.Capacity
	}
	if s.full = s.capacity; s.full == 0 {
		s.full = fit.Line.MaxX
	}
	return s, nil
}

// loop feeds the session until it is over.
func (s *session) loop(ctx context.Context, f *feed) error {
	commands := s.c.Operator.Commands()
	s.start()
	for s.view.Phase != Over {
		select {
		case <-ctx.Done():
			s.breakOff("the session was broken off")
			return ctx.Err()
		case e, ok := <-f.events:
			if ok {
				s.event(e)
				break
			}
			err := <-f.ended
			f.events = nil
			s.sourceLost(err)
			if s.c.Regain != nil && s.view.Phase != Over {
				f.wait(s.c.Regain)
			}
		case b := <-f.back:
			f.back = nil
			if b.err != nil {
				s.over(fmt.Errorf("%w: %w", ErrSource, b.err))
				s.show()
				break
			}
			s.sourceBack()
			f.from(b.src)
		case now := <-s.c.Tick:
			s.clock(now)
		case c, ok := <-commands:
			if ok {
				s.command(c)
				break
			}
			commands = nil
			s.alone = true
			s.nobodyLeft()
		}
	}
	return s.err
}
