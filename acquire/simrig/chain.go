package simrig

import (
	"math"
	"math/rand/v2"

	"griptrial/analysis/trial"
)

// chain is the measuring chain: it watches the tension step by step and keeps
// a reading each time the converter has one.
type chain struct {
	Cell
	dt   float64
	rng  *rand.Rand
	next float64 // s of the next conversion

	sum   float64 // of the tension since the last conversion
	count int
	ring  []float64 // the last Filter conversions
	have  int

	times, forces []float64
	endAt         float64 // s at which the first reading reached the scale's end; +Inf: none did
}

func newChain(c Cell, dt float64, rng *rand.Rand) *chain {
	if c.HumAt == 0 {
		c.HumAt = 50
	}
	if c.TimeStep == 0 {
		c.TimeStep = 1e-6
	}
	ch := &chain{Cell: c, dt: dt, rng: rng, ring: make([]float64, max(1, c.Filter)), endAt: math.Inf(1)}
	ch.next = rng.Float64() / c.Rate
	return ch
}

// read takes the tension at time t.
func (c *chain) read(t, tension float64) {
	if c.Hum > 0 {
		tension += c.Hum * math.Sin(2*math.Pi*c.HumAt*t)
	}
	c.sum += tension
	c.count++
	if t < c.next {
		return
	}
	value := tension
	if c.Filter > 0 {
		c.ring[c.have%len(c.ring)] = c.sum / float64(c.count)
		c.have++
		value = 0
		n := min(c.have, len(c.ring))
		for _, v := range c.ring[:n] {
			value += v
		}
		value /= float64(n)
	}
	c.sum, c.count = 0, 0
	value += c.Offset + c.Drift*t + c.Noise*c.rng.NormFloat64()
	if c.ScaleEnd > 0 && value >= c.ScaleEnd {
		c.endAt = min(c.endAt, t)
	}
	c.times = append(c.times, t)
	c.forces = append(c.forces, value)
	gap := 1 / c.Rate
	if c.Jitter > 0 {
		gap *= math.Max(0.2, 1+c.Jitter*c.rng.NormFloat64())
	}
	c.next += gap
}

// trace is the record: spikes, scale end, division, lost rows and time stamps
// put on what was read.
func (c *chain) trace(rng *rand.Rand) trial.Trace {
	for range c.Spikes {
		if len(c.forces) > 0 {
			size := c.SpikeMax * (0.1 + 0.9*rng.Float64())
			if rng.IntN(2) == 0 {
				size = -size
			}
			c.forces[rng.IntN(len(c.forces))] += size
		}
	}
	var tr trial.Trace
	missing, last := 0, math.Inf(-1)
	for i, f := range c.forces {
		if missing > 0 {
			missing--
			continue
		}
		if c.Dropped > 0 && rng.Float64() < c.Dropped/3 {
			missing = rng.IntN(5) // a run of one to five: three on average
			continue
		}
		stamp := c.Start + c.stamp(i)
		stamp = math.Round(stamp/c.TimeStep) * c.TimeStep
		if stamp <= last+c.TimeStep/2 {
			stamp = last + c.TimeStep
		}
		last = stamp
		tr.T = append(tr.T, stamp)
		tr.Force = append(tr.Force, c.onScale(f))
	}
	return tr
}

// stamp is the time given to reading i. Readings that arrive together get the
// time of their arrival, some microseconds apart.
func (c *chain) stamp(i int) float64 {
	if c.Batch < 2 {
		return c.times[i]
	}
	first := i - i%c.Batch
	last := min(first+c.Batch, len(c.times)) - 1
	return c.times[last] + float64(i-last)*20e-6
}

// onScale is a force as the scale shows it.
func (c *chain) onScale(f float64) float64 {
	if c.ScaleEnd > 0 {
		f = max(-c.ScaleEnd, min(c.ScaleEnd, f))
	}
	if c.Negative {
		f = -f
	}
	if c.Division > 0 {
		f = math.Round(f/c.Division) * c.Division
	}
	return f
}
