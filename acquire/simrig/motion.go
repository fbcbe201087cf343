package simrig

import (
	"math"
	"math/rand/v2"
)

// motion integrates drive, link, part and jaws.
type motion struct {
	t, dt   float64
	hand    hand
	spring  spring
	link    Link
	part    Part
	grip    grip
	x, v    float64 // part, m and m/s
	tension float64 // N in the link

	slack    float64 // m by which seats have lengthened the link
	seat     int     // next of Seats
	give     float64 // m still to give of the present seat
	tied     float64 // 1 while the tie holds, falling to 0 when it lets go
	lost     bool
	lostAt   float64 // s; NaN while it holds
	damping  float64 // N·s/m of the contact
	linkDamp float64 // N·s/m of the link
	visible  float64 // m of sliding that an operator notices
}

// letGoTime is how fast the load leaves a tie that lets go, in seconds.
const letGoTime = 0.3e-3

func newMotion(r Rig, handRNG, roughRNG *rand.Rand) *motion {
	m := &motion{
		hand: newHand(r.Drive, handRNG), spring: newSpring(r.Link, r.Part.Flex), link: r.Link, part: r.Part,
		grip: newGrip(r.Jaws, roughRNG), tied: 1, lostAt: math.NaN(),
	}
	m.linkDamp = r.Link.Damping * r.Link.Stiffness
	m.damping = 0.4 * math.Sqrt(r.Jaws.Contact*r.Part.Mass) // a fifth of critical
	m.visible = max(0.1e-3, 0.02*m.grip.capacity*r.Jaws.Static/r.Link.Stiffness)
	// A quarter of a radian of the fastest swing each step, and no less fine
	// than the measuring chain needs.
	fastest := math.Sqrt((r.Jaws.Contact + 2*r.Link.Stiffness) / r.Part.Mass)
	m.dt = min(100e-6, 0.25/fastest)
	if r.Cell.Rate > 0 {
		m.dt = min(m.dt, 0.25/r.Cell.Rate)
	}
	return m
}

// step advances everything by dt (semi-implicit Euler: speeds first, then
// positions; sliding implicitly).
func (m *motion) step() {
	m.t += m.dt
	m.hand.step(m.t, m.dt, m.tension, m.link.Stiffness, m.grip.slid, m.visible)
	if m.hand.phase == idling {
		return
	}
	m.settleLink()
	pull := m.spring.tension(m.hand.at - m.slack - m.x)
	if pull > 0 {
		pull = max(0, pull+m.linkDamp*(m.hand.speed-m.v)) * m.tied
	}
	hold := m.grip.Contact*(m.x-m.grip.slid) + m.damping*(m.v-m.grip.rate)
	if stop := m.grip.Stop; stop > 0 && m.x > stop {
		hold += m.grip.Contact * (m.x - stop)
	}
	m.v += (pull - hold) / m.part.Mass * m.dt
	m.x += m.v * m.dt
	m.grip.slide(m.x, m.dt)
	m.tension = pull
}

// settleLink lets knots seat and the tie go.
func (m *motion) settleLink() {
	if m.give <= 0 && m.seat < len(m.link.Seats) && m.tension >= m.link.Seats[m.seat].Force {
		m.give = m.link.Seats[m.seat].Give
	}
	if m.give > 0 {
		s := m.link.Seats[m.seat]
		d := min(m.give, s.Give*m.dt/max(s.Time, m.dt))
		m.slack += d
		if m.give -= d; m.give <= 0 {
			m.seat++
		}
	}
	if !m.lost && (m.link.LetsGo > 0 && m.tension >= m.link.LetsGo ||
		m.link.LetsGoAt > 0 && m.grip.slid >= m.link.LetsGoAt) {
		m.lost, m.lostAt = true, m.t
	}
	if m.lost {
		m.tied *= math.Exp(-m.dt / letGoTime)
		if m.tied < 1e-4 {
			m.tied = 0
		}
	}
}
