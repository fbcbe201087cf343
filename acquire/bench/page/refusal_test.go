package page

import (
	"encoding/json"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// refused requires a status and one clear error.
func refused(t *testing.T, status int, body string, want int, say string) {
	t.Helper()
	assert.Equal(t, want, status, body)
	var r Refusal
	require.NoError(t, json.Unmarshal([]byte(body), &r), body)
	assert.Contains(t, r.Error, say)
	assert.NotContains(t, r.Error, "\n")
}

// What does not come from a page of this server, or is no command, is refused,
// and nothing of it reaches the session.
func TestRefusals(t *testing.T) {
	s := begin(t, "hand", nil, nil)
	b := s.open("vise", "")
	b.looked()
	step := b.phase("typing").Step
	good, err := json.Marshal(Command{Client: b.client, Step: step, Do: "typed", Text: "10"})
	require.NoError(t, err)
	port := s.base[strings.LastIndex(s.base, ":")+1:]
	set := func(name, value string) func(*http.Request) {
		return func(r *http.Request) { r.Header.Set(name, value) }
	}
	with := func(more string) string { return strings.TrimSuffix(string(good), "}") + "," + more + "}" }
	for name, c := range map[string]struct {
		where, body string
		more        func(*http.Request)
		status      int
		say         string
	}{
		"rebinding host": {"/command", string(good), func(r *http.Request) { r.Host = "vise.example:" + port }, 421, "open the address that the terminal shows"},
		"rebinding with origin": {"/command", string(good), func(r *http.Request) {
			r.Host = "vise.example:" + port
			r.Header.Set("Origin", "http://vise.example:"+port)
		}, 421, "not the server"},
		"other port as host":     {"/command", string(good), func(r *http.Request) { r.Host = "127.0.0.1:1" }, 421, "not the server"},
		"foreign origin":         {"/command", string(good), set("Origin", "https://example.com"), 403, "only pages of this server"},
		"origin of another port": {"/command", string(good), set("Origin", "http://127.0.0.1:1"), 403, "only pages of this server"},
		"secure origin":          {"/command", string(good), set("Origin", "https://127.0.0.1:"+port), 403, "only pages of this server"},
		"opaque origin":          {"/command", string(good), set("Origin", "null"), 403, "only pages of this server"},
		"no origin":              {"/command", string(good), func(r *http.Request) { r.Header.Del("Origin") }, 403, "only pages of this server"},
		"cross-site":             {"/command", string(good), set("Sec-Fetch-Site", "cross-site"), 403, "only pages of this server"},
		"results from elsewhere": {"/results", string(good), set("Origin", "https://example.com"), 403, "only pages of this server"},
		"form":                   {"/command", string(good), set("Content-Type", "text/plain"), 415, "a command is JSON"},
		"oversized":              {"/command", with(`"text":"` + strings.Repeat("a", 5000) + `"`), nil, 413, "far too long"},
		"long text":              {"/command", strings.Replace(string(good), `"10"`, `"10 ; `+strings.Repeat("a", 600)+`"`, 1), nil, 400, "longer than 500 letters"},
		"control character":      {"/command", strings.Replace(string(good), `"10"`, `"10\u0000"`, 1), nil, 400, "no letter"},
		"not JSON":               {"/command", "do it", nil, 400, "not a command"},
		"empty":                  {"/command", "", nil, 400, "not a command"},
		"cut off":                {"/command", string(good[:len(good)-3]), nil, 400, "not a command"},
		"two commands":           {"/command", string(good) + string(good), nil, 400, "not a command"},
		"unknown field":          {"/command", with(`"force":"10"`), nil, 400, "unknown field"},
		"another type":           {"/command", strings.Replace(string(good), `"10"`, `10`, 1), nil, 400, "not a command"},
		"number beyond all":      {"/command", with(`"t":1e999`), nil, 400, "not a command"},
		"far away":               {"/command", with(`"by":2000000`), nil, 400, "out of all range"},
		"unknown command":        {"/command", strings.Replace(string(good), "typed", "dance", 1), nil, 400, `there is no command "dance"`},
		"no step":                {"/command", strings.Replace(string(good), `"step":`, `"n":`, 1), nil, 400, "carries the step"},
		"another step":           {"/command", strings.Replace(string(good), `"step":`, `"step":9`, 1), nil, 409, "screen of before"},
		"not now":                {"/command", strings.Replace(string(good), "typed", "accept", 1), nil, 409, "not now (typing)"},
		"unknown page":           {"/command", strings.Replace(string(good), b.client, "0123", 1), nil, 403, "not known here"},
		"results of a command":   {"/results", string(good), nil, 400, "asked for with"},
		"results without a step": {"/results", `{"client":"` + b.client + `","do":"look"}`, nil, 400, "carries the step"},
		"post to a page":         {"/vise", string(good), nil, 404, "no such page"},
		"post to the events":     {"/events", string(good), nil, 404, "no such page"},
	} {
		t.Run(name, func(t *testing.T) {
			status, body := s.post(c.where, c.body, c.more)
			refused(t, status, body, c.status, c.say)
		})
	}
	for where, c := range map[string]struct {
		status int
		say    string
	}{
		"/command": {404, "no such page"}, "/elsewhere": {404, "no such page"}, "/assets/": {404, "no such page"}, "/assets/../protocol.go": {404, "no such page"},
		"/assets/nothing.js": {404, "no such page"}, "/trace": {409, "no record is being judged"}, "/events": {400, "page is vise or live"}, "/events?page=other": {400, "page is vise or live"},
	} {
		status, body := s.get(where)
		if status == http.StatusTemporaryRedirect || status == http.StatusMovedPermanently { // the path is cleaned first
			continue
		}
		refused(t, status, body, c.status, c.say)
	}
	for _, where := range []string{"/events?page=vise", "/state", "/trace"} {
		req, err := http.NewRequest(http.MethodGet, s.base+where, nil)
		require.NoError(t, err)
		req.Header.Set("Origin", "https://example.com")
		status, body := s.ask(req)
		refused(t, status, body, 403, "only pages of this server")
		req.Header.Del("Origin")
		req.Header.Set("Sec-Fetch-Site", "cross-site")
		status, body = s.ask(req)
		refused(t, status, body, 403, "only pages of this server")
		req.Host = "vise.example:" + port
		status, body = s.ask(req)
		refused(t, status, body, 421, "not the server")
	}
	assert.Equal(t, step, b.phase("typing").Step, "nothing of it was done")
	assert.Empty(t, s.check().Current())
}

// A window of the trace that makes no sense is refused.
func TestTraceWindow(t *testing.T) {
	g := newRig(1000)
	s := begin(t, "cell", g, nil)
	b := s.open("vise", "")
	g.facts(s.ctx)
	b.looked()
	b.mounted(g)
	g.to(s.ctx, 0, 50, 5).to(s.ctx, 50, 0, 1).to(s.ctx, 0, 0, 2)
	state := b.phase("judging")
	for query, say := range map[string]string{"from=a": "a number of seconds", "to=NaN": "a number of seconds", "from=1e9": "a number of seconds", "from=2&to=1": "after to"} {
		status, body := s.get("/trace?" + query)
		refused(t, status, body, 400, say)
	}
	record := func(query string) (r Record) {
		status, body := s.get("/trace" + query)
		require.Equal(t, 200, status)
		require.NoError(t, json.Unmarshal([]byte(body), &r))
		require.Len(t, r.Force, len(r.T))
		for i := 1; i < len(r.T); i++ {
			require.GreaterOrEqual(t, r.T[i], r.T[i-1])
		}
		return r
	}
	all := record("")
	assert.Equal(t, state.Proposal.Samples, all.Samples)
	assert.Greater(t, all.Samples, mostPoints)
	assert.False(t, all.Whole)
	assert.LessOrEqual(t, len(all.T), mostPoints)
	assert.Greater(t, len(all.T), mostPoints/4)
	greatest := 0.0
	for _, f := range all.Force {
		greatest = max(greatest, f)
	}
	assert.InDelta(t, state.Proposal.Peak, greatest, 0.02, "thinning keeps the greatest")
	part := record("?from=1&to=1.0995")
	assert.True(t, part.Whole)
	assert.InDelta(t, 100, part.Samples, 1)
	assert.Len(t, part.T, part.Samples)
	assert.Empty(t, record("?from=900&to=901").T)
}

// Too many requests, commands or pages are refused, and the rest go on.
func TestTooMany(t *testing.T) {
	now := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	g := newGuard(func() time.Time { return now }, false)
	g.names = []string{"127.0.0.1:7420"}
	r := httptest.NewRequest(http.MethodGet, "http://127.0.0.1:7420/state", nil)
	admitted := func() (n int) {
		for {
			if status, why := g.admit(r); status != 0 {
				assert.Equal(t, http.StatusTooManyRequests, status)
				assert.Equal(t, "too many requests; wait a second", why)
				return n
			}
			n++
		}
	}
	assert.Equal(t, burst, admitted())
	now = now.Add(time.Second)
	assert.Equal(t, perSecond, admitted())
	r.RemoteAddr = "192.0.2.7:1"
	assert.Equal(t, burst, admitted(), "each address by itself")
	for i := range 3 * mostBuckets { // strangers do not fill the memory
		g.mu.Lock()
		g.spend("requests "+string(rune(i)), 1, 1)
		g.mu.Unlock()
	}
	assert.LessOrEqual(t, len(g.buckets), 2*mostBuckets)

	s := begin(t, "hand", nil, nil)
	b := s.open("vise", "")
	b.phase("checks")
	at := time.Now()
	s.server.guard.mu.Lock()
	s.server.guard.now = func() time.Time { return at } // a slow machine sends few in a second
	s.server.guard.mu.Unlock()
	tooMany := 0
	for range 2*commands + 5 {
		if status, body := b.send(Command{Do: "tick", On: true}); status == http.StatusTooManyRequests {
			tooMany++
			refused(t, status, body, 429, "too many commands")
		}
	}
	assert.Equal(t, 5, tooMany)

	s.server.hub.mu.Lock()
	s.server.hub.streams += mostStreams
	s.server.hub.mu.Unlock()
	status, body := s.get("/events?page=live")
	refused(t, status, body, 503, "too many pages are connected")
	s.server.hub.mu.Lock()
	s.server.hub.streams -= mostStreams
	s.server.hub.mu.Unlock()
}

// More connections than any shop has are closed, and others go on.
func TestTooManyConnections(t *testing.T) {
	s := begin(t, "hand", nil, nil)
	address := strings.TrimPrefix(s.base, "http://")
	var conns []net.Conn
	defer func() {
		for _, c := range conns {
			c.Close()
		}
	}()
	closed := 0
	for range mostConns + 20 {
		c, err := net.Dial("tcp", address)
		require.NoError(t, err)
		conns = append(conns, c)
	}
	for _, c := range conns[mostConns:] {
		require.NoError(t, c.SetReadDeadline(time.Now().Add(patience)))
		if _, err := c.Read(make([]byte, 1)); err != nil && !isTimeout(err) {
			closed++
		}
	}
	assert.Equal(t, 20, closed)
	for _, c := range conns {
		c.Close()
	}
	require.Eventually(t, func() bool {
		res, err := http.Get(s.base + "/state")
		if err != nil {
			return false
		}
		res.Body.Close()
		return res.StatusCode == 200
	}, patience, 10*time.Millisecond, "there is room again")
}

func isTimeout(err error) bool {
	n, ok := err.(net.Error)
	return ok && n.Timeout()
}

// A page may use nothing from elsewhere, and may stand in no frame.
func TestHeaders(t *testing.T) {
	s := begin(t, "hand", nil, nil)
	for _, where := range []string{"/", "/vise", "/assets/main.js", "/state", "/nothing"} {
		res, err := http.Get(s.base + where)
		require.NoError(t, err)
		text, err := io.ReadAll(res.Body)
		require.NoError(t, err)
		res.Body.Close()
		assert.NotEmpty(t, text)
		policy := res.Header.Get("Content-Security-Policy")
		assert.True(t, strings.HasPrefix(policy, "default-src 'none'; "))
		assert.Contains(t, policy, "frame-ancestors 'none'")
		assert.NotContains(t, policy, "unsafe")
		assert.NotContains(t, policy, "http")
		assert.Equal(t, "nosniff", res.Header.Get("X-Content-Type-Options"))
		assert.Equal(t, "no-store", res.Header.Get("Cache-Control"))
		assert.Empty(t, res.Header.Get("Access-Control-Allow-Origin"))
	}
}
