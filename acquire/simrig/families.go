package simrig

import (
	"math"
	"math/rand/v2"
)

// draw is a rig being drawn, with the quantities its families turn on.
type draw struct {
	*Rig
	rng     *rand.Rand
	force   float64 // N at which the part is to slip at the latest
	stretch float64 // m of link at that force
	ramp    float64 // s of steady pulling to get there
	hand    bool
}

// families is every kind of pull, with what makes it so.
var families = []struct {
	name  string
	about string
	shape func(*draw)
}{
	{"sharp", "one sharp fall, then steady sliding", (*draw).sharp},
	{"stick-slip", "breaking away and catching again and again", (*draw).stickSlip},
	{"creep", "giving way gradually, with a knee and no peak", (*draw).creep},
	{"small-drop", "a faint fall followed by a flat top", (*draw).smallDrop},
	{"slip-then-higher", "a slip, then friction that grows beyond the first peak", (*draw).thenHigher},
	{"jams", "a slip, then a stop that the part runs against", (*draw).jams},
	{"leaves-jaws", "a part that leaves the jaws, at once or after sliding", (*draw).leaves},
	{"tie-lost-before", "the tie lets go before the part moves", (*draw).tieBefore},
	{"tie-lost-after", "the tie lets go while the part slides", (*draw).tieAfter},
	{"tie-seating", "knots that settle on the way up", (*draw).seating},
	{"flex", "a part whose flexing changes the stiffness on the way up", (*draw).flex},
	{"jerky", "pauses and partial unloading, slipped or held", (*draw).jerky},
	{"held-letdown", "loaded and let down", (*draw).heldLetDown},
	{"held-end", "loaded until the record ends", (*draw).heldEnd},
	{"saturated", "the end of the scale, before, at or after the slip", (*draw).saturated},
}

// Families lists the kinds of pull that Draw knows.
func Families() []string {
	var names []string
	for _, f := range families {
		names = append(names, f.name)
	}
	return names
}

// Draw gives a random rig of a family. The same family and seed give the same
// rig. It panics on a family that Families does not list.
func Draw(family string, seed uint64) Rig {
	for i, f := range families {
		if f.name == family {
			d := newDraw(rand.New(rand.NewPCG(seed, 0x5151+uint64(i))))
			f.shape(d)
			d.operator()
			d.cell()
			return *d.Rig
		}
	}
	panic("simrig: unknown family " + family)
}

// between is uniform, around is uniform in the logarithm, chance is a coin.
func (d *draw) between(a, b float64) float64 { return a + (b-a)*d.rng.Float64() }
func (d *draw) around(a, b float64) float64  { return a * math.Pow(b/a, d.rng.Float64()) }
func (d *draw) chance(p float64) bool        { return d.rng.Float64() < p }

// newDraw draws what every family needs: a force, a link, a part, jaws.
func newDraw(rng *rand.Rand) *draw {
	d := &draw{Rig: &Rig{}, rng: rng}
	d.force = d.around(8, 900)
	d.stretch = d.around(4e-3, 40e-3)
	d.ramp = d.around(0.7, 9)
	d.Link.Stiffness = d.force / d.stretch
	d.Link.Damping = d.around(0.5e-3, 3e-3)
	if d.chance(0.6) {
		d.Link.Toe = d.stretch * d.around(0.02, 0.6)
	}
	// The time of half a swing of part and link is that of a sharp fall.
	fall := d.around(2e-3, 50e-3)
	d.Part.Mass = d.Link.Stiffness * (fall / math.Pi) * (fall / math.Pi)
	d.Jaws.Contact = d.Link.Stiffness * d.around(20, 60)
	d.Jaws.Static = d.around(0.1, 0.6)
	if d.chance(0.4) { // pulled by a lever: only a share of the friction resists
		d.Jaws.GripFactor = d.between(0.1, 0.5)
	} else {
		d.Jaws.GripFactor = 1
	}
	d.Jaws.Clamp = d.force / (2 * d.Jaws.GripFactor * d.Jaws.Static)
	d.Jaws.Rough = d.around(0.002, 0.03)
	d.Jaws.RoughOver = d.stretch * d.around(0.01, 0.06)
	return d
}

// falls sets how far friction falls in a slip and how hard speed counts.
func (d *draw) falls(share float64) {
	d.Jaws.Kinetic = d.Jaws.Static * (1 - share)
	d.Jaws.Weakening = d.stretch * d.around(0.0005, 0.004)
	d.Jaws.RateEffect = d.Jaws.Static * share * d.around(0.002, 0.01)
}

func (d *draw) sharp() {
	d.falls(d.between(0.12, 0.5))
	if d.chance(0.3) {
		d.Jaws.Healing = d.around(30, 300)
	}
}

func (d *draw) stickSlip() {
	share := d.between(0.12, 0.5)
	d.falls(share)
	// Teeth last if the friction that came back during a reload is more than
	// the reload itself: healing time below about 2·share·ramp.
	d.Jaws.Healing = d.ramp * share * d.around(0.15, 1)
	d.Drive.AfterSlip = d.stretch * d.between(1.2, 3)
}

func (d *draw) creep() {
	d.Jaws.Kinetic = d.Jaws.Static
	d.Jaws.RateEffect = d.Jaws.Static * d.around(0.004, 0.03)
	d.Jaws.Hardening = d.Link.Stiffness * d.around(0.03, 0.25)
	d.Jaws.Rough = d.around(0.001, 0.006)
	d.Drive.AfterSlip = d.stretch * d.between(0.3, 1)
}

func (d *draw) smallDrop() {
	d.falls(d.around(0.006, 0.06))
	d.Jaws.Rough = d.around(0.001, 0.008)
	if d.chance(0.4) {
		d.Jaws.Healing = d.around(3, 300)
	}
}

func (d *draw) thenHigher() {
	d.falls(d.between(0.06, 0.25))
	d.Jaws.Hardening = d.Link.Stiffness * d.around(0.15, 0.5)
	d.Drive.AfterSlip = d.stretch * d.between(1, 3)
}

func (d *draw) jams() {
	d.falls(d.between(0.08, 0.35))
	d.Jaws.Stop = d.stretch * d.between(0.4, 1.2)
	d.Drive.AfterSlip = d.Jaws.Stop + d.stretch*d.between(0.3, 0.9)
}

func (d *draw) leaves() {
	d.falls(d.between(0.1, 0.4))
	if d.chance(0.5) {
		d.Jaws.Leaves = d.stretch * d.between(0.1, 0.35) // out in one go
	} else {
		d.falls(d.between(0.03, 0.2))
		d.Jaws.Leaves = d.stretch * d.between(1.2, 2)
	}
	d.Drive.AfterSlip = d.Jaws.Leaves + d.stretch*d.between(0.05, 0.5)
}

func (d *draw) tieBefore() {
	d.falls(d.between(0.1, 0.4))
	d.Link.LetsGo = d.force * d.between(0.3, 0.92)
	d.Drive.Longest = d.ramp * d.between(1.1, 2)
}

func (d *draw) tieAfter() {
	d.falls(d.around(0.02, 0.35))
	d.Link.LetsGoAt = d.stretch * d.between(0.6, 1.6)
	d.Drive.AfterSlip = d.Link.LetsGoAt + d.stretch*0.3
}

func (d *draw) seating() {
	d.falls(d.between(0.1, 0.45))
	at := d.force * d.between(0.2, 0.5)
	for range 1 + d.rng.IntN(3) {
		d.Link.Seats = append(d.Link.Seats, Seat{
			Force: at, Give: d.stretch * d.around(0.01, 0.08), Time: d.around(5e-3, 60e-3),
		})
		at += d.force * d.between(0.08, 0.2)
	}
	if last := d.Link.Seats[len(d.Link.Seats)-1].Force; last > 0.88*d.force {
		d.Link.Seats = d.Link.Seats[:len(d.Link.Seats)-1]
	}
	if d.chance(0.25) {
		d.Drive.StopForce = d.force * d.between(0.9, 0.96)
	}
}

func (d *draw) flex() {
	at, ratio := d.force*d.between(0.3, 0.55), d.between(0.35, 0.75)
	d.Part.Flex = []Bend{{Force: at, Ratio: ratio}}
	if d.chance(0.6) {
		d.Part.Flex = append(d.Part.Flex, Bend{Force: at + d.force*d.between(0.15, 0.3), Ratio: d.between(0.8, 1.3)})
	}
	switch d.rng.IntN(3) {
	case 0:
		d.stickSlip()
	case 1:
		d.sharp()
	default:
		d.sharp()
		d.Drive.StopForce = d.force * d.between(0.75, 0.95)
	}
}

func (d *draw) jerky() {
	d.falls(d.between(0.05, 0.4))
	at := 0.0
	for range 2 + d.rng.IntN(6) {
		at += d.stretch * d.between(0.05, 0.3)
		j := Jerk{Travel: at, Pause: d.around(0.05, 0.8)}
		if d.chance(0.6) {
			j.Back = min(at, d.stretch*d.around(0.02, 0.5))
		}
		d.Drive.Jerks = append(d.Drive.Jerks, j)
	}
	if d.chance(0.5) {
		d.Drive.StopForce = d.force * d.between(0.7, 0.95)
	}
}

func (d *draw) heldLetDown() {
	d.falls(d.between(0.05, 0.4))
	d.Drive.StopForce = d.force * d.between(0.4, 0.93)
	d.Drive.Release = d.stretch / d.around(0.2, 1.5)
}

func (d *draw) heldEnd() {
	d.falls(d.between(0.05, 0.4))
	d.Drive.StopForce = d.force * d.between(0.4, 0.93)
	d.Drive.Release = -1
}

func (d *draw) saturated() {
	d.falls(d.between(0.1, 0.5))
	switch d.rng.IntN(3) {
	case 0: // held beyond the end of the scale
		d.Drive.StopForce = d.force * d.between(0.7, 0.93)
		d.Cell.ScaleEnd = d.Drive.StopForce * d.between(0.6, 0.97)
	case 1: // slipped beyond it
		d.Cell.ScaleEnd = d.force * d.between(0.6, 0.95)
	default: // slipped just below it
		d.Cell.ScaleEnd = d.force * d.between(1.03, 1.2)
	}
}
