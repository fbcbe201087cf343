package page

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/bench"
	"griptrial/acquire/loadcell"
	"griptrial/acquire/study"
	"griptrial/acquire/wire"
	"griptrial/analysis/trial"
)

// patience is how long a test waits for what must come; a loaded machine needs
// much of it, and a test that passes needs none.
const patience = 30 * time.Second

const (
	zero = 5000.0
	span = 1000.0 // counts/N
)

// blanks is a study of four pulls, read by a cell or by a hand scale.
func blanks(kind string) trial.Study {
	return trial.Study{Format: 1, Name: "blanks", Unit: "N", Question: "Which holds?", Facings: []trial.Facing{
		{Name: "ground steel", Control: true, Samples: []string{"1", "2"}},
		{Name: "bonded P240 cloth", Samples: []string{"1", "2"}}},
		Levels: []trial.Level{{Name: "usual", Weight: 3, Usual: true}},
		Plan:   trial.Plan{Blocks: 1, Repeats: 2}, Pull: trial.PullSetup{How: "straight", Faces: 2}, Scale: trial.Scale{Kind: kind}}
}

// calibrated is a cell of 1000 counts a newton, rated for 100 N.
func calibrated() loadcell.Calibration {
	c := loadcell.Calibration{Cell: "T1", Gain: 128, SPS: 100, Rated: 100}
	for _, f := range []float64{0, 20, 40, 60, 80} {
		c.Rows = append(c.Rows, loadcell.Row{Force: f, Counts: zero + span*f, Run: 1})
	}
	return c
}

// rig is a load cell that sends what the test says, as fast as it is read.
type rig struct {
	rate   float64 // samples/s
	seq    int64
	noise  int
	events chan wire.Event
	cut    chan struct{} // closed when the cable is out
}

func newRig(rate float64) *rig {
	return &rig{rate: rate, events: make(chan wire.Event), cut: make(chan struct{})}
}

// facts says who the cell is.
func (g *rig) facts(ctx context.Context) *rig {
	for _, f := range [][2]string{{"name", "tape"}, {"id", "T1"}, {"gain", "128"}, {"sps", "100"}, {"ready", "1"}} {
		g.send(ctx, wire.Event{Kind: wire.KindFact, Fact: wire.Fact{Key: f[0], Value: f[1]}})
	}
	return g
}

func (g *rig) send(ctx context.Context, e wire.Event) bool {
	select {
	case g.events <- e:
		return true
	case <-ctx.Done():
		return false
	case <-g.cut:
		return false
	}
}

// to goes from one force to another in s seconds of the cell's clock.
func (g *rig) to(ctx context.Context, from, to, s float64) *rig {
	n := int(s * g.rate)
	for i := range n {
		g.noise = (g.noise*7 + 3) % 11
		force := from + (to-from)*float64(i)/float64(n)
		e := wire.Event{Kind: wire.KindSample, Sample: wire.Sample{Seq: g.seq, T: int64(math.Round(float64(g.seq) * 1e6 / g.rate)), Counts: int32(zero+span*force) + int32(g.noise) - 5}}
		g.seq++
		if !g.send(ctx, e) {
			break
		}
	}
	return g
}

// source reads the rig until the cable is out.
func (g *rig) source(ctx context.Context) bench.Source { return &line{g, ctx} }

type line struct {
	g   *rig
	ctx context.Context
}

func (l *line) Next() (wire.Event, error) {
	select {
	case e := <-l.g.events:
		return e, nil
	case <-l.g.cut:
		return wire.Event{}, fmt.Errorf("the device hung up")
	case <-l.ctx.Done():
		return wire.Event{}, l.ctx.Err()
	}
}

// session is a session on the page, for a test to drive.
type session struct {
	t      *testing.T
	f      *study.Folder
	server *Server
	base   string
	ctx    context.Context
	stop   context.CancelFunc
	ended  chan error
	sum    bench.Summary
}

// begin starts a session; more changes its configuration.
func begin(t *testing.T, kind string, g *rig, more func(*bench.Config)) *session {
	t.Helper()
	f, err := study.Create(filepath.Join(t.TempDir(), "blanks"), blanks(kind), "test")
	require.NoError(t, err)
	require.NoError(t, f.Draw(7))
	return resume(t, f, g, more)
}

// resume starts a session on a study.
func resume(t *testing.T, f *study.Folder, g *rig, more func(*bench.Config)) *session {
	t.Helper()
	l, err := Listen("127.0.0.1:0")
	require.NoError(t, err)
	s := &session{t: t, f: f, base: "http://" + l.Addr().String(), ended: make(chan error, 1)}
	s.ctx, s.stop = context.WithCancel(context.Background())
	s.server = New(Options{Setup: f.Setup(), Port: "usb:1:2", Now: time.Now})
	s.server.Serve(l)
	c := bench.Config{Folder: f, Calibration: calibrated(), Operator: s.server, Sampled: s.server.Sampled, Now: time.Now, Stay: true}
	if g != nil {
		c.Source = g.source
	}
	if more != nil {
		more(&c)
	}
	go func() {
		sum, err := bench.Run(s.ctx, c)
		s.sum = sum
		s.server.End("the session is over", nil, sum.Left)
		s.ended <- err
	}()
	t.Cleanup(s.close)
	return s
}

// close ends the session, if it has not ended, and the server; nothing of them
// may be left running.
func (s *session) close() {
	if s.server == nil {
		return
	}
	s.stop()
	err := <-s.ended
	if s.ctx.Err() == nil {
		assert.NoError(s.t, err)
	}
	assert.NoError(s.t, s.server.Close())
	s.server = nil
	require.NoError(s.t, s.f.Close())
	require.Eventually(s.t, func() bool { return !running("acquire/bench") }, patience, time.Millisecond, "a goroutine was left behind")
}

// running reports whether any goroutine but the test's own runs code of a
// package of ours.
func running(where string) bool {
	b := make([]byte, 1<<20)
	for i, stack := range strings.Split(string(b[:runtime.Stack(b, true)]), "\n\n") {
		if i > 0 && strings.Contains(stack, where) && !strings.Contains(stack, "testing.tRunner") {
			return true
		}
	}
	return false
}

// check closes the session and requires that the study is whole.
func (s *session) check() *study.Folder {
	s.t.Helper()
	s.close()
	f, err := study.Open(s.f.Dir())
	require.NoError(s.t, err)
	for _, p := range f.Check() {
		assert.True(s.t, p.Note, p.Error())
	}
	return f
}

// browser is a page that listens to the events as a browser does.
type browser struct {
	t      *testing.T
	s      *session
	client string
	cancel context.CancelFunc
	done   chan struct{}

	mu    sync.Mutex
	seen  *sync.Cond
	hello Hello
	role  RoleChange
	state State
	live  Live
	trace [][3]float64
	lives int
	over  bool
	words []string // the names of the events, in order
}

// open connects a page; client is "" for a fresh one.
func (s *session) open(which, client string) *browser {
	s.t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, s.base+"/events?page="+which+"&client="+client, nil)
	require.NoError(s.t, err)
	res, err := http.DefaultTransport.(*http.Transport).Clone().RoundTrip(req)
	require.NoError(s.t, err)
	require.Equal(s.t, http.StatusOK, res.StatusCode)
	b := &browser{t: s.t, s: s, cancel: cancel, done: make(chan struct{})}
	b.seen = sync.NewCond(&b.mu)
	go b.listen(res.Body)
	s.t.Cleanup(b.close)
	b.until("hello", func() bool { return b.hello.Client != "" })
	b.client = b.hello.Client
	return b
}

func (b *browser) close() {
	b.cancel()
	<-b.done
}

func (b *browser) listen(body io.ReadCloser) {
	defer close(b.done)
	defer body.Close()
	lines := bufio.NewScanner(body)
	lines.Buffer(nil, 8<<20)
	name := ""
	for lines.Scan() {
		text := lines.Text()
		if event, ok := strings.CutPrefix(text, "event: "); ok {
			name = event
		} else if data, ok := strings.CutPrefix(text, "data: "); ok {
			b.hear(name, []byte(data))
		}
	}
}

func (b *browser) hear(name string, data []byte) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.words = append(b.words, name)
	into := map[string]any{"hello": &b.hello, "role": &b.role}[name]
	switch name {
	case "state": // anew, so that nothing of the one before stays
		b.state = State{}
		into = &b.state
	case "live":
		b.live = Live{}
		into = &b.live
	case "over":
		b.over = true
	}
	if into != nil {
		assert.NoError(b.t, json.Unmarshal(data, into), name)
	}
	if name == "live" {
		b.lives++
		if assert.LessOrEqual(b.t, b.live.From, len(b.trace), "a piece of the trace is missing") || b.live.From == 0 {
			b.trace = append(b.trace[:b.live.From:b.live.From], b.live.Trace...)
		}
	}
	b.seen.Broadcast()
}

// until waits until something was heard.
func (b *browser) until(what string, ok func() bool) {
	b.t.Helper()
	late := time.AfterFunc(patience, func() { b.mu.Lock(); b.seen.Broadcast(); b.mu.Unlock() })
	defer late.Stop()
	end := time.Now().Add(patience)
	b.mu.Lock()
	defer b.mu.Unlock()
	for !ok() {
		if time.Now().After(end) {
			b.t.Fatalf("%s did not come; phase %s, heard %v", what, b.state.Phase, b.words[max(0, len(b.words)-20):])
		}
		b.seen.Wait()
	}
}

// phase waits for a phase and returns the state.
func (b *browser) phase(p string) State {
	b.t.Helper()
	b.until("phase "+p, func() bool { return b.state.Phase == p })
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.state
}

// send posts a command with the step that the page sees.
func (b *browser) send(c Command) (status int, body string) {
	b.t.Helper()
	b.mu.Lock()
	if c.Step == 0 {
		c.Step = b.state.Step
	}
	b.mu.Unlock()
	c.Client = b.client
	text, err := json.Marshal(c)
	require.NoError(b.t, err)
	where := "/command"
	if c.Do == "look" {
		where = "/results"
	}
	return b.s.post(where, string(text), nil)
}

// does posts a command that is taken, and waits until the page sees the step
// that it led to.
func (b *browser) does(c Command) Answer {
	b.t.Helper()
	status, body := b.send(c)
	require.Equal(b.t, http.StatusOK, status, "%s: %s", c.Do, body)
	var a Answer
	require.NoError(b.t, json.Unmarshal([]byte(body), &a))
	b.until("the state after "+c.Do, func() bool { return b.state.Step >= a.Step })
	return a
}

// post posts a body as a page of the server does; more changes the request.
func (s *session) post(where, body string, more func(*http.Request)) (status int, answer string) {
	s.t.Helper()
	req, err := http.NewRequest(http.MethodPost, s.base+where, bytes.NewBufferString(body))
	require.NoError(s.t, err)
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Origin", s.base)
	if more != nil {
		more(req)
	}
	return s.ask(req)
}

func (s *session) ask(req *http.Request) (status int, answer string) {
	s.t.Helper()
	res, err := (&http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}).Do(req)
	require.NoError(s.t, err)
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	require.NoError(s.t, err)
	return res.StatusCode, string(text)
}

func (s *session) get(where string) (status int, answer string) {
	s.t.Helper()
	req, err := http.NewRequest(http.MethodGet, s.base+where, nil)
	require.NoError(s.t, err)
	return s.ask(req)
}

// looked ticks every check and begins.
func (b *browser) looked() {
	b.t.Helper()
	s := b.phase("checks")
	for i := range s.Checks {
		b.does(Command{Do: "tick", N: i, On: true})
	}
	b.does(Command{Do: "begin"})
}
