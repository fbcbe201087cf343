package slip

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"griptrial/analysis/trial"
)

// simulate makes the pull of a family and seed.
func simulate(family string, seed uint64) simPull {
	r := rand.New(rand.NewPCG(seed, uint64(slices.Index(simFamilies, family)+1)))
	w, tags := newWorld(family, r)
	const h = 0.5e-3
	force, slid, lostAt := w.motionOf(h)
	scale := logUniform(r, 5, 900)
	p := simPull{family: family, tags: tags, sim: truthOf(w, family, force, slid, lostAt, h)}
	for i := range force {
		force[i] *= scale
	}
	p.sim.SlipForce *= scale
	p.sim.PeakForce *= scale
	p.accept = []string{p.sim.Outcome.String()}
	top := p.sim.PeakForce
	slipped := p.sim.Outcome == trial.Slipped

	// the measuring chain
	rate := []float64{10, 20, 20, 50, 50, 80, 80, 80, 100, 100, 200, 200, 500, 1000, 2000}[r.IntN(15)]
	taps := 0.0
	if r.Float64() < 0.35 {
		taps = float64(1 + r.IntN(4))
	}
	noise := top * logUniform(r, 5e-5, 4e-3)
	hum, humF := 0.0, 50.0
	if r.Float64() < 0.2 {
		hum = top * logUniform(r, 1e-3, 1e-2)
		p.tags = append(p.tags, "hum")
		if r.Float64() < 0.5 {
			humF = 60
		}
	}
	offset, drift, step := 0.0, 0.0, top*1e-5
	if r.Float64() < 0.5 {
		offset = top * uniform(r, -0.15, 0.15)
		p.tags = append(p.tags, "offset")
	}
	length := float64(len(force)) * h
	if r.Float64() < 0.25 {
		drift = top * uniform(r, -0.02, 0.02) / length
		p.tags = append(p.tags, "drift")
	}
	if r.Float64() < 0.2 {
		step = []float64{1, 2, 5}[r.IntN(3)] * math.Pow(10, math.Floor(math.Log10(top*0.02)))
		if step > 0.06*top {
			step /= 5
		}
		p.tags = append(p.tags, "coarse")
	}
	capacity := math.Inf(1)
	switch family {
	case "saturated":
		capacity = top * uniform(r, 0.5, 0.95)
	case "slip-above-end":
		capacity = p.sim.SlipForce * uniform(r, 0.6, 0.97)
	case "slip-near-end":
		capacity = p.sim.SlipForce * uniform(r, 1.002, 1.03)
	}
	if !math.IsInf(capacity, 1) {
		offset = 0
	}
	jitter, drops, batch, spikes := 0.0, 0.0, 0, 0.0
	if r.Float64() < 0.4 {
		jitter = uniform(r, 0.05, 0.3)
		p.tags = append(p.tags, "irregular")
	}
	if r.Float64() < 0.12 {
		drops = uniform(r, 0.01, 0.1)
		p.tags = append(p.tags, "dropped")
	}
	if r.Float64() < 0.08 && rate >= 80 {
		batch = 2 + r.IntN(8)
		p.tags = append(p.tags, "batched")
	}
	if r.Float64() < 0.2 {
		spikes = float64(1+r.IntN(5)) / (length * rate)
		p.tags = append(p.tags, "spike")
	}
	sign := 1.0
	if r.Float64() < 0.2 {
		sign = -1
		p.tags = append(p.tags, "negative")
	}
	at := func(t float64) float64 {
		i := int(t / h)
		if i < 0 {
			return 0
		}
		if i >= len(force)-1 {
			return force[len(force)-1]
		}
		u := t/h - float64(i)
		return force[i]*(1-u) + force[i+1]*u
	}
	var tr trial.Trace
	phase := r.Float64() * 6
	dt := 1 / rate
	gap := 0
	endAt, ended := math.Inf(1), 0 // when the readings reach the scale's end, and how many do up to the slip
	for k := 0; ; k++ {
		t := (float64(k) + 0.5 + jitter*(r.Float64()-0.5)*2) * dt
		if t >= length {
			break
		}
		f := at(t)
		if taps > 0 {
			f = 0
			n := int(4 * taps)
			for i := range n {
				f += at(t - (float64(i)+0.5)*dt/4)
			}
			f /= float64(n)
		}
		f += offset + drift*t + noise*r.NormFloat64() + hum*math.Sin(2*math.Pi*humF*t+phase)
		if f >= capacity {
			endAt = min(endAt, t)
			if !(t > p.sim.SlipTime+taps*dt) {
				ended++
			}
		}
		if r.Float64() < spikes {
			f += top * uniform(r, 0.1, 1) * math.Copysign(1, r.Float64()-0.35)
		}
		f = min(f, capacity)
		f = math.Round(f/step) * step
		if r.Float64() < drops/4 {
			gap = 1 + r.IntN(6)
		}
		if gap > 0 {
			gap--
			continue
		}
		tr.T = append(tr.T, t)
		tr.Force = append(tr.Force, sign*f)
	}
	if batch > 0 {
		for i := range tr.T {
			last := min(len(tr.T)-1, i-i%batch+batch-1)
			tr.T[i] = tr.T[last] + float64(i-last)*1e-5
		}
	}
	for i := range tr.T {
		tr.T[i] = math.Round(tr.T[i]*1e6) / 1e6
	}
	p.trace = tr
	p.tags = append(p.tags, fmt.Sprintf("%gsps", rate))
	if taps > 0 {
		p.tags = append(p.tags, fmt.Sprintf("taps%g", taps))
	}

	// what a careful reader could say
	if !math.IsInf(endAt, 1) && (!slipped || ended > 0) {
		near := slipped && (ended < 4 || p.sim.SlipForce+drift*p.sim.SlipTime < capacity+2.5*step)
		p.sim.Outcome = trial.Held
		p.sim.SlipForce, p.sim.SlipTime, p.sim.Kind = math.NaN(), math.NaN(), ""
		p.accept = []string{"held"}
		if near { // a few equal readings, or one division, do not show the end
			p.accept = []string{"held", "unclear", "slipped"}
		}
	}
	switch family {
	case "leaves-jaws", "tie-lost-after":
		// gone before the sliding showed for some samples
		gone := firstBelow(force, p.sim.SlipTime/h, 0.05*top) * h
		if slipped && gone-p.sim.SlipTime < 0.06+(taps+5)/rate {
			p.accept = []string{"unclear", "slipped+tie-suspect", "slipped"}
		}
	case "held-letdown", "held-end", "jerky-held", "held-seating":
		if stoodNear(force, top, h) > 1.2 {
			p.accept = []string{"held", "unclear"}
		}
	case "held-long":
		p.accept = []string{"held", "unclear"}
	case "flat-top":
		p.accept = []string{"slipped", "unclear"}
	}
	if slipped && p.sim.Outcome == trial.Slipped {
		if family != "creep" && slowFall(force, p.sim.SlipTime, h) && !slices.Contains(p.accept, "unclear") {
			p.accept = append(p.accept, "unclear")
		}
		// what shows of the sliding is lost in division or noise
		i := int(p.sim.SlipTime / h)
		j := min(i+int(0.4/h), len(force)-1)
		shows := math.Abs(force[j] - p.sim.SlipForce)
		if family == "creep" {
			shows = (top - p.sim.SlipForce) / 2
		}
		if shows < 1.3*step || shows < 3*(noise+hum)/math.Sqrt(max(1, rate*0.1)) || shows < 0.004*top {
			p.accept = []string{"slipped", "unclear", "held"}
		}
	}
	return p
}

// stoodNear is how long the force stood within the upper 8 % of its peak, in s: a
// pause short of the peak counts as well as the hold after it.
func stoodNear(force []float64, peak, h float64) float64 {
	n := 0
	for _, f := range force {
		if f > 0.92*peak {
			n++
		}
	}
	return float64(n) * h
}

// slowFall tells whether the force takes longer to fall after a slip than a hand
// needs to ease as much, and then stands, without climbing or falling further:
// a hand that eased and held on leaves the same record.
func slowFall(force []float64, slip, h float64) bool {
	from := int(slip / h)
	to := min(from+int(2/h), len(force)-1)
	low := from
	for i := from; i <= to && force[i] <= force[from]*1.001; i++ {
		if force[i] < force[low] {
			low = i
		}
	}
	depth := force[from] - force[low]
	if depth > 0.3*force[from] { // let down
		return false
	}
	most := firstBelow(force, float64(from), force[from]-0.8*depth)
	later := int(most) + int(1/h)
	return (most-float64(from))*h > 0.2 && (later >= len(force) || math.Abs(force[later]-force[low]) < max(0.3*depth, 0.005*force[from]))
}

// firstBelow is the index of the first value under f from an index on.
func firstBelow(x []float64, from, f float64) float64 {
	i := int(from)
	for i < len(x) && x[i] > f {
		i++
	}
	return float64(i)
}

// truthOf reads the truth off the motion.
func truthOf(w world, family string, force, slid []float64, lostAt, h float64) trial.Sim {
	nan := math.NaN()
	s := trial.Sim{Outcome: trial.Held, SlipForce: nan, SlipTime: nan}
	peak := 0
	for i, f := range force {
		if f > force[peak] {
			peak = i
		}
	}
	s.PeakForce = force[peak]
	moved := slices.IndexFunc(slid, func(x float64) bool { return x > 0.04 })
	if moved < 0 || !math.IsNaN(lostAt) && float64(moved)*h > lostAt {
		if !math.IsNaN(lostAt) {
			s.Outcome = trial.Unclear
		}
		return s
	}
	s.Outcome = trial.Slipped
	top := 0
	for i := 0; i <= moved; i++ {
		if force[i] > force[top] {
			top = i
		}
	}
	s.Kind = string(Sharp)
	if family == "creep" {
		// the slope over drive is k(1 − v/vd): half when the part moves half as fast as the drive; over 40 ms
		n := int(0.04 / h)
		for i := n; i < moved+int(0.5/h) && i+n < len(slid); i++ {
			dx := slid[i+n] - slid[i-n]
			dd := dx + force[i+n] - force[i-n]
			if dd > 0.2*w.d.speed*0.08 && dx > 0.5*dd {
				top = i
				break
			}
		}
		s.Kind = string(Creep)
	}
	s.SlipForce, s.SlipTime = force[top], float64(top)*h
	return s
}
