// Package simrig is a simulated vise, part and load cell. It serves the demo,
// practice at the bench, and tests that need the truth.
//
// Nothing here is a canned curve. A drive pulls the free end of a link; the
// link pulls a part of some mass; two jaws hold the part by friction; a
// measuring chain reads the tension. The motion is integrated with a small
// fixed step, and the truth of a pull is taken from that motion, never from
// the record.
//
//	drive   speed of a hand, crank or motor, with jerks, pauses and let-downs
//	link    T = T(u), u its stretch: toe, straight part, bends where the part
//	        flexes, knots that seat, a tie that lets go
//	part    m·x'' = T − f
//	jaws    f = Kc·(x−s) + damping, s the distance slid
//	        s' = v0·(exp((|f|−S)/a)−1)   while |f| > S, otherwise 0
//	        S  = C·(mu(φ) − A·ln(1+vr/v0)) + hardening·s,   a = C·A
//	        mu(φ) = kinetic + (static−kinetic)·φ
//	        φ' = (1−φ)/healing − φ·|s'|/weakening
//	        C  = faces · clamp force · grip factor
//	cell    averaging, noise, hum, offset, drift, division, scale end, dropped
//	        rows, spikes, time stamps
//
// The friction is a rate-and-state law: it rises with the logarithm of the
// sliding speed (A), falls with the distance slid since the last rest
// (weakening) and comes back with rest (healing). A large fall and no healing
// give one sharp slip, a fall that heals gives stick-slip, no fall and a large
// A give creep. Friction coefficients are those at the sliding speed vr, 1 mm/s.
//
// Every number in this package that describes a facing, a vise or a hand is
// invented for the scenario of the demo. They are plausible and they are not
// data: nothing about real facings can be learnt from them.
package simrig
