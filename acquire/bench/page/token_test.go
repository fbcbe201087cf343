package page

import (
	"net"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"rsc.io/qr"

	"griptrial/acquire/bench"
)

// away is a server that asks for tokens.
func away(t *testing.T) (s *session, used chan bool, l net.Listener) {
	t.Helper()
	used = make(chan bool, 100)
	l, err := Listen("127.0.0.1:0")
	require.NoError(t, err)
	s = &session{t: t, base: "http://" + l.Addr().String()}
	s.server = New(Options{Setup: blanks("hand"), Now: time.Now, Tokens: true, Used: func() { used <- true }})
	s.server.Serve(l)
	s.server.Show(bench.View{Step: 1})
	t.Cleanup(func() { require.NoError(t, s.server.Close()) })
	return s, used, l
}

// From other devices a page comes in by a token: the one of the vise once.
func TestTokens(t *testing.T) {
	s, used, l := away(t)
	for _, where := range []string{"/", "/vise", "/state", "/trace", "/events?page=live", "/vise?token=", "/vise?token=1234"} {
		status, body := s.get(where)
		assert.Equal(t, http.StatusForbidden, status, where)
		assert.Contains(t, body, "the terminal shows")
	}
	status, body := s.post("/command", `{"do":"take"}`, nil)
	refused(t, status, body, 403, "was not let in")

	enter := func(address string) (*http.Cookie, int) {
		req, err := http.NewRequest(http.MethodGet, address, nil)
		require.NoError(t, err)
		res, err := http.DefaultTransport.RoundTrip(req)
		require.NoError(t, err)
		res.Body.Close()
		for _, c := range res.Cookies() {
			assert.True(t, c.HttpOnly)
			assert.Equal(t, http.SameSiteStrictMode, c.SameSite)
			at, err := url.Parse(address)
			require.NoError(t, err)
			assert.Equal(t, at.Path, res.Header.Get("Location"), "the token leaves the address bar")
			return c, res.StatusCode
		}
		return nil, res.StatusCode
	}
	as := func(c *http.Cookie) func(*http.Request) { return func(r *http.Request) { r.AddCookie(c) } }
	get := func(where string, c *http.Cookie) int {
		req, err := http.NewRequest(http.MethodGet, s.base+where, nil)
		require.NoError(t, err)
		req.AddCookie(c)
		status, _ := s.ask(req)
		return status
	}
	atVise, toWatch := s.server.Addresses(l)
	require.Len(t, atVise, 1)
	res, err := http.Head(atVise[0])
	require.NoError(t, err)
	res.Body.Close()
	assert.Equal(t, http.StatusForbidden, res.StatusCode, "a look ahead uses nothing up")
	vise, status := enter(atVise[0])
	require.NotNil(t, vise)
	assert.Equal(t, http.StatusSeeOther, status)
	<-used
	again, status := enter(atVise[0])
	assert.Nil(t, again, "it opens once")
	assert.Equal(t, http.StatusForbidden, status)
	fresh, _ := s.server.Addresses(l)
	assert.NotEqual(t, atVise, fresh)
	assert.Equal(t, 200, get("/vise", vise))
	assert.Equal(t, 200, get("/state", vise))

	watch, _ := enter(toWatch[0])
	require.NotNil(t, watch)
	watch2, _ := enter(toWatch[0])
	require.NotNil(t, watch2, "any number may look on")
	assert.Equal(t, 200, get("/", watch))
	assert.Equal(t, 200, get("/state", watch))
	assert.Equal(t, 403, get("/vise", watch))
	assert.Equal(t, 403, get("/events?page=vise", watch))
	for _, where := range []string{"/command", "/results"} {
		status, body = s.post(where, `{"do":"take"}`, as(watch))
		refused(t, status, body, 403, "was not let in")
	}
	upgraded, _ := enter(strings.Replace(toWatch[0], "/?", "/vise?", 1))
	assert.Nil(t, upgraded, "the token to look on does not open the vise")
	status, body = s.post("/command", `{"client":"12","do":"take","step":1}`, as(vise))
	refused(t, status, body, 403, "not known here")

	wrong := 0
	for range 20 {
		if _, status := enter(s.base + "/vise?token=00"); status == http.StatusTooManyRequests {
			wrong++
		}
	}
	assert.Greater(t, wrong, 10, "nobody tries many")
	last, _ := enter(fresh[0])
	assert.NotNil(t, last, "the right one still opens")
}

// The page listens where it is told, and says why where it cannot.
func TestListen(t *testing.T) {
	l, err := Listen("")
	require.NoError(t, err)
	defer l.Close()
	assert.True(t, Loopback(l.Addr()))
	second, err := Listen("") // another bench beside it
	require.NoError(t, err)
	defer second.Close()
	assert.True(t, Loopback(second.Addr()))
	_, err = Listen("203.0.113.9:1")
	require.ErrorContains(t, err, "the page cannot listen at 203.0.113.9:1")
	_, err = Listen("127.0.0.1:port")
	require.Error(t, err)
	all, err := Listen(":0")
	require.NoError(t, err)
	defer all.Close()
	assert.False(t, Loopback(all.Addr()))
	s := New(Options{Now: time.Now})
	atVise, _ := s.Addresses(all)
	for _, a := range atVise {
		assert.NotContains(t, a, "[::]")
		assert.NotContains(t, a, "0.0.0.0")
	}
}

// A code is drawn module for module, with its white edge.
func TestQR(t *testing.T) {
	const address = "http://192.168.1.20:7420/vise?token=0123456789abcdef0123456789abcdef"
	text, err := QR(address, false)
	require.NoError(t, err)
	code, err := qr.Encode(address, qr.L)
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	require.Len(t, lines, (code.Size+2*quietZone+1)/2)
	for i, l := range lines {
		cells := []rune(l)
		require.Len(t, cells, code.Size+2*quietZone)
		for j, c := range cells {
			x, y := j-quietZone, 2*i-quietZone
			require.Equal(t, code.Black(x, y), c == ' ' || c == '▄', "the upper half of %d, %d", x, y)
			require.Equal(t, code.Black(x, y+1), c == ' ' || c == '▀', "the lower half of %d, %d", x, y)
		}
	}
	coloured, err := QR(address, true)
	require.NoError(t, err)
	assert.Equal(t, text, strings.NewReplacer("\x1b[38;5;231;48;5;16m", "", "\x1b[0m", "").Replace(coloured))
	_, err = QR(strings.Repeat("a", 5000), false)
	require.Error(t, err)
}
