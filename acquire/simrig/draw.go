package simrig

// operator draws who pulls and how, where the family has not said.
func (d *draw) operator() {
	v := &d.Drive
	v.Idle = d.around(0.25, 10)
	v.Speed = (d.stretch + d.Link.Toe/2) / d.ramp
	switch p := d.rng.Float64(); {
	case p < 0.55:
		d.hand = true
		v.Wobble = d.around(0.04, 0.3)
		v.Soft = d.around(0.05, 0.25)
		if v.Jerks != nil {
			v.Soft = d.around(0.015, 0.08)
		}
	case p < 0.8:
		v.Ripple = d.between(0.1, 0.9)
		v.Turn = d.ramp * d.between(0.08, 0.4)
		v.Soft = 0.05
	default:
		v.Wobble = d.around(0.002, 0.02)
	}
	if v.AfterSlip == 0 {
		v.AfterSlip = d.stretch * d.between(0.5, 1.6)
	}
	if v.Longest == 0 {
		v.Longest = 40
	}
	v.Hold = d.around(0.1, 3)
	if d.hand {
		v.Sag = d.stretch * d.between(0, 0.01)
	}
	switch {
	case v.Release < 0:
		v.Release = 0
	case v.Release == 0 && d.chance(0.6):
		v.Release = d.stretch / d.around(0.15, 1.2)
	}
	v.Rest = d.around(0.2, 3)
}

// rates are the conversion rates of common cells and gauges, in Hz.
var rates = []float64{10, 20, 40, 50, 80, 80, 100, 160, 200, 320, 500, 1000, 2000}

// cell draws the measuring chain. A record has at least some twenty readings
// on the way up: fewer tell nobody anything.
func (d *draw) cell() {
	c := &d.Cell
	c.Rate = rates[d.rng.IntN(len(rates))]
	for c.Rate*d.ramp < 20 {
		c.Rate *= 2
	}
	// Most converters average over one conversion, some settle over more.
	c.Filter = []int{0, 0, 0, 1, 1, 1, 1, 2, 2, 4}[d.rng.IntN(10)]
	c.Noise = d.force * d.around(2e-5, 4e-3)
	c.TimeStep = []float64{1e-6, 1e-4, 1e-3}[d.rng.IntN(3)]
	if c.TimeStep > 0.1/c.Rate {
		c.TimeStep = 1e-6
	}
	if d.chance(0.15) {
		c.Hum = d.force * d.around(0.0005, 0.01)
		c.HumAt = []float64{50, 60}[d.rng.IntN(2)]
	}
	if d.chance(0.45) {
		c.Offset = d.force * d.around(0.005, 0.3)
		if d.chance(0.5) {
			c.Offset = -c.Offset
		}
	}
	if d.chance(0.25) {
		c.Drift = d.force * d.between(-0.03, 0.03) / (d.Drive.Idle + 3*d.ramp)
	}
	if d.chance(0.22) {
		c.Division = d.force / d.around(12, 300)
	}
	if d.chance(0.1) {
		c.Negative = true
	}
	if d.chance(0.15) {
		c.Spikes = 1 + d.rng.IntN(4)
		c.SpikeMax = d.force * d.around(0.1, 1.5)
	}
	if d.chance(0.15) {
		c.Dropped = d.around(0.01, 0.12)
	}
	switch p := d.rng.Float64(); {
	case p < 0.35:
		c.Jitter = d.around(0.02, 0.3)
	case p < 0.45 && c.Rate >= 80:
		c.Batch = 2 + d.rng.IntN(8)
	}
	if d.chance(0.2) {
		c.Start = d.around(0.5, 5000)
	}
}
