package page

import (
	"bufio"
	"encoding/json"
	"net/http"
	"time"
)

const (
	frame       = 50 * time.Millisecond // least time between live events, on the whole
	beatEvery   = 2 * time.Second
	streamWrite = 5 * time.Second // a page that takes nothing for so long is gone
)

// Pages.
const (
	vise      = "vise"
	liveView  = "live"
	eventKind = "text/event-stream; charset=utf-8"
)

// events answers GET /events until the page or the program goes.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	which := r.URL.Query().Get("page")
	if which != vise && which != liveView {
		refuse(w, http.StatusBadRequest, "page is vise or live", 0)
		return
	}
	key, right := s.rightOf(r)
	if which == vise && right != rightVise {
		refuse(w, http.StatusForbidden, "this address may only watch; the one for the vise is in the terminal", 0)
		return
	}
	st, err := s.hub.join(r.URL.Query().Get("client"), which, key)
	if err != nil {
		w.Header().Set("Retry-After", "5")
		refuse(w, http.StatusServiceUnavailable, err.Error(), 0)
		return
	}
	defer s.hub.part(st)
	w.Header().Set("Content-Type", eventKind)
	w.Header().Set("X-Accel-Buffering", "no")
	out := &sender{s: s, stream: st, w: bufio.NewWriter(w), rc: http.NewResponseController(w)}
	_ = out.rc.SetReadDeadline(time.Time{}) // the request was read; a page says no more
	out.serve(r)
}

// sender writes the events of one page. It has its own place in the trace, so
// a slow page gets larger pieces and loses nothing.
type sender struct {
	s      *Server
	stream *stream
	w      *bufio.Writer
	rc     *http.ResponseController

	cursor cursor
	states int
	lives  int
	role   RoleChange
	due    time.Time // of the next live event
	sent   time.Time
	err    error
}

func (o *sender) serve(r *http.Request) {
	h, now := o.s.hub, o.s.options.Now
	role := h.role(o.stream.client)
	o.send("hello", Hello{Client: o.stream.client.id, Role: role.Role, Page: o.stream.client.page, Run: h.run})
	if o.stream.client.page == vise {
		o.send("role", role)
	}
	o.role = role
	timer := time.NewTimer(beatEvery)
	defer timer.Stop()
	for o.err == nil {
		h.mu.Lock()
		changed := h.changed
		h.mu.Unlock()
		over := o.news()
		wait := beatEvery - now().Sub(o.sent)
		if wait <= 0 {
			o.send("beat", map[string]string{"now": now().Format(time.RFC3339)})
			wait = beatEvery
		}
		if o.behind() {
			wait = min(wait, max(o.due.Sub(now()), 0))
		}
		o.flush()
		if over || o.err != nil {
			return
		}
		timer.Reset(wait)
		select {
		case <-changed:
		case <-timer.C:
		case <-o.stream.replaced:
			o.send("role", RoleChange{Role: Watcher, Writer: true, Why: "replaced"})
			o.flush()
			return
		case <-r.Context().Done():
			return
		case <-o.s.closed:
			return
		}
	}
}

// behind reports whether a live event waits for its turn.
func (o *sender) behind() bool {
	h := o.s.hub
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.lives != o.lives
}

// news sends what the page has not seen. over is true after the last word.
func (o *sender) news() (over bool) {
	h := o.s.hub
	now := o.s.options.Now()
	h.mu.Lock()
	role := h.roleOf(o.stream.client)
	text, states, lives, ended := h.text, h.states, h.lives, h.ended
	fresh := states != o.states
	var live *Live
	if lives != o.lives && (fresh || !now.Before(o.due)) {
		l := h.live(&o.cursor)
		live = &l
	}
	h.mu.Unlock()
	if role.Role != o.role.Role || role.Writer != o.role.Writer {
		if o.stream.client.page == vise {
			o.send("role", role)
		}
		o.role = role
	}
	if fresh && text != nil {
		o.sendText("state", text)
		o.states = states
	}
	if live != nil {
		o.send("live", live)
		o.lives = lives
		if earliest := now.Add(-frame); o.due.Before(earliest) {
			o.due = earliest
		}
		o.due = o.due.Add(frame)
	}
	if ended != "" {
		o.send("over", map[string]string{"why": ended})
	}
	return ended != ""
}

func (o *sender) send(name string, v any) {
	text, err := json.Marshal(v)
	if err != nil {
		o.err = err
		return
	}
	o.sendText(name, text)
}

func (o *sender) sendText(name string, text []byte) {
	if o.err != nil {
		return
	}
	o.sent = o.s.options.Now()
	_ = o.rc.SetWriteDeadline(o.sent.Add(streamWrite)) // a test's writer has none
	for _, part := range [][]byte{[]byte("event: " + name + "\ndata: "), text, []byte("\n\n")} {
		if _, err := o.w.Write(part); err != nil {
			o.err = err
			return
		}
	}
}

// flush hands over what was written.
func (o *sender) flush() {
	if o.err == nil && o.w.Buffered() > 0 {
		if o.err = o.w.Flush(); o.err == nil {
			o.err = o.rc.Flush()
		}
	}
}
