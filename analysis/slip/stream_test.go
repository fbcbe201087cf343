package slip

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/slip/score"
	"griptrial/analysis/trial"
)

// follow pushes a record and returns when each state was first seen, and when
// SlipLikely was seen before and after a time.
func follow(tr trial.Trace, split float64) (first map[State]float64, early, after float64, end State) {
	s := NewStream(Options{})
	first = map[State]float64{}
	early, after = math.NaN(), math.NaN()
	for i, t := range tr.T {
		st := s.Push(t, tr.Force[i])
		if _, seen := first[st]; !seen {
			first[st] = t
		}
		if st == SlipLikely {
			if t < split && math.IsNaN(early) {
				early = t
			}
			if t >= split && math.IsNaN(after) {
				after = t
			}
		}
	}
	return first, early, after, s.State()
}

// TestStreamSaysSoSoon measures, on simulated pulls with a clear break, how
// soon the stream says that a slip is likely.
func TestStreamSaysSoSoon(t *testing.T) {
	var delays []float64
	late, pulls := 0, 0
	for _, family := range []string{"sharp", "stick-slip", "flex", "slip-near-end", "slip-then-higher"} {
		for seed := range uint64(12) {
			p := simulate(family, seed)
			if p.sim.Outcome != trial.Slipped || slices.Contains(p.tags, "batched") {
				continue
			}
			n := len(p.trace.T)
			dt := (p.trace.T[n-1] - p.trace.T[0]) / float64(n-1)
			_, _, at, _ := follow(p.trace, p.sim.SlipTime-dt)
			pulls++
			// an instrument that averages, and the median of three, add readings
			if !(at-p.sim.SlipTime <= 0.1+4*dt) {
				late++
				continue
			}
			delays = append(delays, at-p.sim.SlipTime)
		}
	}
	t.Logf("%d pulls, %d late or not said; delay median %.0f ms, p90 %.0f ms", pulls, late, 1000*score.Quantile(delays, 0.5), 1000*score.Quantile(delays, 0.9))
	assert.LessOrEqual(t, late, pulls/10)
}

// TestStreamKeepsQuiet: pulls that hold must not look like slips often (a brisk
// let-down does, at first), and let-downs are seen to end.
func TestStreamKeepsQuiet(t *testing.T) {
	alarms, pulls, loads, ended, released := 0, 0, 0, 0, 0
	for _, family := range []string{"held-letdown", "held-end", "held-long"} {
		for seed := range uint64(12) {
			p := simulate(family, seed)
			first, _, _, end := follow(p.trace, math.Inf(1))
			pulls++
			if _, seen := first[SlipLikely]; seen {
				alarms++
			}
			if _, seen := first[Loading]; seen {
				loads++
			}
			n := len(p.trace.T)
			if last := math.Abs(p.trace.Force[n-1] - p.trace.Force[0]); last < 0.05*p.sim.PeakForce {
				released++
				if end == Ended {
					ended++
				}
			}
		}
	}
	t.Logf("%d pulls, %d false alarms; %d of %d let-downs seen to end", pulls, alarms, ended, released)
	assert.GreaterOrEqual(t, loads, pulls-2, "one has a spike in a record of a second, one no rest before the load")
	assert.LessOrEqual(t, alarms, pulls/7)
	assert.GreaterOrEqual(t, ended, released*8/10)
}

func TestStreamOfAPlainPull(t *testing.T) {
	tr := pullOf(10000)
	for i := 9000; i < 10000; i++ { // and let down
		tr.Force[i] = max(3, tr.Force[i]-float64(i-9000)/2)
	}
	first, early, _, end := follow(tr, 6)
	require.Contains(t, first, SlipLikely)
	assert.InDelta(t, 1.0, first[Loading], 0.1, "the rise starts at 1 s")
	assert.True(t, math.IsNaN(early), "nothing before the slip at 6 s")
	assert.InDelta(t, 6.0, first[SlipLikely], 0.03)
	assert.Equal(t, Ended, end)
}

// TestStreamSlowLoad: a load that creeps up is a load and not a zero that moves;
// a zero that moves by less than the threshold in ten seconds is none.
func TestStreamSlowLoad(t *testing.T) {
	for _, c := range []struct {
		rate float64 // N/s from 4 s on, noise 0.05 N
		want State
	}{{0.2, Loading}, {0.1, Loading}, {0.01, Idle}} {
		tr := made(30, 80, 0.05, func(t float64) float64 { return 7 + c.rate*math.Max(0, t-4) })
		_, _, _, end := follow(tr, 0)
		assert.Equal(t, c.want, end, "%g N/s", c.rate)
	}
}

func TestStreamPassesOverWhatIsNoReading(t *testing.T) {
	s := NewStream(Options{})
	nan := math.NaN()
	for i := range 100 {
		x := float64(i)
		s.Push(x, 1)
		s.Push(nan, 50)
		s.Push(x-3, 50)
		s.Push(x+0.5, math.Inf(1))
		s.Push(x+0.5, nan)
	}
	assert.Equal(t, Idle, s.State())
	assert.InDelta(t, 1, s.Rest(), 1e-12)
}
