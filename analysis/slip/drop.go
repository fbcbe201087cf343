package slip

// The evidence that a drop gives by itself, as the stream and the judgement of
// the whole record both see it.

// standsOut is the least drop in N that counts: out of the noise and of the
// ripple that the load has as it rises, more than a division, and a 250th of
// the force.
func standsOut(noise, ripple, step, force float64) float64 {
	return max(3.5*noise, 2.4*ripple, 1.1*step, 0.004*force)
}

// pace is how quick a drop is beside a hand that eases its pull.
type pace uint8

const (
	slow      pace = iota // a hand does it
	tooSudden             // a hand hardly does it, unless it goes back to pulling
	tooQuick              // no hand does it
)

const (
	handTime = 0.05 // s: a hand needs more to ease and stop
	easeTime = 0.1  // s: and more than this to ease by much
	tieTime  = 3e-3 // s in which a tie that lets go takes the load away
	letTime  = 0.15 // s: no hand that pulls lets all of it down as soon
)

// paceOf compares a drop with a hand: how long it took in s, its rate and the
// loading slope before it in N/s, and the time in s between readings, which
// blurs it.
func paceOf(fall, rate, before, spacing float64) pace {
	switch {
	case fall <= handTime+2*spacing:
		return tooQuick
	case fall <= easeTime+2.5*max(spacing, binWidth) && rate > 2*before:
		return tooSudden
	}
	return slow
}

// outOfHold tells whether a drop of a load that stands is one that no trembling
// hand makes: out of noise, ripple and the swing before it, and large or quick. A
// drop out of a rise needs no such test, for a hand does not turn round at once.
func outOfHold(drop, force, fall, noise, ripple, swing, spacing float64) bool {
	if drop < max(0.01*force, 3*ripple, 8*noise, 2*swing) {
		return false
	}
	return drop > max(0.025*force, 4.5*ripple) || fall < 0.04+0.3*spacing
}

// roseAt is the share of the loading slope at which the load must rise up to a
// drop to count as rising.
const roseAt = 0.3
