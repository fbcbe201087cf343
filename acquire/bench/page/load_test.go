//go:build unix

package page

import (
	"flag"
	"path/filepath"
	"runtime"
	"sort"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/study"
	"griptrial/acquire/wire"
)

var measure = flag.Duration("measure", 0, "how long TestLoad measures, of the real clock")

// TestLoad measures on demand, at 1,000 samples a second by the real clock with
// one page at the vise and five that look on: from the sample to the event that
// carries it, the processor's time of session, server and listeners together,
// and the memory at the beginning and at the end.
//
//	go test ./acquire/bench/page -run TestLoad -v -measure 30s
func TestLoad(t *testing.T) {
	if *measure == 0 {
		t.Skip("measures only when asked to: -measure 30s")
	}
	const rate = 1000
	g := newRig(rate)
	s := begin(t, "cell", g, nil)
	b := s.open("vise", "")
	for range 5 {
		s.open("live", "")
	}
	g.facts(s.ctx)
	b.looked()
	b.mounted(g)
	var late []float64
	pull := 0.0
	memory := func() float64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return float64(m.HeapAlloc) / 1e6
	}
	before, spent, began := memory(), cpu(t), time.Now()
	for sent := 0; time.Since(began) < *measure; sent++ {
		if wait := time.Until(began.Add(time.Duration(sent) * time.Second / rate)); wait > 0 {
			time.Sleep(wait)
		}
		// A pull of 20 s rises by 2 N a second, so its force is a clock.
		pull = float64(sent%(22*rate)) / rate
		force := 2 * pull
		if pull >= 20 {
			force = 0
		}
		e := wire.Event{Kind: wire.KindSample, Sample: wire.Sample{Seq: g.seq, T: g.seq * 1e6 / rate, Counts: int32(zero + span*force)}}
		g.seq++
		sentAt := time.Now()
		require.True(t, g.send(s.ctx, e))
		b.mu.Lock()
		phase := b.state.Phase
		b.mu.Unlock()
		switch {
		case phase == "judging":
			b.does(Command{Do: "held"})
			b.does(Command{Do: "tare"})
		case phase == "pulling" && sent%137 == 0 && pull < 19: // now and then, whatever the rhythm of the frames
			go func(force float64) {
				b.until("the sample", func() bool { n := len(b.trace); return n > 0 && b.trace[n-1][2] >= force-0.002 })
				d := time.Since(sentAt).Seconds()
				b.mu.Lock()
				late = append(late, d)
				b.mu.Unlock()
			}(force)
		}
	}
	took := time.Since(began).Seconds()
	share := (cpu(t) - spent) / took
	after := memory()
	b.mu.Lock()
	defer b.mu.Unlock()
	require.NotEmpty(t, late)
	sort.Float64s(late)
	t.Logf("%d samples timed: median %.0f ms, 95 %% %.0f ms, greatest %.0f ms from sample to event; %.1f %% of one core; %.1f live events a second; heap %.1f MB, then %.1f MB",
		len(late), 1000*late[len(late)/2], 1000*late[len(late)*95/100], 1000*late[len(late)-1], 100*share, float64(b.lives)/took, before, after)
	assert.Less(t, late[len(late)*95/100], 0.1, "s")
}

// cpu is what this process has spent of the processor, in s.
func cpu(t *testing.T) float64 {
	t.Helper()
	var u syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano()).Seconds()
}

var halfHour = flag.Bool("halfhour", false, "run half an hour of the cell's clock")

// TestHalfHour runs, on demand, half an hour of pulls at 1,000 samples a second
// of the cell's clock, as fast as the machine can, and looks at the memory.
//
//	go test ./acquire/bench/page -run TestHalfHour -v -halfhour
func TestHalfHour(t *testing.T) {
	if !*halfHour {
		t.Skip("runs only when asked to: -halfhour")
	}
	const pulls, rate = 72, 1000 // of 25 s
	setup := blanks("cell")
	setup.Plan.Repeats = pulls / len(setup.Facings)
	f, err := study.Create(filepath.Join(t.TempDir(), "blanks"), setup, "test")
	require.NoError(t, err)
	require.NoError(t, f.Draw(7))
	g := newRig(rate)
	s := resume(t, f, g, nil)
	b := s.open("vise", "")
	s.open("live", "")
	g.facts(s.ctx)
	b.looked()
	var heap []float64
	for i := range pulls {
		b.mounted(g)
		g.to(s.ctx, 0, 50, 18).to(s.ctx, 50, 0, 2).to(s.ctx, 0, 0, 3.4)
		b.phase("judging")
		b.does(Command{Do: "accept"})
		if i%18 == 17 {
			var m runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&m)
			heap = append(heap, float64(m.HeapAlloc)/1e6)
		}
	}
	b.phase("done")
	t.Logf("%d samples; heap after each quarter: %.1f MB; events heard: %d", g.seq, heap, len(b.words))
	assert.Less(t, heap[len(heap)-1], heap[0]+2, "MB")
	assert.Len(t, s.check().Current(), pulls)
}
