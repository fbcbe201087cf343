package page

import (
	"encoding/json"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/bench"
)

// Only the names of this server are its names.
func TestHosts(t *testing.T) {
	for name, c := range map[string]struct {
		listens    net.TCPAddr
		good, evil []string
	}{
		"this computer": {net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 7420}, []string{"127.0.0.1:7420", "localhost:7420", "LOCALHOST:7420", "[::1]:7420"},
			[]string{"", "localhost", "127.0.0.1", "127.0.0.1:80", "localhost.example:7420", "192.168.1.20:7420", "0.0.0.0:7420", "localhost:7420.example"}},
		"usual port of the web": {net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 80}, []string{"127.0.0.1", "localhost", "[::1]", "localhost:80"}, []string{"example", "::1"}},
		"one network":           {net.TCPAddr{IP: net.IPv4(192, 168, 1, 20), Port: 7420}, []string{"192.168.1.20:7420"}, []string{"localhost:7420", "127.0.0.1:7420", "shop:7420"}},
		"every network":         {net.TCPAddr{IP: net.IPv6unspecified, Port: 7420}, []string{"127.0.0.1:7420", "localhost:7420"}, []string{"[::]:7420", "shop:7420"}},
	} {
		g := newGuard(time.Now, false)
		g.hosts(&c.listens)
		asked := func(host string) int {
			r := httptest.NewRequest(http.MethodGet, "/state", nil)
			r.Host = host
			status, _ := g.admit(r)
			return status
		}
		for _, host := range c.good {
			assert.Zero(t, asked(host), "%s: %q", name, host)
		}
		for _, host := range c.evil {
			assert.Equal(t, http.StatusMisdirectedRequest, asked(host), "%s: %q", name, host)
		}
	}
}

// Whatever is posted, it is answered in JSON with one of the statuses of the
// contract, and what reaches the session carries a step.
func FuzzCommand(f *testing.F) {
	for _, seed := range []string{`{"client":"C","step":3,"do":"tick","n":2,"on":true}`, `{"client":"C","step":3,"do":"mark","t":-1.5}`, `{"client":"C","step":3,"do":"typed","text":"35+ ; ok"}`,
		`{"client":"C","step":3,"do":"take"}`, `{"client":"C","do":"accept"}`, `{}`, `[`, `{"client":"C","step":3,"do":"void","text":"\u0007"}`, `{"client":"C","step":-3,"do":"held"}`, "\xff"} {
		f.Add(seed)
	}
	s := New(Options{Setup: blanks("hand"), Now: time.Now})
	at := time.Now()
	s.guard.now = func() time.Time { at = at.Add(time.Second); return at } // never too many
	s.hub.show(bench.View{Step: 3})
	st, err := s.hub.join("", vise, "")
	if err != nil {
		f.Fatal(err)
	}
	go func() {
		for c := range s.commands {
			if c.Step <= 0 {
				panic("a command without a step")
			}
			c.Reply <- bench.Reply{Done: true, Step: c.Step + 1}
		}
	}()
	f.Cleanup(func() { close(s.commands) })
	f.Fuzz(func(t *testing.T, body string) {
		s.hub.take(st.client)
		r := httptest.NewRequest(http.MethodPost, "/command", strings.NewReader(strings.ReplaceAll(body, `"C"`, `"`+st.client.id+`"`)))
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		s.command(w, r)
		assert.Contains(t, []int{200, 400, 403, 413, 422}, w.Code, w.Body.String())
		var answer map[string]any
		require.NoError(t, json.Unmarshal(w.Body.Bytes(), &answer))
		if w.Code != http.StatusOK {
			assert.NotEmpty(t, answer["error"])
		}
	})
}
