package page

import (
	"fmt"
	"net"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A page that takes nothing costs the session nothing, and the others get
// everything.
func TestSlowPage(t *testing.T) {
	g := newRig(2000)
	s := begin(t, "cell", g, nil)
	b := s.open("vise", "")
	g.facts(s.ctx)
	b.looked()
	b.mounted(g)
	var stuck []net.Conn
	for range 20 {
		c, err := net.Dial("tcp", strings.TrimPrefix(s.base, "http://"))
		require.NoError(t, err)
		defer c.Close()
		require.NoError(t, c.(*net.TCPConn).SetReadBuffer(2048))
		_, err = fmt.Fprintf(c, "GET /events?page=live HTTP/1.1\r\nHost: %s\r\n\r\n", strings.TrimPrefix(s.base, "http://"))
		require.NoError(t, err)
		stuck = append(stuck, c) // and never reads
	}
	g.to(s.ctx, 0, 50, 25) // 50,000 samples, as fast as they are taken
	b.until("the whole of it", func() bool { n := len(b.trace); return n > 0 && b.trace[n-1][0] > 24 })
	g.to(s.ctx, 50, 0, 1).to(s.ctx, 0, 0, 2)
	state := b.phase("judging")
	assert.Greater(t, state.Proposal.Samples, 50_000)
	b.mu.Lock()
	for i := 1; i < len(b.trace); i++ {
		require.Less(t, b.trace[i][0]-b.trace[i-1][0], 0.0201, "no hole")
	}
	b.mu.Unlock()
	b.does(Command{Do: "accept"})
	for _, c := range stuck {
		c.Close()
	}
	assert.Len(t, s.check().Current(), 1)
}
