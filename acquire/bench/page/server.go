package page

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"log"
	"net"
	"net/http"
	"sync"
	"time"

	"griptrial/acquire/bench"
	"griptrial/analysis/trial"
)

// Options are what the server is told of the session. All but Used are
// required where they apply.
type Options struct {
	Setup    trial.Study
	Practice bool
	Port     string // of the load cell, as the person named it; "": typed readings
	Now      func() time.Time
	Tokens   bool   // pages show a token before they are let in
	Used     func() // told when the address of the vise was used, and another took its place; nil: nobody is
}

const (
	headerWithin  = 5 * time.Second  // for a request's header
	requestWithin = 10 * time.Second // for the whole of it
	answerWithin  = 15 * time.Second // for what is not a stream
	idleFor       = 60 * time.Second
	closeWithin   = 2 * time.Second
	mostHeader    = 16 << 10 // bytes
	mostConns     = 512
)

// Server is an Operator whose person sits before a browser.
type Server struct {
	options  Options
	hub      *hub
	guard    *guard
	commands chan bench.Command
	mux      *http.ServeMux
	results  sync.Mutex // one working-out at a time

	http   *http.Server
	served chan error
	closed chan struct{}
	once   sync.Once
}

// New makes a server; Serve lets browsers in.
func New(o Options) *Server {
	s := &Server{options: o, hub: newHub(o), commands: make(chan bench.Command), closed: make(chan struct{}), served: make(chan error, 1)}
	s.guard = newGuard(o.Now, o.Tokens)
	m := http.NewServeMux()
	m.HandleFunc("GET /{$}", s.enter(rightWatch, s.document))
	m.HandleFunc("GET /vise", s.enter(rightVise, s.document))
	m.HandleFunc("GET /assets/", s.asset)
	m.HandleFunc("GET /events", s.only(rightWatch, s.events))
	m.HandleFunc("GET /state", s.only(rightWatch, s.state))
	m.HandleFunc("GET /trace", s.only(rightWatch, s.record))
	m.HandleFunc("POST /command", s.only(rightVise, s.command))
	m.HandleFunc("POST /results", s.only(rightVise, s.look))
	m.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		refuse(w, http.StatusNotFound, "there is no such page; the bench is at /vise, the view for others at /", 0)
	})
	s.mux = m
	return s
}

// Serve takes requests from a listener until Close.
func (s *Server) Serve(l net.Listener) {
	s.guard.hosts(l.Addr())
	conns := &counter{most: mostConns}
	s.http = &http.Server{Handler: s, ReadHeaderTimeout: headerWithin, ReadTimeout: requestWithin, IdleTimeout: idleFor, MaxHeaderBytes: mostHeader,
		ErrorLog: log.New(quiet{}, "", 0), ConnState: conns.state}
	go func() { s.served <- s.http.Serve(l) }()
}

// quiet drops what the HTTP server would print of broken connections: the
// terminal belongs to the person.
type quiet struct{}

func (quiet) Write(b []byte) (int, error) { return len(b), nil }

// counter closes connections beyond a number.
type counter struct {
	mu   sync.Mutex
	n    int
	most int
}

func (c *counter) state(conn net.Conn, st http.ConnState) {
	c.mu.Lock()
	defer c.mu.Unlock()
	switch st {
	case http.StateNew:
		if c.n++; c.n > c.most {
			_ = conn.Close() // the count goes down when the server sees it closed
		}
	case http.StateClosed, http.StateHijacked:
		c.n--
	}
}

// Close sends the pages the last word and ends; nothing of the server runs
// afterwards.
func (s *Server) Close() error {
	var err error
	s.once.Do(func() {
		if s.http == nil {
			close(s.closed)
			return
		}
		// A page that was told the end leaves by itself.
		ctx, cancel := context.WithTimeout(context.Background(), closeWithin)
		defer cancel()
		err = s.http.Shutdown(ctx)
		close(s.closed)
		if err != nil { // somebody did not leave
			err = s.http.Close()
		}
		if e := <-s.served; !errors.Is(e, http.ErrServerClosed) {
			err = errors.Join(err, e)
		}
	})
	return err
}

// Show takes the session as it is now.
func (s *Server) Show(v bench.View) { s.hub.show(v) }

// Sampled takes a sample of the record under way; it is for bench.Config.
func (s *Server) Sampled(record int, t, force float64) { s.hub.sampled(record, t, force) }

// Commands gives what the person wants. It is never closed: a browser that went
// may come back.
func (s *Server) Commands() <-chan bench.Command { return s.commands }

// Arrived is closed when a page of the vise has connected.
func (s *Server) Arrived() <-chan struct{} { return s.hub.arrived }

// End tells the pages how the session ended, in words.
func (s *Server) End(text string, err error, left int) {
	o := Over{Text: text, Left: left}
	if err != nil {
		o.Error = err.Error()
	}
	s.hub.end(o)
}

// policy lets a page use nothing but what this server gives.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// ServeHTTP answers one request, after everything about it that does not depend
// on the page was looked at.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
	h.Set("Cache-Control", "no-store")
	_ = http.NewResponseController(w).SetWriteDeadline(s.options.Now().Add(answerWithin)) // a test's writer has none
	if status, why := s.guard.admit(r); status != 0 {
		if status == http.StatusTooManyRequests {
			h.Set("Retry-After", "1")
		}
		if document(r) {
			plainly(w, status, why)
		} else {
			refuse(w, status, why, 0)
		}
		return
	}
	s.mux.ServeHTTP(w, r)
}

// state answers GET /state.
func (s *Server) state(w http.ResponseWriter, _ *http.Request) {
	s.hub.mu.Lock()
	text := s.hub.text
	s.hub.mu.Unlock()
	if text == nil {
		refuse(w, http.StatusServiceUnavailable, "the session has not begun yet", 0)
		return
	}
	w.Header().Set("Content-Type", jsonKind)
	_, _ = w.Write(text) // a browser that is gone needs nothing
}

const jsonKind = "application/json; charset=utf-8"

// answer sends a value.
func answer(w http.ResponseWriter, v any) {
	text, err := json.Marshal(v)
	if err != nil {
		refuse(w, http.StatusInternalServerError, err.Error(), 0)
		return
	}
	w.Header().Set("Content-Type", jsonKind)
	_, _ = w.Write(text) // a browser that is gone needs nothing
}

// refuse says in one sentence why a request was not done.
func refuse(w http.ResponseWriter, status int, why string, step int) {
	text, err := json.Marshal(Refusal{Error: why, Step: step})
	if err != nil {
		text = []byte(`{"error":"refused","step":0}`) // two plain fields: it cannot fail
	}
	w.Header().Set("Content-Type", jsonKind)
	w.WriteHeader(status)
	_, _ = w.Write(text) // a browser that is gone needs nothing
}

// plainly is refuse for what a person sees as it is.
func plainly(w http.ResponseWriter, status int, why string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	_, _ = io.WriteString(w, "Grip trial: "+why+".\n") // a browser that is gone needs nothing
}
