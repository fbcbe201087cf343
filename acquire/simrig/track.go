package simrig

import (
	"math"

	"griptrial/analysis/trial"
)

// track is the motion of a pull in blocks of a millisecond: all that the
// truth is taken from.
type track struct {
	blocks []block
	open   block
	end    float64 // s at which the open block is full
	lostAt float64 // s at which the tie let go; NaN: it held
	endAt  float64 // s at which a reading first reached the scale's end; +Inf: none did
}

// block is one millisecond of motion.
type block struct {
	t       float64 // s at its end
	peak    float64 // N, greatest tension in it
	peakAt  float64 // s
	tension float64 // N at its end
	slid    float64 // m
	drive   float64 // m
	forward bool    // the drive was being pulled forward
}

const blockTime = 1e-3

func newTrack() *track { return &track{end: blockTime, lostAt: math.NaN(), endAt: math.Inf(1)} }

func (k *track) add(m *motion) {
	if m.tension > k.open.peak {
		k.open.peak, k.open.peakAt = m.tension, m.t
	}
	if m.t < k.end {
		return
	}
	b := &k.open
	b.t, b.tension, b.slid, b.drive, b.forward = m.t, m.tension, m.grip.slid, m.hand.at, m.hand.moving()
	if b.peakAt == 0 {
		b.peakAt = m.t
	}
	k.blocks = append(k.blocks, *b)
	k.open = block{}
	k.end += blockTime
	k.lostAt = m.lostAt
}

func (k *track) close() { k.open = block{} }

// What counts as motion. The first two are shares of the stretch of the link
// at the greatest tension, the third of the tension at the slip.
const (
	grossShare   = 0.02 // a slide this long, without the tension coming back, is gross motion
	gradualShare = 0.05 // sliding this far before the first peak is giving way gradually
	toothShare   = 0.03 // a climb and fall this high is a slip of its own
)

// verdict is where and how the part broke away.
type verdict struct {
	slipped bool
	at      int // block of the slip point
	force   float64
	time    float64
	kind    string
}

// truth is what the pull was. SlipTime is on the recording clock.
//
// The slip point is the first peak of the tension that gross motion follows:
// the part goes on to slide by grossShare of the link's stretch before the
// tension is back at the peak. Where the part has by then slid far already, or
// slides far without a peak, it gave way gradually, and the slip point is the
// knee (see knee). Tie lost first, the truth is that nobody can tell.
func (k *track) truth(r Rig) trial.Sim {
	sim := trial.Sim{Outcome: trial.Held, SlipForce: math.NaN(), SlipTime: math.NaN(), PeakForce: k.greatest()}
	v := k.judge(r)
	lost := !math.IsNaN(k.lostAt) && (!v.slipped || v.time >= k.lostAt)
	switch {
	case lost:
		sim.Outcome = trial.Unclear
	case v.slipped:
		sim.Outcome, sim.Kind = trial.Slipped, v.kind
		sim.SlipForce, sim.SlipTime = v.force, v.time+r.Cell.Start
	}
	return sim
}

func (k *track) greatest() float64 {
	top := 0.0
	for _, b := range k.blocks {
		top = max(top, b.peak)
	}
	return top
}

// judge finds the slip point in the motion.
func (k *track) judge(r Rig) verdict {
	stretch := k.greatest() / r.Link.Stiffness
	if stretch == 0 {
		return verdict{}
	}
	p := k.firstPeak(grossShare * stretch)
	gradual := p < 0 && k.slidForward() > 0.1*stretch ||
		p > 0 && k.blocks[p-1].slid > gradualShare*stretch
	if gradual {
		if at := k.knee(); at >= 0 {
			b := k.blocks[at]
			return verdict{slipped: true, at: at, force: b.tension, time: b.t, kind: "creep"}
		}
	}
	if p < 0 {
		return verdict{}
	}
	b := k.blocks[p]
	v := verdict{slipped: true, at: p, force: b.peak, time: b.peakAt, kind: "sharp"}
	if k.furtherSlips(p, toothShare*b.peak, r.Link.Stiffness) >= 2 {
		v.kind = "stick-slip"
	}
	return v
}

// slidForward is how far the part slid while it was pulled, in m.
func (k *track) slidForward() float64 {
	if len(k.blocks) == 0 {
		return 0
	}
	return k.blocks[len(k.blocks)-1].slid
}

// firstPeak is the first block whose peak is not reached again before the part
// has slid by gross; -1: there is none.
func (k *track) firstPeak(gross float64) int {
	top := -1
	for i, b := range k.blocks {
		if top >= 0 && k.blocks[top].peak >= b.peak {
			if b.slid-k.blocks[top].slid >= gross {
				return top
			}
			continue
		}
		top = i
	}
	return -1
}

// furtherSlips counts the saw teeth after block p: the tension climbs by h
// while the part stands, then falls by h because it slides and not because
// the drive lets go.
func (k *track) furtherSlips(p int, h, stiffness float64) int {
	count := 0
	low, high := p, p
	climbing := false
	for i := p + 1; i < len(k.blocks) && k.blocks[i].forward; i++ {
		now := k.blocks[i].tension
		if !climbing {
			if now < k.blocks[low].tension {
				low = i
			}
			if now > k.blocks[low].tension+h {
				climbing, high = true, i
			}
			continue
		}
		if now > k.blocks[high].tension {
			high = i
		}
		if fall := k.blocks[high].tension - now; fall > h {
			if k.blocks[i].slid-k.blocks[high].slid > h/stiffness/10 {
				count++
			}
			climbing, low = false, i
		}
	}
	return count
}

// knee is the block at which the slope of tension over drive travel has fallen
// to half of the steepest slope before it, for good: over the next tenth of
// the travel it stays below half on average. -1: there is no knee.
func (k *track) knee() int {
	// The pull alone: blocks in which the drive reached a new furthest point.
	var at []int
	furthest := 0.0
	for i, b := range k.blocks {
		if b.forward && b.drive > furthest {
			furthest = b.drive
			at = append(at, i)
		}
	}
	if len(at) < 10 {
		return -1
	}
	half := furthest * 0.01
	slope := func(centre, reach float64, lo, hi int) (float64, int, int) {
		for lo < len(at)-1 && k.blocks[at[lo]].drive < centre-reach {
			lo++
		}
		for hi < len(at)-1 && k.blocks[at[hi]].drive < centre+reach {
			hi++
		}
		a, b := k.blocks[at[lo]], k.blocks[at[hi]]
		if b.drive <= a.drive {
			return math.NaN(), lo, hi
		}
		return (b.tension - a.tension) / (b.drive - a.drive), lo, hi
	}
	steepest, lo, hi := 0.0, 0, 0
	for _, i := range at {
		x := k.blocks[i].drive
		var s float64
		s, lo, hi = slope(x, half, lo, hi)
		if math.IsNaN(s) || x < half {
			continue
		}
		steepest = max(steepest, s)
		if s <= steepest/2 {
			if after, _, _ := slope(x+5*half, 5*half, lo, hi); after <= steepest/2 {
				return i
			}
		}
	}
	return -1
}
