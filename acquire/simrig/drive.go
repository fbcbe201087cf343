package simrig

import (
	"math"
	"math/rand/v2"
)

// What the operator is doing.
const (
	idling = iota
	pulling
	backing
	pausing
	stopped
	releasing
	resting
)

// hand moves the free end of the link.
type hand struct {
	Drive
	rng   *rand.Rand
	phase int
	until float64 // s at which the phase ends, or m of drive for backing
	at    float64 // m, position of the free end
	speed float64 // m/s
	seen  float64 // m of drive at which the part was seen to move; NaN: not yet
	jerk  int     // next of Jerks
	done  bool

	drift, driftTo float64 // the wobble now, and where it goes
	knot           float64 // s at which it gets there
}

// wobbleKnot is the spacing in seconds of the random course of a hand's speed.
const wobbleKnot = 0.05

func newHand(d Drive, rng *rand.Rand) hand {
	if d.Soft == 0 {
		d.Soft = 0.03
	}
	if d.Longest == 0 {
		d.Longest = 60
	}
	return hand{Drive: d, rng: rng, until: d.Idle, seen: math.NaN()}
}

// moving reports whether the drive is going forward on purpose.
func (h *hand) moving() bool { return h.phase == pulling }

// step advances the free end to time t. The operator feels the tension, sees
// how far the part has slid, and stops in time not to pass StopForce by the
// stretch that is still to come at this speed.
func (h *hand) step(t, dt, tension, stiffness, slid, visible float64) {
	target := 0.0
	switch h.phase {
	case idling:
		if t >= h.until {
			h.phase, h.knot = pulling, t
		}
		return
	case pulling:
		if math.IsNaN(h.seen) && slid > visible {
			h.seen = h.at
		}
		switch {
		case h.StopForce > 0 && tension+stiffness*h.speed*h.Soft >= h.StopForce,
			!math.IsNaN(h.seen) && h.at-h.seen >= h.AfterSlip,
			t > h.Idle+h.Longest:
			h.phase, h.until = stopped, t+h.Hold
		case h.jerk < len(h.Jerks) && h.at >= h.Jerks[h.jerk].Travel:
			h.phase, h.until = backing, h.at-h.Jerks[h.jerk].Back
		default:
			target = h.Speed * (1 + h.wobble(t) + h.ripple(t))
		}
	case backing:
		if h.at <= h.until || h.Jerks[h.jerk].Back == 0 {
			h.phase, h.until = pausing, t+h.Jerks[h.jerk].Pause
			break
		}
		target = -1.3 * h.Speed
	case pausing:
		if t >= h.until {
			h.phase = pulling
			h.jerk++
		}
	case stopped:
		target = -h.Sag
		if t >= h.until {
			h.phase = releasing
			h.done = h.Release == 0
		}
	case releasing:
		target = -h.Release
		if tension <= 0 {
			h.phase, h.until = resting, t+h.Rest
		}
	case resting:
		h.done = t >= h.until
	}
	h.speed += (target - h.speed) * min(1, dt/h.Soft)
	h.at += h.speed * dt
}

// wobble is the relative departure of a hand's speed: a random walk that is
// pulled back to zero, in straight pieces.
func (h *hand) wobble(t float64) float64 {
	if h.Wobble == 0 {
		return 0
	}
	for t >= h.knot {
		const keep = 0.72 // correlation of neighbouring knots: about 0.15 s
		h.drift = h.driftTo
		h.driftTo = keep*h.drift + math.Sqrt(1-keep*keep)*h.Wobble*h.rng.NormFloat64()
		h.knot += wobbleKnot
	}
	w := h.driftTo + (h.drift-h.driftTo)*(h.knot-t)/wobbleKnot
	return max(w, -0.95) // a pull slows down; it does not turn back by itself
}

func (h *hand) ripple(t float64) float64 {
	if h.Ripple == 0 {
		return 0
	}
	return h.Ripple * math.Sin(2*math.Pi*(t-h.Idle)/h.Turn)
}
