package slip

import (
	"math"
	"math/rand/v2"
	"slices"

	"griptrial/analysis/trial"
)

// The generator of this file makes pulls with known truth, to develop and
// score the detector against. It is kept apart from acquire/simrig on purpose:
// another friction law (rate and state with ageing, Dieterich 1979; regularised
// as in Rice, Lapusta and Ranjith 2001), another hand, another measuring chain,
// so that the detector does not learn the habits of one simulator. All numbers
// are invented; what matters is that they spread wide.

// simPull is one simulated pull.
type simPull struct {
	family string
	trace  trial.Trace
	sim    trial.Sim
	accept []string
	tags   []string
}

// simFamilies are the cases.
var simFamilies = []string{
	"sharp", "stick-slip", "creep", "small-drop", "flat-top", "slip-then-higher", "flex", "jerky-slip", "tie-seating",
	"leaves-jaws", "tie-lost-after", "slip-near-end",
	"tie-lost-before", "held-letdown", "held-end", "held-long", "jerky-held", "held-seating", "saturated", "slip-above-end",
}

// world is the physics of one pull, scaled so that steady sliding at the
// drive's speed takes 1 and the link stretches by 1 under that force.
type world struct {
	a, b, dc, theta, hard float64
	mass, damp            float64
	toe                   float64
	flex                  []flexPoint
	seats                 []seatPoint
	tieLost               float64 // force at which the tie lets go before a slip; 0: never
	tieLostAfter          float64 // slid distance after which it lets go
	leaves                float64 // slid distance at which the part is out
	leaveSoft             float64
	d                     drive
}

type flexPoint struct{ force, ratio float64 }
type seatPoint struct{ force, give, time float64 }

type drive struct {
	rng     *rand.Rand
	idle    float64
	speed   float64 // stretch of the link a second
	wobble  float64
	turn    float64
	ripple  float64
	jerks   []jerk
	stopAt  float64 // force at which the operator stops; 0: only after a slip
	after   float64 // slid distance after which the operator stops
	hold    float64
	release float64 // s; 0: the record ends
	rest    float64
	tremor  float64
	tremorF float64
	sag     float64
	accel   float64
}

type jerk struct{ force, back, backTime, pause float64 }

func logUniform(r *rand.Rand, a, b float64) float64 {
	return a * math.Exp(r.Float64()*math.Log(b/a))
}
func uniform(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

// newWorld draws a pull of a family.
func newWorld(family string, r *rand.Rand) (world, []string) {
	var tags []string
	load := logUniform(r, 0.8, 9)
	w := world{dc: logUniform(r, 0.001, 0.02), theta: logUniform(r, 20, 1000), mass: logUniform(r, 3e-6, 3e-4)}
	w.damp = uniform(r, 0.05, 0.5) * math.Sqrt(w.mass)
	w.b = logUniform(r, 0.012, 0.05)
	w.a = w.b * uniform(r, 0.3, 0.75)
	d := drive{rng: r, idle: logUniform(r, 0.15, 5), speed: 1 / load, tremorF: uniform(r, 2, 11), accel: logUniform(r, 0.02, 1)}
	switch k := r.Float64(); {
	case k < 0.55:
		tags = append(tags, "hand")
		d.wobble, d.tremor = uniform(r, 0, 0.35), logUniform(r, 3e-4, 8e-3)
	case k < 0.8:
		tags = append(tags, "crank")
		d.ripple, d.turn = uniform(r, 0, 0.95), uniform(r, 0.4, 1.5)
		d.wobble = 0.05
	default:
		tags = append(tags, "motor")
	}
	if r.Float64() < 0.3 {
		w.toe = uniform(r, 0.05, 0.9)
	}
	d.after = logUniform(r, 0.1, 2.5)
	d.hold = uniform(r, 0.15, 2.5)
	d.sag = logUniform(r, 1e-3, 0.02)
	d.release = logUniform(r, 0.25, 1.6)
	d.rest = uniform(r, 0.1, 3)
	if r.Float64() < 0.4 {
		d.release = 0
	}
	held := func() { d.stopAt = uniform(r, 0.25, 0.9) }
	switch family {
	case "sharp":
		w.b = logUniform(r, 0.02, 0.06)
		w.a = w.b * uniform(r, 0.3, 0.6)
	case "stick-slip":
		w.b = logUniform(r, 0.02, 0.06)
		w.a = w.b * uniform(r, 0.1, 0.4)
		w.dc = logUniform(r, 0.0005, 0.004)
		d.after = logUniform(r, 0.8, 4)
	case "creep":
		w.a = logUniform(r, 0.01, 0.03)
		w.b = w.a * uniform(r, 0.02, 0.3)
		w.theta = logUniform(r, 1, 20)
		w.hard = uniform(r, 0.1, 0.4)
		w.dc = logUniform(r, 0.01, 0.05)
		d.after = max(logUniform(r, 0.2, 1.2), 0.6*d.speed)
	case "small-drop":
		w.b = logUniform(r, 0.003, 0.012)
		w.a = w.b * uniform(r, 0.4, 0.8)
	case "flat-top":
		w.b = logUniform(r, 0.002, 0.005)
		w.a = w.b * uniform(r, 0.5, 0.95)
		d.after = logUniform(r, 0.5, 2.5)
		tags = append(tags, "faint")
	case "slip-then-higher":
		w.b = logUniform(r, 0.01, 0.03)
		w.a = w.b * uniform(r, 0.3, 0.6)
		w.hard = uniform(r, 0.15, 0.5)
		d.after = logUniform(r, 1, 3)
	case "flex":
		f := uniform(r, 0.3, 0.75)
		w.flex = []flexPoint{{f, uniform(r, 0.35, 0.8)}}
		if r.Float64() < 0.5 {
			w.flex = append(w.flex, flexPoint{f + uniform(r, 0.08, 0.2), uniform(r, 0.7, 1.3)})
		}
	case "jerky-slip", "jerky-held":
		for range 1 + r.IntN(5) {
			j := jerk{force: uniform(r, 0.15, 0.85), backTime: logUniform(r, 0.15, 0.8), pause: uniform(r, 0, 0.8)}
			if r.Float64() < 0.6 {
				j.back = uniform(r, 0.02, 0.35) * j.force
			}
			d.jerks = append(d.jerks, j)
		}
		slices.SortFunc(d.jerks, func(a, b jerk) int {
			if a.force < b.force {
				return -1
			}
			return 1
		})
		if family == "jerky-held" {
			held()
			if n := len(d.jerks); r.Float64() < 0.5 {
				d.stopAt = d.jerks[n-1].force + 0.02
			}
		}
	case "tie-seating", "held-seating":
		top := 0.85
		if family == "held-seating" {
			held()
			top = d.stopAt * 0.9
		}
		for range 1 + r.IntN(3) {
			f := uniform(r, 0.15, top)
			w.seats = append(w.seats, seatPoint{f, uniform(r, 0.02, 0.25) * f, logUniform(r, 0.004, 0.06)})
		}
		slices.SortFunc(w.seats, func(a, b seatPoint) int {
			if a.force < b.force {
				return -1
			}
			return 1
		})
	case "leaves-jaws":
		w.leaves = logUniform(r, 0.05, 2)
		w.leaveSoft = uniform(r, 0.05, 0.5)
		d.after = 10
	case "tie-lost-after":
		w.tieLostAfter = logUniform(r, 0.15, 1.5)
		d.after = 10
	case "tie-lost-before":
		w.tieLost = uniform(r, 0.3, 0.9)
	case "held-letdown":
		held()
		d.release = logUniform(r, 0.25, 1.6)
	case "held-end":
		held()
		d.release = 0
		d.hold = uniform(r, 0, 1.5)
	case "held-long":
		held()
		d.hold = uniform(r, 2, 8)
		tags = append(tags, "long-hold")
	case "saturated":
		held()
	}
	w.d = d
	return w, tags
}

// motionOf integrates the pull and returns tension, slid distance and the
// drive's stretch at a fixed spacing h.
func (w *world) motionOf(h float64) (force, slid []float64, lostAt float64) {
	r := w.d.rng
	d := w.d
	spring := func(u float64) float64 {
		if u <= 0 {
			return 0
		}
		f := u
		if w.toe > 0 && u < w.toe {
			f = u * u / (2 * w.toe)
		} else if w.toe > 0 {
			f = u - w.toe/2
		}
		out, at, ratio := 0.0, 0.0, 1.0
		for _, p := range w.flex {
			if f > p.force {
				out += (p.force - at) * ratio
				at, ratio = p.force, p.ratio
			}
		}
		return out + (f-at)*ratio
	}
	const v0 = 1.0
	v0s := v0 * d.speed
	x, v, theta := 0.0, 0.0, w.theta
	xd, vd := 0.0, 0.0
	slack, give, seat := 0.0, 0.0, 0
	wob, wobTo, knot := 0.0, 0.0, 0.0
	phase, since, fromXd, j := 0, 0.0, 0.0, 0
	lostAt = math.NaN()
	T := 0.0
	for t := 0.0; t < 60; t += h {
		sub := 4
		if T < 0.7 && math.Abs(v) < 1e-4*d.speed {
			sub = 1
		}
		for range sub {
			dt := h / float64(sub)
			switch phase {
			case 0: // idle
				vd = 0
				if t >= d.idle {
					phase, since = 1, t
				}
			case 1: // pulling
				for t >= knot {
					wob = wobTo
					wobTo = 0.8*wob + 0.6*d.wobble*r.NormFloat64()
					knot += 0.08
				}
				want := d.speed * max(0.03, 1+wob+d.ripple*math.Sin(2*math.Pi*(t-d.idle)/max(d.turn, 0.1)))
				vd += (want - vd) * min(1, dt/(0.02+d.accel*math.Exp(-(t-d.idle)/max(d.accel, 0.05))))
				switch {
				case d.stopAt > 0 && T >= d.stopAt, x > d.after, !math.IsNaN(lostAt) && t > lostAt+0.2+d.hold/4, t > d.idle+40:
					phase, since = 4, t
				case j < len(d.jerks) && T >= d.jerks[j].force:
					phase, since, fromXd = 2, t, xd
				}
			case 2: // easing back
				k := d.jerks[j]
				vd += (-k.back/k.backTime - vd) * min(1, dt/0.04)
				if k.back == 0 || xd <= fromXd-k.back {
					phase, since = 3, t
				}
			case 3: // pausing
				vd += (0 - vd) * min(1, dt/0.03)
				if t > since+d.jerks[j].pause {
					j++
					phase, since = 1, t
				}
			case 4: // stopped
				vd += (-d.sag - vd) * min(1, dt/0.04)
				if t > since+d.hold {
					phase, since, fromXd = 5, t, max(T, 0.05)
					if d.release == 0 {
						return force, slid, lostAt
					}
				}
			case 5: // letting down
				vd += (-1.3*fromXd/d.release - vd) * min(1, dt/0.06)
				if T <= 0 || !math.IsNaN(lostAt) {
					phase, since = 6, t
				}
			case 6:
				vd = 0
				if t > since+d.rest {
					return force, slid, lostAt
				}
			}
			xd += vd * dt
			hand := xd
			if d.tremor > 0 && (phase == 1 || phase == 3 || phase == 4) {
				hand += d.tremor * math.Sin(2*math.Pi*d.tremorF*t+3*math.Sin(1.7*t))
			}
			if give <= 0 && seat < len(w.seats) && T >= w.seats[seat].force {
				give = w.seats[seat].give
			}
			if give > 0 {
				s := w.seats[seat]
				q := min(give, s.give*dt/max(s.time, dt))
				slack += q
				if give -= q; give <= 0 {
					seat++
				}
			}
			if math.IsNaN(lostAt) && (w.tieLost > 0 && T > w.tieLost || w.tieLostAfter > 0 && x > w.tieLostAfter) {
				lostAt = t
			}
			cover := 1.0
			if w.leaves > 0 {
				cover = min(1, max(0, (w.leaves-x)/(w.leaveSoft*w.leaves)))
			}
			// implicit speed: M v + A asinh(v E) = R
			T = spring(hand - slack - x)
			if !math.IsNaN(lostAt) {
				T *= math.Exp(-(t - lostAt) / 0.002)
			}
			if cover <= 0 { // out of the jaws
				v += (T - 3*w.damp*v) / w.mass * dt
				x += v * dt
				if x > w.leaves+0.3 && T < 0.02 && math.IsNaN(lostAt) {
					lostAt = t // it hangs on the tie
				}
				continue
			}
			m := w.mass/dt + w.damp + dt
			A := w.a * cover
			rr := T + w.mass/dt*v - w.hard*max(x, 0)*cover
			q := 1 + w.b*math.Log(v0s*theta/(w.dc))
			lnE := q/w.a - math.Log(2*v0s)
			v = solveSpeed(m, A, lnE, rr)
			x += v * dt
			theta = (theta + dt) / (1 + math.Abs(v)*dt/w.dc)
		}
		force = append(force, max(0, T))
		slid = append(slid, x)
	}
	return force, slid, lostAt
}

// solveSpeed solves m·v + a·asinh(v·e^lnE) = r.
func solveSpeed(m, a, lnE, r float64) float64 {
	if r < 0 {
		return -solveSpeed(m, a, lnE, -r)
	}
	if r == 0 {
		return 0
	}
	c := math.Log(m) - lnE // m·v = e^c·sinh(w)
	w := min(r/a, math.Log(2*r)-c+1)
	if w < 1e-3 {
		return 0
	}
	for range 12 {
		e := math.Exp(c+w) / 2
		f := e + a*w - r
		step := f / (e + a)
		w -= step
		if math.Abs(step) < 1e-7 {
			break
		}
	}
	if w <= 0 {
		return 0
	}
	return math.Exp(w-lnE) / 2
}
