package page_test

import (
	"context"
	"errors"
	"io"
	"net"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/bench"
	"griptrial/acquire/bench/page"
	"griptrial/acquire/bench/practice"
	"griptrial/acquire/simrig"
	"griptrial/acquire/study"
	"griptrial/acquire/wire"
	"griptrial/analysis/trial"
)

// blanks is a study of twelve pulls.
func blanks() trial.Study {
	return trial.Study{Format: 1, Name: "blanks", Question: "How much less squeeze does the cloth need?", Unit: "N", Facings: []trial.Facing{
		{Name: "ground steel", Control: true, Samples: []string{"1", "2"}},
		{Name: "P240 cloth", Samples: []string{"1", "2"}}},
		Levels: []trial.Level{{Name: "usual", Weight: 3, Usual: true}},
		Plan:   trial.Plan{Blocks: 3, Repeats: 2}, Pull: trial.PullSetup{How: "straight", Faces: 2}, Scale: trial.Scale{Kind: "cell"}}
}

// folder makes a study with its run order.
func folder(t *testing.T, s trial.Study) *study.Folder {
	t.Helper()
	f, err := study.Create(filepath.Join(t.TempDir(), "blanks"), s, "test")
	require.NoError(t, err)
	require.NoError(t, f.Draw(7))
	return f
}

// cell is a simulated load cell that runs many times as fast as life, and
// stands still where a test wants to look.
type cell struct {
	shop   simrig.Shop
	device *simrig.Device

	mu      sync.Mutex
	changed *sync.Cond
	left    []byte
	idle    bool // no pull is made when one may begin
	stopIn  int  // conversions after a pull was ordered until the cell stands still; 0: it does not
	toStop  int  // of them left
	stopped bool
	out     bool // the cable
	ended   bool
}

// batch is how many conversions come at once, and batchEvery how often: about a
// hundred times as fast as life.
const (
	batch      = 16
	batchEvery = 2 * time.Millisecond
)

func newCell(s trial.Study, seed uint64) *cell {
	shop := practice.Shop(s)
	shop.TieFails = 0
	c := &cell{shop: shop, device: simrig.NewDevice(shop, seed)}
	c.changed = sync.NewCond(&c.mu)
	return c
}

var errOut = errors.New("the cable is out")

func (c *cell) Read(p []byte) (int, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for c.stopped && !c.out && !c.ended {
		c.changed.Wait()
	}
	switch {
	case c.ended:
		return 0, io.EOF
	case c.out:
		return 0, errOut
	}
	if len(c.left) == 0 {
		c.left = c.left[:0]
		for i := 0; i < batch && !c.stopped; i++ {
			c.left, _ = c.device.Next(c.left)
			if c.toStop > 0 {
				c.toStop--
				c.stopped = c.toStop == 0
			}
		}
		c.mu.Unlock()
		time.Sleep(batchEvery) // the pace of the cell; no test depends on it
		c.mu.Lock()
	}
	n := copy(p, c.left)
	c.left = c.left[n:]
	return n, nil
}

// set changes the cell and wakes who waits for it.
func (c *cell) set(change func(*cell)) {
	c.mu.Lock()
	defer c.mu.Unlock()
	change(c)
	c.changed.Broadcast()
}

// ready makes a pull when one may begin.
func (c *cell) ready(p trial.PlannedPull) {
	c.set(func(c *cell) {
		if c.idle {
			return
		}
		c.toStop = c.stopIn
		_ = c.device.Order(simrig.Order{Facing: p.Facing, Sample: p.Sample, Level: p.Level}) // the shop is made of the study
	})
}

// source reads the cell until the session ends.
func (c *cell) source(ctx context.Context) bench.Source {
	context.AfterFunc(ctx, func() { c.set(func(c *cell) { c.ended = true }) })
	return wire.NewReader(c, wire.ReaderOptions{})
}

// regain waits for the cable.
func (c *cell) regain(ctx context.Context) (bench.Source, error) {
	context.AfterFunc(ctx, func() { c.set(func(*cell) {}) })
	c.mu.Lock()
	defer c.mu.Unlock()
	for c.out {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		c.changed.Wait()
	}
	c.left = nil
	return wire.NewReader(c, wire.ReaderOptions{}), nil
}

// served is a session behind its page.
type served struct {
	url    string
	folder *study.Folder
	cell   *cell
	cancel context.CancelFunc
	done   chan struct{}
	sum    bench.Summary
	err    error
	closed bool // the folder
}

// serve runs a session with its page until it is over or the test ends; a nil
// cell is a hand scale.
func serve(t *testing.T, f *study.Folder, c *cell) *served {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	s := serveOn(l, f, c)
	t.Cleanup(func() {
		s.cancel()
		<-s.done
		if !s.closed {
			assert.NoError(t, f.Close())
		}
	})
	return s
}

func serveOn(l net.Listener, f *study.Folder, c *cell) *served {
	ctx, cancel := context.WithCancel(context.Background())
	o := page.Options{Setup: f.Setup(), Now: time.Now}
	if c != nil {
		o.Port = "simulated"
	}
	server := page.New(o)
	server.Serve(l)
	s := &served{url: "http://" + l.Addr().String(), folder: f, cell: c, cancel: cancel, done: make(chan struct{})}
	config := bench.Config{Folder: f, Operator: server, Sampled: server.Sampled, Now: time.Now, Stay: true}
	if c != nil {
		config.Calibration = practice.Calibration(c.shop)
		config.Source, config.Regain, config.Ready = c.source, c.regain, c.ready
	}
	go func() {
		defer close(s.done)
		s.sum, s.err = bench.Run(ctx, config)
		server.End("The session has ended.", s.err, s.sum.Left)
		s.err = errors.Join(s.err, server.Close())
	}()
	return s
}

// whole waits for the end of a session and opens its study anew; everything in
// it must be sound.
func (s *served) whole(t *testing.T) *study.Folder {
	t.Helper()
	<-s.done
	require.NoError(t, s.err)
	require.NoError(t, s.folder.Close())
	s.closed = true
	again, err := study.Open(s.folder.Dir())
	require.NoError(t, err)
	require.Empty(t, again.Check())
	return again
}
