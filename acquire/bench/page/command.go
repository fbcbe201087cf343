package page

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"
	"time"
	"unicode"
	"unicode/utf8"

	"griptrial/acquire/bench"
)

const (
	mostBody   = 4 << 10 // bytes of a command
	mostText   = 500     // letters of a note
	mostBy     = 1_000_000
	replyAfter = 4 * time.Second // a session that saves to a slow disk may take a while
)

// verbs are the commands that go to the session as they are.
var verbs = map[string]bench.Verb{
	"begin": bench.Begin, "tick": bench.Tick, "tare": bench.Tare, "weigh": bench.Weigh, "weighed": bench.Weighed, "back": bench.Back,
	"accept": bench.Accept, "slipped": bench.Slipped, "held": bench.Held, "void": bench.Void, "mark": bench.Place, "end": bench.End,
	"undo": bench.Undo, "skip": bench.Skip, "quit": bench.Quit,
}

// command answers POST /command.
func (s *Server) command(w http.ResponseWriter, r *http.Request) {
	c, from, ok := s.take(w, r)
	if !ok {
		return
	}
	switch c.Do {
	case "take":
		s.hub.take(from)
		answer(w, Answer{Step: s.hub.step(), Role: Writer})
		return
	case "leave":
		s.hub.leave(from)
		answer(w, Answer{Step: s.hub.step(), Role: Watcher})
		return
	}
	b, status, why := s.read(c)
	if status != 0 {
		refuse(w, status, why, s.hub.step())
		return
	}
	if reply, ok := s.ask(w, r, from, b); ok {
		answer(w, Answer{Step: reply.Step, Role: Writer, Text: reply.Text})
	}
}

// take reads a command and who sends it; ok is false where it was refused.
func (s *Server) take(w http.ResponseWriter, r *http.Request) (c Command, from *client, ok bool) {
	step := s.hub.step()
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "application/json" {
		refuse(w, http.StatusUnsupportedMediaType, "a command is JSON (Content-Type: application/json)", step)
		return c, nil, false
	}
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, mostBody))
	d.DisallowUnknownFields()
	err := d.Decode(&c)
	if err == nil {
		if _, more := d.Token(); !errors.Is(more, io.EOF) {
			err = errors.New("something stands after it")
			if more != nil {
				err = more
			}
		}
	}
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		refuse(w, http.StatusRequestEntityTooLarge, "the command is far too long", step)
	case err != nil:
		refuse(w, http.StatusBadRequest, "not a command: "+err.Error(), step)
	case c.By > mostBy || c.By < -mostBy:
		refuse(w, http.StatusBadRequest, "by is out of all range", step)
	case !plain(c.Text):
		refuse(w, http.StatusBadRequest, "the text is longer than 500 letters, or holds what is no letter", step)
	default:
		key, _ := s.rightOf(r)
		if from = s.hub.known(c.Client, key); from == nil {
			refuse(w, http.StatusForbidden, "this page is not known here; load it again", step)
			break
		}
		if !s.guard.mayCommand(from.id) {
			w.Header().Set("Retry-After", "1")
			refuse(w, http.StatusTooManyRequests, "too many commands; wait a second", step)
			break
		}
		return c, from, true
	}
	return c, nil, false
}

// plain reports whether a text is one that a person may have typed in a line.
func plain(s string) bool {
	if utf8.RuneCountInString(s) > mostText || !utf8.ValidString(s) {
		return false
	}
	for _, r := range s {
		if unicode.IsControl(r) && r != '\t' {
			return false
		}
	}
	return true
}

// read turns a command of the contract into one of the session.
func (s *Server) read(c Command) (b bench.Command, status int, why string) {
	if c.Do == "typed" {
		s.hub.mu.Lock()
		u := s.hub.view.Unit
		s.hub.mu.Unlock()
		b, err := bench.ParseReading(c.Text, u)
		if err != nil {
			return b, http.StatusUnprocessableEntity, err.Error()
		}
		b.Step = c.Step
		return b, stepless(c.Step), "a command carries the step of the state that was seen"
	}
	verb, ok := verbs[c.Do]
	if !ok {
		return b, http.StatusBadRequest, "there is no command \"" + c.Do + "\""
	}
	b = bench.Command{Verb: verb, Text: c.Text, N: c.N, On: c.On, Ticked: true, Step: c.Step, To: bench.Placing{Reset: c.Reset, At: c.T, By: c.By}}
	return b, stepless(c.Step), "a command carries the step of the state that was seen"
}

// stepless refuses a command without a step: it could be done twice.
func stepless(step int) int {
	if step <= 0 {
		return http.StatusBadRequest
	}
	return 0
}

// ask puts a command to the session and waits for what becomes of it; ok is
// false where it was refused.
func (s *Server) ask(w http.ResponseWriter, r *http.Request, from *client, b bench.Command) (reply bench.Reply, ok bool) {
	s.hub.mu.Lock()
	ended := s.hub.ended != ""
	s.hub.mu.Unlock()
	if ended {
		refuse(w, http.StatusConflict, "the session is over", s.hub.step())
		return reply, false
	}
	if s.hub.role(from).Role != Writer {
		refuse(w, http.StatusForbidden, "another screen has the say; take over first", s.hub.step())
		return reply, false
	}
	replies := make(chan bench.Reply, 1)
	b.Reply = replies
	ctx, cancel := context.WithTimeout(r.Context(), replyAfter)
	defer cancel()
	select {
	case s.commands <- b:
	case <-ctx.Done():
		w.Header().Set("Retry-After", "1")
		refuse(w, http.StatusServiceUnavailable, "the session did not answer; look at the screen and try again", s.hub.step())
		return reply, false
	case <-s.closed:
		refuse(w, http.StatusConflict, "the session is over", s.hub.step())
		return reply, false
	}
	select {
	case reply = <-replies:
	case <-ctx.Done():
		refuse(w, http.StatusServiceUnavailable, "the session has the command but has not answered; look at the screen", s.hub.step())
		return reply, false
	}
	switch {
	case reply.Stale:
		refuse(w, http.StatusConflict, "that was for a screen of before: "+reply.Text, reply.Step)
	case reply.NotNow:
		refuse(w, http.StatusConflict, reply.Text, reply.Step)
	case !reply.Done:
		refuse(w, http.StatusUnprocessableEntity, reply.Text, reply.Step)
	default:
		return reply, true
	}
	return reply, false
}
