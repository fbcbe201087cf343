package simrig

import (
	"math"
	"slices"

	"griptrial/analysis/trial"
)

// Case is one pull of a family with its record, its truth, and what may be
// said of it.
type Case struct {
	Family string
	Seed   uint64
	Rig    Rig
	Trace  trial.Trace

	// Truth is what happened as far as a record can show it at all: a slip
	// beyond the end of the scale is Held, a load that is gone within a sample
	// or two is Unclear.
	Truth trial.Sim
	// Accept lists every outcome that a careful reader of the record could
	// give; Truth.Outcome is the first.
	Accept []trial.Outcome
	// TieSuspect says that the load vanished at once, which must be flagged;
	// Slipped is then right only with that flag.
	TieSuspect bool
	Tags       []string // what makes the record hard
}

// Accepts reports whether an outcome is right, given whether it came with the
// flag tie-suspect.
func (c Case) Accepts(o trial.Outcome, tieSuspect bool) bool {
	if c.TieSuspect && o == trial.Slipped && !tieSuspect {
		return false
	}
	return slices.Contains(c.Accept, o)
}

// Pull draws a rig of the family and makes one pull with it. It panics on a
// family that Families does not list.
func Pull(family string, seed uint64) Case {
	r := Draw(family, seed)
	trace, track := r.run(seed)
	c := Case{Family: family, Seed: seed, Rig: r, Trace: trace, Truth: track.truth(r), Tags: r.tags()}
	c.judge(track)
	return c
}

// judge works out what a careful reader could say, from the motion and the
// measuring chain. The limits in it are our own reading of "careful".
func (c *Case) judge(k *track) {
	const (
		atOnce  = 2.5  // readings in which a load must be gone to be gone at once
		rising  = 0.04 // a creep that rises by this share after its knee is seen to creep
		flat    = 0.9  // s held after which a flat top may be a slide as well as a hold
		nearEnd = 5    // readings after a slip that show what followed
		fewEnd  = 4    // readings at the scale's end that show that it is the end
	)
	cell := c.Rig.Cell
	c.Accept = []trial.Outcome{c.Truth.Outcome}
	switch c.Truth.Outcome {
	case trial.Unclear:
		c.TieSuspect = true
		return
	case trial.Held:
		if c.Truth.PeakForce < 12*cell.Noise+4*cell.Division || c.Rig.Drive.Hold > flat || k.slidForward() > 0.004*c.stretch() {
			c.Accept = append(c.Accept, trial.Unclear)
		}
		return
	}

	v := k.judge(c.Rig)
	if late := (v.time - k.endAt) * cell.Rate; late >= -float64(cell.Filter) {
		near := late < fewEnd || v.force+cell.Offset+cell.Drift*v.time < cell.ScaleEnd+2.5*cell.Division
		c.Truth.Outcome, c.Truth.Kind = trial.Held, ""
		c.Truth.SlipForce, c.Truth.SlipTime = math.NaN(), math.NaN()
		c.Accept = []trial.Outcome{trial.Held, trial.Unclear}
		if near {
			c.add(trial.Slipped, "at the end")
		}
		return
	}
	if readings := k.vanishing(v) * cell.Rate; readings < atOnce {
		c.Truth.Outcome, c.Truth.Kind = trial.Unclear, ""
		c.Truth.SlipForce, c.Truth.SlipTime = math.NaN(), math.NaN()
		c.Accept = []trial.Outcome{trial.Unclear, trial.Slipped}
		c.TieSuspect = true
		return
	} else if readings < 2*atOnce+float64(cell.Filter) {
		c.Accept = append(c.Accept, trial.Unclear)
	}

	seen := 6*cell.Noise + 3*cell.Division + 2*cell.Hum
	if c.Rig.Drive.Jerks != nil {
		seen = max(seen, 0.04*v.force)
	}
	if v.kind == "creep" {
		if rise := k.greatest() - v.force; rise < seen || rise < rising*v.force {
			c.add(trial.Unclear, "faint")
		}
		if k.greatest()-v.force < seen/2 {
			c.add(trial.Held, "hidden") // a flat top, as when an operator holds
		}
		return
	}
	fall, after := k.fall(v)
	shown := k.shown(v, max(1, float64(cell.Filter))/cell.Rate)
	if shown < seen || shown < 0.02*v.force || after*cell.Rate < nearEnd {
		c.add(trial.Unclear, "faint")
	}
	if k.slow(v, fall) {
		c.add(trial.Unclear, "slow fall")
	}
	if shown < seen/2 || after*cell.Rate < nearEnd {
		c.add(trial.Held, "hidden")
	}
}

func (c *Case) add(o trial.Outcome, tag string) {
	if !slices.Contains(c.Accept, o) {
		c.Accept = append(c.Accept, o)
	}
	c.Tags = append(c.Tags, tag)
}

func (c *Case) stretch() float64 { return c.Truth.PeakForce / c.Rig.Link.Stiffness }

// vanishing is the time in s from the slip until less than a twentieth of the
// load is left, for good; +Inf where some of it stays, or it was let down.
func (k *track) vanishing(v verdict) float64 {
	last := v.at
	for i, b := range k.blocks[v.at:] {
		if b.tension > 0.05*v.force {
			last = v.at + i
		}
	}
	if last+1 >= len(k.blocks) || !k.blocks[last+1].forward {
		return math.Inf(1)
	}
	return k.blocks[last+1].t - v.time
}

// fall is by how much the tension falls after the slip before it is back or
// the drive stops, in N, and how long the drive still goes forward, in s.
func (k *track) fall(v verdict) (fall, after float64) {
	least := v.force
	for _, b := range k.blocks[v.at+1:] {
		if !b.forward || b.tension > v.force {
			break
		}
		least = min(least, b.tension)
	}
	for _, b := range k.blocks[v.at+1:] {
		if !b.forward {
			break
		}
		after = b.t - v.time
	}
	return v.force - least, after
}

// shown is the part of a fall that readings show which average over some
// seconds: the greatest such mean soon after the slip, less the least before the
// drive stops or the tension is back.
func (k *track) shown(v verdict, over float64) float64 {
	n := max(1, int(over/blockTime+0.5))
	sum, have := 0.0, 0
	top, least := 0.0, math.Inf(1)
	for i := max(0, v.at-n+1); i < len(k.blocks); i++ {
		b := k.blocks[i]
		if i > v.at && (!b.forward || b.tension > v.force) {
			break
		}
		sum += b.tension
		if have++; have > n {
			sum -= k.blocks[i-n].tension
			have = n
		}
		mean := sum / float64(have)
		if i >= v.at && i <= v.at+n {
			top = max(top, mean)
		}
		if i >= v.at+n {
			least = min(least, mean)
		}
	}
	return max(0, top-min(top, least))
}

// slow tells whether the tension takes longer to fall after a slip than a hand
// needs to ease as much, and then stands: a hand that eased and held on leaves
// the same record.
func (k *track) slow(v verdict, fall float64) bool {
	const (
		easing = 0.2 // s
		stands = 1.0 // s
	)
	down := v.at
	for down < len(k.blocks)-1 && k.blocks[down].tension > v.force-0.8*fall {
		down++
	}
	later := min(down+int(stands/blockTime), len(k.blocks)-1)
	return k.blocks[down].t-v.time > easing && math.Abs(k.blocks[later].tension-v.force+fall) < max(0.3*fall, 0.005*v.force)
}

// tags names what makes a record hard.
func (r Rig) tags() []string {
	var tags []string
	for _, t := range []struct {
		has  bool
		name string
	}{
		{r.Drive.Wobble > 0.03, "hand"},
		{r.Drive.Ripple > 0, "crank"},
		{r.Drive.Wobble <= 0.03 && r.Drive.Ripple == 0, "motor"},
		{r.Jaws.GripFactor < 1, "twist"},
		{r.Cell.Division > 0, "coarse"},
		{r.Cell.Offset != 0, "offset"},
		{r.Cell.Drift != 0, "drift"},
		{r.Cell.Hum > 0, "hum"},
		{r.Cell.Negative, "negative"},
		{r.Cell.Spikes > 0, "spike"},
		{r.Cell.Dropped > 0, "dropped"},
		{r.Cell.Jitter > 0, "irregular"},
		{r.Cell.Batch > 1, "batched"},
		{r.Cell.Rate <= 20, "slow"},
	} {
		if t.has {
			tags = append(tags, t.name)
		}
	}
	return tags
}
