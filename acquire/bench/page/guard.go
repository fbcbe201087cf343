package page

import (
	"crypto/subtle"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"
)

// right is what a browser may do.
type right int

const (
	rightNone right = iota
	rightWatch
	rightVise
)

// cookie names the key of a browser that has shown a token.
const cookie = "griptrial"

// guard decides who is let in. A request must name this server as its host, so
// that another site's name cannot be pointed at it, and, if it comes from a
// page, from a page of this server.
type guard struct {
	now    func() time.Time
	tokens bool

	mu      sync.Mutex
	names   []string         // hosts that are this server, with the port
	vise    string           // the token that opens /vise once
	watch   string           // the token that opens /
	keys    map[string]right // of browsers that were let in
	order   []string         // of the keys, oldest first
	buckets map[string]*bucket
}

const (
	mostKeys    = 500
	mostBuckets = 1000
	perSecond   = 100 // requests from one address, on the whole
	burst       = 400 // at once
	commands    = 60  // from one page a second, on the whole: a key that is held down sends 30
	mostTokens  = 5   // wrong ones from one address a minute, on the whole
)

func newGuard(now func() time.Time, tokens bool) *guard {
	return &guard{now: now, tokens: tokens, vise: random(16), watch: random(16), keys: map[string]right{}, buckets: map[string]*bucket{}}
}

// hosts takes the names of this server from where it listens.
func (g *guard) hosts(a net.Addr) {
	g.mu.Lock()
	defer g.mu.Unlock()
	host, port, err := net.SplitHostPort(a.String())
	if err != nil {
		g.names = []string{a.String()}
		return
	}
	names := []string{host}
	switch ip := net.ParseIP(host); {
	case ip == nil:
	case ip.IsLoopback():
		names = []string{"127.0.0.1", "::1", "localhost"}
	case ip.IsUnspecified():
		names = append(addresses(), "127.0.0.1", "::1", "localhost")
	}
	g.names = nil
	for _, n := range names {
		g.names = append(g.names, net.JoinHostPort(n, port))
		if port == "80" {
			g.names = append(g.names, strings.TrimSuffix(net.JoinHostPort(n, port), ":80"))
		}
	}
}

// admit looks at what does not depend on the page; status 0 lets it in.
func (g *guard) admit(r *http.Request) (status int, why string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if !slices.Contains(g.names, strings.ToLower(r.Host)) {
		return http.StatusMisdirectedRequest, "this is not the server that the address names; open the address that the terminal shows"
	}
	if !g.spend("requests "+remote(r), perSecond, burst) {
		return http.StatusTooManyRequests, "too many requests; wait a second"
	}
	if o := r.Header.Get("Origin"); o != "" || r.Method == http.MethodPost {
		u, err := url.Parse(o)
		if err != nil || u.Scheme != "http" || !strings.EqualFold(u.Host, r.Host) {
			return http.StatusForbidden, "only pages of this server may ask that"
		}
	}
	if from := r.Header.Get("Sec-Fetch-Site"); from != "" && from != "same-origin" && from != "none" && !document(r) {
		return http.StatusForbidden, "only pages of this server may ask that"
	}
	return 0, ""
}

// document reports whether a person sees the answer as it is.
func document(r *http.Request) bool { return r.URL.Path == "/" || r.URL.Path == "/vise" }

// remote is the address that a request came from, without its port.
func remote(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

// bucket holds what somebody may still spend.
type bucket struct {
	left float64
	at   time.Time
}

// spend takes one from a bucket that fills by rate a second up to most; false
// where it is empty. mu is held.
func (g *guard) spend(name string, rate, most float64) bool {
	now := g.now()
	b := g.buckets[name]
	if b == nil {
		if len(g.buckets) >= mostBuckets { // those that were left alone are full again
			for n, old := range g.buckets {
				if now.Sub(old.at) > 5*time.Minute || len(g.buckets) >= 2*mostBuckets {
					delete(g.buckets, n)
				}
			}
		}
		b = &bucket{left: most, at: now}
		g.buckets[name] = b
	}
	b.left = min(most, b.left+rate*max(0, now.Sub(b.at).Seconds()))
	b.at = now
	if b.left < 1 {
		return false
	}
	b.left--
	return true
}

// mayCommand bounds the commands of one client.
func (g *guard) mayCommand(client string) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.spend("commands "+client, commands, 2*commands)
}

// right is what the key of a browser opens.
func (s *Server) rightOf(r *http.Request) (key string, is right) {
	if !s.guard.tokens {
		return "", rightVise
	}
	c, err := r.Cookie(cookie)
	if err != nil {
		return "", rightNone
	}
	s.guard.mu.Lock()
	defer s.guard.mu.Unlock()
	return c.Value, s.guard.keys[c.Value]
}

// only lets in who has a right.
func (s *Server) only(need right, serve http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if _, has := s.rightOf(r); has < need {
			refuse(w, http.StatusForbidden, lockedOut, 0)
			return
		}
		serve(w, r)
	}
}

const lockedOut = "this browser was not let in, or the program was started anew; open the address that the terminal shows now"

// enter serves a document, and first takes a token for a key.
func (s *Server) enter(need right, serve http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		token := r.URL.Query().Get("token")
		_, has := s.rightOf(r)
		if token != "" && s.guard.tokens && has < need && r.Method == http.MethodGet { // a look ahead by HEAD uses nothing up
			key, fresh, status, why := s.guard.exchange(token, need, remote(r))
			if status != 0 {
				plainly(w, status, why)
				return
			}
			http.SetCookie(w, &http.Cookie{Name: cookie, Value: key, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
			if fresh && s.options.Used != nil {
				s.options.Used()
			}
			has = need
		}
		if has < need {
			plainly(w, http.StatusForbidden, lockedOut)
			return
		}
		if token != "" { // it has no place in the address bar
			http.Redirect(w, r, r.URL.Path, http.StatusSeeOther)
			return
		}
		serve(w, r)
	}
}

// exchange gives a key for a token. The token of the vise is good once; fresh
// tells that another took its place.
func (g *guard) exchange(token string, need right, from string) (key string, fresh bool, status int, why string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	same := func(want string) bool { return subtle.ConstantTimeCompare([]byte(token), []byte(want)) == 1 }
	is := rightNone
	switch {
	case same(g.vise):
		is = rightVise
		g.vise, fresh = random(16), true
	case same(g.watch):
		is = rightWatch
	}
	if is < need {
		if !g.spend("tokens "+from, mostTokens/60.0, mostTokens) {
			return "", fresh, http.StatusTooManyRequests, "too many wrong addresses; wait a minute"
		}
		return "", fresh, http.StatusForbidden, "this address was used already, or is wrong; the terminal shows a fresh one"
	}
	if len(g.order) >= mostKeys {
		delete(g.keys, g.order[0])
		g.order = g.order[1:]
	}
	key = random(16)
	g.keys[key] = is
	g.order = append(g.order, key)
	return key, fresh, 0, ""
}
