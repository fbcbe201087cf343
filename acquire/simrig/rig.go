package simrig

import (
	"math/rand/v2"

	"griptrial/analysis/trial"
)

// Rig is everything that decides how one pull goes, in SI units.
type Rig struct {
	Drive Drive
	Link  Link
	Part  Part
	Jaws  Jaws
	Cell  Cell
}

// Drive is who or what pulls the free end of the link, and how.
type Drive struct {
	Idle   float64 // s recorded before the pull begins
	Speed  float64 // m/s of the free end
	Soft   float64 // s in which the speed settles after a change; 0: 0.03
	Wobble float64 // relative sd of the speed, changing over about 0.15 s (a hand)
	Ripple float64 // relative swing of the speed once a turn (a crank); 0: none
	Turn   float64 // s a turn of the crank
	Jerks  []Jerk  // pauses and partial unloading, in the order of Travel

	StopForce float64 // N at which the operator stops pulling; 0: only the part stops the pull
	AfterSlip float64 // m the operator goes on after the part has been seen to move
	Hold      float64 // s at rest with the load on, after stopping
	Sag       float64 // m/s at which the hand gives way during the hold
	Release   float64 // m/s of letting down; 0: the record ends after the hold
	Rest      float64 // s recorded after letting down
	Longest   float64 // s after which the operator stops in any case; 0: 60
}

// Jerk interrupts a pull.
type Jerk struct {
	Travel float64 // m of drive at which it happens
	Back   float64 // m let back
	Pause  float64 // s waited then
}

// Link is the strap, cord or rod between drive and part.
type Link struct {
	Stiffness float64 // N/m where it is straight
	Toe       float64 // m of stretch over which the stiffness grows from nothing
	Damping   float64 // s: damping coefficient over stiffness
	Seats     []Seat  // knots that give, in the order of Force
	LetsGo    float64 // N at which the tie lets go; 0: never
	LetsGoAt  float64 // m slid by the part at which the tie lets go; 0: never
}

// Seat is a knot or hook that settles once.
type Seat struct {
	Force float64 // N at which it does
	Give  float64 // m by which it lengthens the link
	Time  float64 // s it takes
}

// Part is what the jaws hold, with what moves with it.
type Part struct {
	Mass float64 // kg
	Flex []Bend  // changes of stiffness between link and jaws, in the order of Force
}

// Bend changes the stiffness of the way to the jaws above a force.
type Bend struct {
	Force float64 // N
	Ratio float64 // stiffness above it, as a share of the link's
}

// Jaws hold the part by friction on their faces.
type Jaws struct {
	Clamp      float64 // N on one face
	Faces      int     // 0: 2
	GripFactor float64 // of the patch for this way of pulling; 0: 1, a straight pull
	Static     float64 // friction coefficient at rest, as met at 1 mm/s
	Kinetic    float64 // friction coefficient after sliding well beyond Weakening, at 1 mm/s
	RateEffect float64 // A: growth of the coefficient for each e-fold of sliding speed
	Weakening  float64 // m of sliding in which static falls to kinetic; 0: 20 µm
	Healing    float64 // s of rest in which it comes back; 0: never
	Contact    float64 // N/m shear stiffness of facing and surface before they slide
	Hardening  float64 // N/m rise of the friction force with distance slid
	Rough      float64 // relative sd of friction along the way
	RoughOver  float64 // m over which it changes; 0: 0.3 mm
	Leaves     float64 // m slid at which the part has left the jaws; 0: never
	Stop       float64 // m slid at which the part meets something solid; 0: never
}

// Cell is the measuring chain.
type Cell struct {
	Rate     float64 // conversions a second
	Filter   int     // conversions averaged; 0: each reading is instantaneous
	Jitter   float64 // relative sd of the sample spacing; the stamps are true
	Batch    int     // readings that arrive together and are stamped on arrival; below 2: none
	TimeStep float64 // s to which stamps are rounded; 0: 1 µs
	Start    float64 // s on the recording clock at which the record begins

	Noise    float64 // N rms
	Hum      float64 // N amplitude of mains hum; 0: none
	HumAt    float64 // Hz; 0: 50
	Offset   float64 // N at rest
	Drift    float64 // N/s
	Division float64 // N; 0: none
	ScaleEnd float64 // N beyond which the reading stands still, either sign; 0: none
	Negative bool    // the pull counts downward
	Dropped  float64 // share of rows missing, singly and in runs
	Spikes   int     // readings that are wildly wrong
	SpikeMax float64 // N: the largest of them
}

// Pull makes one pull and gives its record and its truth. The seed decides
// hand, roughness and noise; the same rig and seed give the same pull.
func (r Rig) Pull(seed uint64) (trial.Trace, trial.Sim) {
	trace, track := r.run(seed)
	return trace, track.truth(r)
}

// run integrates one pull.
func (r Rig) run(seed uint64) (trial.Trace, *track) {
	m := newMotion(r, rand.New(rand.NewPCG(seed, 1)), rand.New(rand.NewPCG(seed, 2)))
	c := newChain(r.Cell, m.dt, rand.New(rand.NewPCG(seed, 3)))
	k := newTrack()
	for !m.hand.done {
		m.step()
		c.read(m.t, m.tension)
		k.add(m)
	}
	k.close()
	k.endAt = c.endAt
	return c.trace(rand.New(rand.NewPCG(seed, 4))), k
}
