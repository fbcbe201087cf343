package page

import (
	"bytes"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"sync"
	"time"

	"griptrial/acquire/bench"
)

const (
	mostNotices = 30
	mostStreams = 200  // pages that look on at once
	mostClients = 1000 // that are remembered; those that are gone longest go first
)

// hub holds what the pages are shown, and who of them has the say. The session
// writes to it and never waits for a page; the pages wait on changed.
type hub struct {
	options Options
	run     string

	arrived chan struct{} // closed when a page of the vise has connected

	mu      sync.Mutex
	changed chan struct{} // closed and replaced at every change
	view    bench.View
	notices []Notice
	noticed int // how many there were
	strip   strip
	over    *Over
	ended   string // why the program ends; "": it does not

	text     []byte // the state as JSON
	states   int    // versions of text
	lives    int    // versions of the force
	clients  map[string]*client
	streams  int
	seat     string // the client that may command; "": nobody
	seatWhy  string // why it last changed
	arrivals int
}

// client is one page.
type client struct {
	id, page, key string
	stream        *stream // nil: not connected
	arrived       int     // order of the latest arrival
}

// stream is one connection of a client.
type stream struct {
	client   *client
	replaced chan struct{} // closed when the same client connects anew
}

func newHub(o Options) *hub {
	return &hub{options: o, run: random(4), arrived: make(chan struct{}), changed: make(chan struct{}), clients: map[string]*client{}}
}

// random is a name that nobody guesses, of n bytes.
func random(n int) string {
	b := make([]byte, n)
	_, _ = rand.Read(b) // never fails
	return hex.EncodeToString(b)
}

// tell wakes every page; mu is held.
func (h *hub) tell() {
	close(h.changed)
	h.changed = make(chan struct{})
}

// show takes the session as it is now.
func (h *hub) show(v bench.View) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, n := range v.Notices {
		h.noticed++
		h.notices = append(h.notices[max(0, len(h.notices)-mostNotices+1):len(h.notices):len(h.notices)],
			Notice{ID: h.noticed, At: h.options.Now().Format(time.RFC3339), Text: n.Text, Grave: n.Grave})
	}
	h.view = v
	h.lives++
	h.refresh()
	h.tell()
}

// refresh words the state anew; mu is held.
func (h *hub) refresh() {
	text, err := json.Marshal(h.state())
	if err != nil {
		text = []byte(`{"error":"the state cannot be written"}`) // only a NaN could do this, and number stops those
	}
	if !bytes.Equal(text, h.text) {
		h.text = text
		h.states++
	}
}

// sampled takes a sample of the record under way.
func (h *hub) sampled(record int, t, force float64) {
	h.mu.Lock()
	h.strip.add(record, round(t, 6), shown(force, h.view.Unit))
	h.mu.Unlock()
}

// end says how the session ended.
func (h *hub) end(o Over) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.over = &o
	h.ended = o.Text
	h.refresh()
	h.tell()
}

var errFull = errors.New("too many pages are connected; close some and try again")

// join connects a page, under the name that it had before where that is known.
func (h *hub) join(id, page, key string) (*stream, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.streams >= mostStreams {
		return nil, errFull
	}
	c := h.clients[id]
	if c == nil || c.page != page || c.key != key {
		h.forget()
		c = &client{id: random(16), page: page, key: key}
		h.clients[c.id] = c
	}
	if c.stream != nil {
		close(c.stream.replaced)
	}
	h.arrivals++
	c.arrived = h.arrivals
	c.stream = &stream{client: c, replaced: make(chan struct{})}
	h.streams++
	if page == vise {
		select {
		case <-h.arrived:
		default:
			close(h.arrived)
		}
	}
	if holder := h.clients[h.seat]; page == vise && (holder == nil || holder.stream == nil) {
		h.seat, h.seatWhy = c.id, "nobody else was at the vise"
	}
	h.tell()
	return c.stream, nil
}

// forget makes room for one more client; mu is held.
func (h *hub) forget() {
	if len(h.clients) < mostClients {
		return
	}
	var oldest *client
	for _, c := range h.clients {
		if c.stream == nil && c.id != h.seat && (oldest == nil || c.arrived < oldest.arrived) {
			oldest = c
		}
	}
	if oldest != nil {
		delete(h.clients, oldest.id)
	}
}

// part takes a connection away.
func (h *hub) part(s *stream) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.streams--
	if s.client.stream == s {
		s.client.stream = nil
	}
	h.tell()
}

// role is what a client may do, and whether somebody else has the say.
func (h *hub) role(c *client) RoleChange {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.roleOf(c)
}

func (h *hub) roleOf(c *client) RoleChange {
	holder := h.clients[h.seat]
	r := RoleChange{Role: Watcher, Writer: holder != nil && holder.stream != nil, Why: h.seatWhy}
	if c.id == h.seat {
		r.Role = Writer
	}
	return r
}

// known is a client that may be at the vise.
func (h *hub) known(id, key string) *client {
	h.mu.Lock()
	defer h.mu.Unlock()
	if c := h.clients[id]; c != nil && c.key == key && c.page == vise {
		return c
	}
	return nil
}

// take gives a client the say.
func (h *hub) take(c *client) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.seat != c.id {
		h.seat, h.seatWhy = c.id, "another screen took over"
		h.tell()
	}
}

// leave gives the say up.
func (h *hub) leave(c *client) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.seat == c.id {
		h.seat, h.seatWhy = "", "the screen at the vise gave up the say"
		h.tell()
	}
}

func (h *hub) step() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.view.Step
}
