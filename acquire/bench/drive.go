package bench

import "context"

// Drive runs a session like Run, in a single goroutine: answer is asked before
// every event what the person wants, if anything, and the source is read only
// when the answer is nothing. The same samples and the same answers make the
// same study, which a race between a person and a cell cannot promise. The
// demo is driven so. A lost device ends the session, and the clock is not
// watched. Config.Operator may be nil; otherwise it is shown the
// session and its commands are not used.
func Drive(ctx context.Context, c Config, answer func(View) (Command, bool)) (Summary, error) {
	if c.Operator == nil {
		c.Operator = onlooker{}
	}
	c.Regain = nil
	s, err := newSession(c)
	if err != nil {
		return Summary{}, err
	}
	err = s.drive(ctx, c.Source(ctx), answer)
	s.sum.Left = c.Folder.Left()
	return s.sum, err
}

func (s *session) drive(ctx context.Context, src Source, answer func(View) (Command, bool)) error {
	s.start()
	for s.view.Phase != Over {
		if err := ctx.Err(); err != nil {
			s.breakOff("the session was broken off")
			return err
		}
		if c, ok := answer(s.view); ok && s.command(c) {
			continue // what is refused would be asked again without end
		}
		e, err := src.Next()
		if err != nil {
			s.sourceLost(err)
			continue
		}
		s.event(e)
	}
	return s.err
}

// onlooker is an operator who sees and does nothing.
type onlooker struct{}

func (onlooker) Show(View)                {}
func (onlooker) Commands() <-chan Command { return nil }
