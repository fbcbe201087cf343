package page_test

import (
	"bytes"
	"context"
	"flag"
	"math"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/heapprofiler"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/bench"
	"griptrial/acquire/bench/page"
	"griptrial/acquire/loadcell"
	"griptrial/acquire/wire"
)

var load = flag.Duration("load", 0, "how long TestLoad measures latency, processor time and memory of server and page; 0: not at all")

const (
	loadRate  = 1000 // conversions/s
	loadSpan  = 1000 // counts/N
	loadSlope = 20.0 // N/s of the ramps, so that a force tells its time
	loadLow   = 20.0 // N
	loadHigh  = 140.0
	loadPull  = 40.0 // s of a pull
	loadRest  = 3.0  // s at rest after each
)

// ramps is a cell that sends, in real time, pulls of triangular waves: from the
// force shown one can tell when it was sent.
type ramps struct {
	begun time.Time
	sent  int // conversions
	left  []byte
	ended chan struct{}
}

// force is the load t seconds into a pull.
func force(t float64) float64 {
	if t < 1 {
		return loadLow * t
	}
	const period = 2 * (loadHigh - loadLow) / loadSlope
	return loadHigh - math.Abs(math.Mod(t-1, period)-period/2)*loadSlope
}

func (r *ramps) Read(p []byte) (int, error) {
	for len(r.left) == 0 {
		select {
		case <-r.ended:
			return 0, context.Canceled
		case <-time.After(8 * time.Millisecond): // a USB line hands on what it has every few ms
		}
		if r.sent == 0 {
			for _, f := range [][2]string{{"proto", "1"}, {"name", "ramps"}, {"id", "R1"}, {"boot", "1"}, {"sps", "1000"}, {"gain", "128"}, {"ready", "1"}} {
				r.left = wire.AppendFact(r.left, f[0], f[1])
			}
		}
		due := int(time.Since(r.begun).Seconds() * loadRate)
		for ; r.sent < due; r.sent++ {
			at := float64(r.sent) / loadRate
			var f float64
			if in := math.Mod(at, loadPull+loadRest) - loadRest; in > 0 {
				f = force(in)
			}
			noise := int32(r.sent*7919%5) - 2
			r.left = wire.AppendSample(r.left, uint16(r.sent), uint32(at*1e6), int32(math.Round(f*loadSpan))+noise)
		}
	}
	n := copy(p, r.left)
	r.left = append(r.left[:0], r.left[n:]...)
	return n, nil
}

// latencies watches the number on the page: for each change the time until the
// next frame, in ms since the epoch, and what was shown.
const latencies = `(() => { window.shown = []; const e = document.getElementById('digits');
new MutationObserver(() => { const v = Number(e.textContent); requestAnimationFrame(() => setTimeout(() => shown.push([performance.timeOrigin + performance.now(), v]))); }).observe(e, { childList: true, characterData: true, subtree: true }); })()`

// cellAlone is the share of one core that the simulated cell takes, which a real
// one would not.
func cellAlone(t *testing.T) float64 {
	r := &ramps{begun: time.Now(), ended: make(chan struct{})}
	before, begun, buf := ownTime(t), time.Now(), make([]byte, 4096)
	for time.Since(begun) < 5*time.Second {
		_, err := r.Read(buf)
		require.NoError(t, err)
	}
	return (ownTime(t) - before) / time.Since(begun).Seconds()
}

// TestLoad measures, on demand: go test ./acquire/bench/page -run TestLoad -v -load 2m
func TestLoad(t *testing.T) {
	if *load == 0 {
		t.Skip("measures for as long as -load says")
	}
	b := browser(t)
	f := folder(t, blanks())
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	alone := cellAlone(t)
	r := &ramps{begun: time.Now(), ended: make(chan struct{})}
	c := loadcell.Calibration{Cell: "R1", Gain: 128, SPS: loadRate, Rated: 200}
	for _, f := range []float64{0, 50, 100, 150} {
		c.Rows = append(c.Rows, loadcell.Row{Force: f, Counts: loadSpan * f, Run: 1})
	}
	server := page.New(page.Options{Setup: f.Setup(), Port: "ramps", Now: time.Now})
	server.Serve(l)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() {
		_, err := bench.Run(ctx, bench.Config{Folder: f, Operator: server, Sampled: server.Sampled, Now: time.Now, Calibration: c,
			Source: func(context.Context) bench.Source { return wire.NewReader(r, wire.ReaderOptions{}) }})
		done <- err
	}()
	p := open(t, b, "http://"+l.Addr().String()+"/vise", laptop)
	h := mouse(p)
	begin(p, h)
	p.do(chromedp.Evaluate[chromedp.Void](latencies))
	call(p, performance.Enable, performance.EnableParams{})

	var late []float64
	var heaps, pages []float64
	var cpuGo, cpuPage, pulled float64
	for begun := time.Now(); time.Since(begun) < *load; {
		p.phase("mounting")
		p.took(func() { h.act("tare") })
		p.phase("pulling")
		p.do(chromedp.Evaluate[chromedp.Void](`shown.length = 0`))
		goBefore, pageBefore, at := ownTime(t), childTime(t), time.Now()
		time.Sleep(time.Duration(0.6 * loadPull * float64(time.Second))) // this is what is measured
		cpuGo += ownTime(t) - goBefore
		cpuPage += childTime(t) - pageBefore
		pulled += time.Since(at).Seconds()
		for _, s := range eval[[][2]float64](p, `shown`) {
			if v, ok := r.lateness(s[0], s[1]); ok {
				late = append(late, v)
			}
		}
		call(p, heapprofiler.CollectGarbage, cdp.Empty{})
		pages = append(pages, pageHeap(p))
		heaps = append(heaps, ownHeap())
		p.phase("judging")
		p.took(func() { h.act("held") })
	}
	close(r.ended)
	cancel()
	<-done
	require.NoError(t, server.Close())
	require.NoError(t, f.Close())
	slices.Sort(late)
	at := func(q float64) float64 { return late[int(q*float64(len(late)-1))] }
	t.Logf("wire to pixel, %d frames: median %.0f ms, 95 %% %.0f ms, 99 %% %.0f ms, most %.0f ms", len(late), at(0.5), at(0.95), at(0.99), at(1))
	t.Logf("processor while pulling at %d samples/s, of one core: server and simulated cell %.1f %% (the cell alone %.1f %%), browser (all its processes) %.1f %%",
		loadRate, 100*cpuGo/pulled, 100*alone, 100*cpuPage/pulled)
	t.Logf("memory after each pull, MB: program %.1f, page's heap %.1f", heaps, pages)
}

// lateness is how many ms a force shown at a time of day was old; ok is false near
// the turning points, where the force does not tell its time.
func (r *ramps) lateness(at, shown float64) (ms float64, ok bool) {
	now := at/1000 - float64(r.begun.UnixNano())/1e9
	in := math.Mod(now, loadPull+loadRest) - loadRest
	for d := 0.0; d < 2; d += 0.001 {
		if in-d < 2 {
			return 0, false
		}
		if rising := force(in-d) - force(in-d-0.3); math.Abs(math.Abs(rising)-0.3*loadSlope) > 0.01 {
			return 0, false
		}
		if math.Abs(force(in-d)-shown) < 0.0006*loadSlope+0.05 {
			return 1000 * d, true
		}
	}
	return 0, false
}

// ownTime is the processor time of this process in s.
func ownTime(t *testing.T) float64 {
	var u syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}

// childTime is the processor time of every process that descends from this one.
func childTime(t *testing.T) float64 {
	stats, err := filepath.Glob("/proc/[0-9]*/stat")
	require.NoError(t, err)
	parent, ticks := map[int]int{}, map[int]float64{}
	for _, name := range stats {
		text, err := os.ReadFile(name)
		if err != nil {
			continue // it has ended
		}
		pid, _ := strconv.Atoi(filepath.Base(filepath.Dir(name)))
		f := strings.Fields(string(text[bytes.LastIndexByte(text, ')')+1:]))
		parent[pid], _ = strconv.Atoi(f[1])
		user, _ := strconv.ParseFloat(f[11], 64)
		system, _ := strconv.ParseFloat(f[12], 64)
		ticks[pid] = user + system
	}
	sum := 0.0
	for pid := range ticks {
		for p := parent[pid]; p > 1; p = parent[p] {
			if p == os.Getpid() {
				sum += ticks[pid] / 100
				break
			}
		}
	}
	return sum
}

func ownHeap() float64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return math.Round(float64(m.HeapAlloc)/1e5) / 10
}

func pageHeap(p *tab) float64 {
	for _, m := range call(p, performance.GetMetrics, cdp.Empty{}).Metrics {
		if m.Name == "JSHeapUsedSize" {
			return math.Round(m.Value/1e5) / 10
		}
	}
	p.fail("no heap size")
	return 0
}
