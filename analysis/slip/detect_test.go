package slip

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

func detect(t testing.TB, tr trial.Trace) Result {
	t.Helper()
	r, err := Detect(tr, Options{})
	require.NoError(t, err)
	return r
}

// made builds a record at rate readings a second from a force over time, with
// noise of the given sd.
func made(seconds, rate, noise float64, force func(t float64) float64) trial.Trace {
	r := rand.New(rand.NewPCG(5, 6))
	var tr trial.Trace
	for i := range int(seconds * rate) {
		t := float64(i) / rate
		tr.T = append(tr.T, t)
		tr.Force = append(tr.Force, force(t)+noise*r.NormFloat64())
	}
	return tr
}

// ramp rises from 0 at 1 s by slope, up to a time.
func ramp(t, slope, until float64) float64 {
	return slope * math.Max(0, math.Min(t, until)-1)
}

func TestSharpSlipOfAStraightRamp(t *testing.T) {
	// 20 N/s from 1 s on, breaking at 6 s and exactly 100 N, then 60 N.
	tr := made(9, 200, 0.05, func(t float64) float64 {
		if t > 6 {
			return 60
		}
		return ramp(t, 20, 6)
	})
	r := detect(t, tr)
	assert.Equal(t, trial.Slipped, r.Outcome)
	assert.Equal(t, Sharp, r.Kind)
	assert.InDelta(t, 100, r.SlipForce, 0.15)
	assert.InDelta(t, 6, r.SlipTime, 0.011)
	assert.True(t, r.Low < 100 && 100 < r.High, "%g to %g", r.Low, r.High)
	assert.Less(t, r.High-r.Low, 1.5)
	assert.Empty(t, r.Flags)
}

// Offset, sign, clock and unit of the record change nothing but their own part
// of the answer.
func TestSameWhateverOffsetSignClockAndScale(t *testing.T) {
	p := simulate("sharp", 12)
	want := detect(t, p.trace)
	require.Equal(t, trial.Slipped, want.Outcome)
	change := func(f func(t, y float64) (float64, float64)) trial.Trace {
		var tr trial.Trace
		for i, t := range p.trace.T {
			a, b := f(t, p.trace.Force[i])
			tr.T, tr.Force = append(tr.T, a), append(tr.Force, b)
		}
		return tr
	}
	for name, c := range map[string]struct {
		tr           trial.Trace
		scale, later float64
	}{
		"offset":   {change(func(t, y float64) (float64, float64) { return t, y + 512 }), 1, 0},
		"sign":     {change(func(t, y float64) (float64, float64) { return t, -y }), 1, 0},
		"clock":    {change(func(t, y float64) (float64, float64) { return t + 4096, y }), 1, 4096},
		"in a kN":  {change(func(t, y float64) (float64, float64) { return t, y / 1024 }), 1. / 1024, 0},
		"in a mN":  {change(func(t, y float64) (float64, float64) { return t, y * 1024 }), 1024, 0},
		"reversed": {change(func(t, y float64) (float64, float64) { return t, 300 - 2*y }), 2, 0},
	} {
		got := detect(t, c.tr)
		assert.Equal(t, want.Outcome, got.Outcome, name)
		assert.Equal(t, want.Kind, got.Kind, name)
		assert.InEpsilon(t, want.SlipForce*c.scale, got.SlipForce, 1e-6, name)
		assert.InEpsilon(t, want.Low*c.scale, got.Low, 1e-6, name)
		assert.InEpsilon(t, want.High*c.scale, got.High, 1e-6, name)
		assert.InDelta(t, want.SlipTime+c.later, got.SlipTime, 1e-6, name)
	}
}

func TestInputIsNotWrittenTo(t *testing.T) {
	for _, family := range []string{"sharp", "creep", "jerky-held"} {
		p := simulate(family, 14)
		a, b := slices.Clone(p.trace.T), slices.Clone(p.trace.Force)
		first := detect(t, p.trace)
		assert.Equal(t, a, p.trace.T)
		assert.Equal(t, b, p.trace.Force)
		// a second look gives the same bits; DeepEqual would call NaN unequal
		second := detect(t, p.trace)
		assert.Equal(t, math.Float64bits(first.SlipForce), math.Float64bits(second.SlipForce))
		assert.Equal(t, math.Float64bits(first.High), math.Float64bits(second.High))
	}
}

// A sampled peak falls short of the true one. An instrument that averages m
// readings of a ramp of slope r that breaks has its greatest reading below the
// peak by r·dt·(m+1)/2 on average (m = 0: the plain r·dt/2), since the reading
// lags by m·dt/2 and the break lies anywhere between two readings.
func TestSampledPeakFallsShort(t *testing.T) {
	const slope, dt, force = 40.0, 0.05, 100.0
	r := rand.New(rand.NewPCG(1, 2))
	for _, m := range []float64{0, 1, 3, 4} {
		short, off := 0.0, 0.0
		in, n := 0, 300
		for range n {
			phase := r.Float64() * dt
			truth := func(t float64) float64 {
				if t > 1+force/slope {
					return 0.7 * force
				}
				return ramp(t, slope, 10)
			}
			var tr trial.Trace
			for i := range 120 {
				at := phase + float64(i)*dt
				f := truth(at)
				if m > 0 {
					f = 0
					for k := range 50 {
						f += truth(at-m*dt*(float64(k)+0.5)/50) / 50
					}
				}
				tr.T, tr.Force = append(tr.T, at), append(tr.Force, f+0.01*r.NormFloat64())
			}
			got := detect(t, tr)
			require.Equal(t, trial.Slipped, got.Outcome, "m %g phase %g", m, phase)
			short += (force - slices.Max(tr.Force)) / float64(n)
			off += math.Abs(got.SlipForce-force) / float64(n)
			if got.Low <= force && force <= got.High {
				in++
			}
		}
		t.Logf("m %g: highest reading %.2f N short, estimate %.2f N off, interval holds the truth in %.1f %%", m, short, off, 100*float64(in)/float64(n))
		assert.InDelta(t, slope*dt*(m+1)/2, short, 0.15*slope*dt*(m+1)/2)
		assert.Less(t, off, 1.4*short)
		assert.GreaterOrEqual(t, float64(in)/float64(n), 0.95)
	}
}

func TestSpikeIsNoSlip(t *testing.T) {
	tr := made(8, 100, 0.05, func(t float64) float64 { return ramp(t, 20, 6) - ramp(t, 60, 8) + ramp(t, 60, 6.5) })
	for _, at := range []int{50, 210, 333, 480, 481} {
		tr.Force[at] += 40 * math.Pow(-1, float64(at%2))
	}
	r := detect(t, tr)
	assert.Equal(t, trial.Held, r.Outcome)
	assert.Equal(t, []Flag{Spike}, r.Flags)
	assert.InDelta(t, 100, r.PeakForce, 0.3)
}

func TestScaleEndIsALowerBound(t *testing.T) {
	tr := made(9, 100, 0.05, func(t float64) float64 {
		if t > 7 {
			return 60
		}
		return ramp(t, 20, 7)
	})
	for i, f := range tr.Force {
		tr.Force[i] = math.Min(f, 90) // the scale ends before the part slips at 120 N
	}
	r := detect(t, tr)
	assert.Equal(t, trial.Held, r.Outcome)
	assert.Contains(t, r.Flags, Saturated)
	assert.InDelta(t, 90, r.PeakForce, 0.05)
	assert.True(t, math.IsNaN(r.SlipForce) && math.IsNaN(r.Low) && math.IsNaN(r.High))

	told, err := Detect(tr, Options{Capacity: 90})
	require.NoError(t, err)
	assert.Equal(t, trial.Held, told.Outcome)
	assert.Contains(t, told.Flags, Saturated)
}

func TestErrors(t *testing.T) {
	_, err := Detect(trial.Trace{T: []float64{1, 2}, Force: []float64{1}}, Options{})
	assert.ErrorIs(t, err, ErrLengths)
	for _, times := range [][]float64{{0, 1, 1}, {0, 2, 1}, {0, math.NaN(), 2}, {0, 1, math.Inf(1)}, {math.Inf(-1), 0, 1}} {
		_, err := Detect(trial.Trace{T: times, Force: []float64{1, 2, 3}}, Options{})
		var te *TimeError
		require.ErrorAs(t, err, &te, "%v", times)
		assert.Contains(t, te.Error(), "time does not increase at sample")
	}
}

func TestTooLittleIsUnclear(t *testing.T) {
	nan := math.NaN()
	flat := made(3, 50, 0.1, func(float64) float64 { return 7 })
	for name, tr := range map[string]trial.Trace{
		"nothing":   {},
		"one":       {T: []float64{1}, Force: []float64{2}},
		"few":       {T: []float64{1, 2, 3, 4}, Force: []float64{0, 1, 2, 0}},
		"no number": {T: []float64{1, 2, 3, 4, 5, 6, 7, 8, 9}, Force: []float64{nan, nan, nan, nan, nan, nan, nan, nan, nan}},
		"no load":   flat,
	} {
		r := detect(t, tr)
		assert.Equal(t, trial.Unclear, r.Outcome, name)
		assert.Contains(t, r.Flags, Short, name)
		assert.True(t, math.IsNaN(r.SlipForce), name)
		assert.Contains(t, r.Why(newton)[0], "unclear", name)
	}
}

func TestMissingReadingsAreFlaggedAndBridged(t *testing.T) {
	tr := made(9, 100, 0.05, func(t float64) float64 {
		if t > 6 {
			return 60
		}
		return ramp(t, 20, 6)
	})
	for i := 300; i < 310; i++ {
		tr.Force[i] = math.NaN()
	}
	tr.Force[700] = math.Inf(1)
	r := detect(t, tr)
	assert.Equal(t, trial.Slipped, r.Outcome)
	assert.Contains(t, r.Flags, Dropout)
	assert.InDelta(t, 100, r.SlipForce, 0.3)
}

func TestTieLetsGoIsForAPerson(t *testing.T) {
	r := detect(t, made(9, 100, 0.05, func(t float64) float64 {
		if t > 6 {
			return 0
		}
		return ramp(t, 20, 6)
	}))
	assert.Equal(t, trial.Unclear, r.Outcome)
	assert.Contains(t, r.Flags, TieSuspect)
	assert.Contains(t, r.Why(newton)[0], "gone at once; the tie or the part?")
}

// TestFastPullsSayHowFarThePeakMayLie: at ten readings a second a brisk pull
// rises by 6 N from one to the next, and no reading stands at the peak. The
// interval reaches from the last reading to the true peak wherever the readings
// fall, and the result says so.
func TestFastPullsSayHowFarThePeakMayLie(t *testing.T) {
	for phase := 0.005; phase < 0.1; phase += 0.01 {
		tr := made(6, 10, 0.05, func(t float64) float64 {
			if t += phase; t > 2.7 {
				return 60
			}
			return ramp(t, 60, 2.7)
		})
		r := detect(t, tr)
		require.Equal(t, trial.Slipped, r.Outcome, phase)
		highest := 0.0
		for _, f := range tr.Force {
			highest = max(highest, f)
		}
		assert.Contains(t, r.Flags, Fast)
		assert.True(t, r.Low <= 102 && 102 <= r.High, "%g: %g to %g", phase, r.Low, r.High)
		assert.Greater(t, r.High, highest+5.9, "a whole reading's rise may be missing")
		assert.Contains(t, r.Why(newton)[1], "between readings")
	}
	slow := detect(t, made(9, 200, 0.05, func(t float64) float64 { return ramp(t, 20, 6) - 40*max(0, math.Ceil(min(t-6, 1))) }))
	assert.Equal(t, trial.Slipped, slow.Outcome)
	assert.NotContains(t, slow.Flags, Fast)
}

func TestFlagsSayWhatTheyMean(t *testing.T) {
	for _, f := range Flags {
		assert.NotEmpty(t, f.About(), f)
	}
	assert.Len(t, about, len(Flags))
}

func TestWhyIsInTheUnitAsked(t *testing.T) {
	kgf, err := unit.Lookup(unit.Force, "kgf")
	require.NoError(t, err)
	p := simulate("stick-slip", 2)
	r := detect(t, p.trace)
	why := r.Why(kgf)
	assert.Contains(t, why[0], "slipped: motion followed the peak of "+kgf.Format(r.SlipForce, 4))
	chosen := 0
	for _, line := range why {
		assert.NotContains(t, line, " N")
		assert.NotContains(t, line, "NaN")
		if strings.HasSuffix(line, "(chosen)") {
			chosen++
		}
	}
	assert.Equal(t, 1, chosen)
}

func TestMedian(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 2000 {
		x := make([]float64, 1+r.IntN(40))
		for i := range x {
			x[i] = float64(r.IntN(20))
		}
		sorted := slices.Sorted(slices.Values(x))
		n := len(x)
		want := (sorted[(n-1)/2] + sorted[n/2]) / 2
		assert.Equal(t, want, median(x))
	}
	assert.Zero(t, median(nil))
}

func TestLine(t *testing.T) {
	// by hand: mean t 1.75, mean y 2.75, Stt 8.75, Sty 7.75
	slope, level := line([]float64{0, 1, 2, 4}, []float64{1, 3, 2, 5}, 0, 3)
	assert.InDelta(t, 7.75/8.75, slope, 1e-14)
	assert.InDelta(t, 2.75+7.75/8.75*2.25, level, 1e-14)
}
