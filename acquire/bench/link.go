package bench

import (
	"context"
	"fmt"
	"time"

	"griptrial/acquire/wire"
)

// feed is where samples come from: a source, or the wait for one that was lost.
type feed struct {
	ctx    context.Context
	events chan wire.Event // nil: none come
	ended  chan error      // holds the source's error once events is closed
	back   chan regained   // nil: nothing is waited for
}

// regained is how a wait for a lost device ended.
type regained struct {
	src Source
	err error
}

// from reads a source beside the session.
func (f *feed) from(src Source) {
	f.events, f.ended = make(chan wire.Event, 64), make(chan error, 1)
	go func(ctx context.Context, events chan<- wire.Event, ended chan<- error) {
		defer close(events)
		for {
			e, err := src.Next()
			if err != nil {
				ended <- err
				return
			}
			select {
			case events <- e:
			case <-ctx.Done():
				ended <- ctx.Err()
				return
			}
		}
	}(f.ctx, f.events, f.ended)
}

// wait waits beside the session until a lost device is there again.
func (f *feed) wait(regain func(context.Context) (Source, error)) {
	f.back = make(chan regained, 1)
	go func(ctx context.Context, back chan<- regained) {
		src, err := regain(ctx)
		back <- regained{src, err}
	}(f.ctx, f.back)
}

// end waits until nothing runs beside the session any more; ctx has ended.
func (f *feed) end() {
	if f.events != nil {
		for range f.events { // what comes after the end is not taken
		}
	}
	if f.back != nil {
		<-f.back
	}
}

// sourceLost decides what becomes of the session when the device is gone: it
// ends, or waits until the device is there again. A pull under way is void.
func (s *session) sourceLost(err error) {
	s.lost = fmt.Errorf("%w: %w", ErrSource, err)
	before := s.view.Cell.Text // the same again, where another device answers in its place
	s.view.Cell.Link, s.view.HasForce = Lost, false
	s.view.Cell.Text = s.lost.Error()
	if s.c.Regain != nil {
		s.view.Cell.Text += ". Put the cable back; the session goes on by itself when the same device answers"
	}
	switch s.view.Phase {
	case Judging:
		s.warn("%v; the pull is recorded, judge it", s.lost)
		s.show()
		return
	case Pulling:
		s.breakOff("incomplete: " + s.lost.Error())
	}
	switch {
	case s.c.Regain == nil:
		s.over(s.lost)
	case s.view.Phase == Pulling:
		s.warn("the pull under way is saved as void, with its trace, and is the next one again")
		s.nextPull()
	case s.view.Phase == Settling, s.view.Phase == Ready, s.view.Phase == Weighing:
		s.phase(Mounting)
	}
	if s.view.Phase != Over && s.view.Cell.Text != before {
		s.warn("%s", s.view.Cell.Text)
	}
	s.show()
}

// sourceBack listens to a device that answers where one was lost. Nothing is
// built on it before it has said who it is.
func (s *session) sourceBack() {
	s.lost, s.unknown = nil, true
	clear(s.facts)
	s.recent.samples = s.recent.samples[:0]
	s.view.Cell.Link = Waiting
	s.show()
}

// known goes on with a device that has said who it is, or will not.
func (s *session) known() {
	if s.unknown {
		s.unknown = false
		s.view.Cell.Text = ""
		s.say("the load cell is there again; the session goes on")
		s.show()
	}
}

// heard is told that samples come.
func (s *session) heard() {
	if (s.view.Cell.Link == Waiting || s.view.Cell.Link == Silent) && !s.unknown {
		s.view.Cell.Link, s.view.Cell.Text = Live, ""
		s.show()
	}
}

// asleepFor is how long the computer stands still before that is said.
const asleepFor = 5 * time.Second

// clock looks at the time of day once a second, so that a computer that slept
// is noticed: a second then takes minutes.
func (s *session) clock(now time.Time) {
	last := s.looked
	s.looked = now
	if last.IsZero() {
		return
	}
	var what string
	switch gap := now.Round(0).Sub(last.Round(0)); { // by the time of day: the other clock stands still in sleep
	case gap > asleepFor+time.Second:
		what = fmt.Sprintf("the computer slept, or its clock was set: %s are missing before %s", gap.Round(time.Second), now.Format("15:04:05"))
	case gap < -asleepFor:
		what = fmt.Sprintf("the clock of the computer was set back by %s", (-gap).Round(time.Second))
	default:
		return
	}
	if s.view.Phase == Pulling {
		s.record.interrupted = append(s.record.interrupted, what+", in mid-pull")
	}
	s.warn("%s. Nothing that was saved is harmed", what)
	if s.view.Phase == Ready && !s.view.Typed {
		s.settleFor(false) // what the zero did meanwhile nobody saw
	}
	s.show()
}
