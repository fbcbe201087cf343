package simrig

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"

	"griptrial/analysis/trial"
)

// Shop is the simulated shop of the demo: a vise, four facings of which two
// samples each exist, handle weights, a lever or straight pull, and a load
// cell. It mills cast-acrylic blanks, 60 x 30 x 10 mm, gripped 3 mm deep on
// the long edges.
//
// All numbers are invented (see the package comment).
type Shop struct {
	Seed     uint64 // which shop: fixes the samples and how they differ
	Facings  []ShopFacing
	Levels   []ShopLevel
	Setup    trial.PullSetup
	Tighten  float64 // relative sd of the clamp force at one handle weight
	Scatter  float64 // relative sd of friction from clamping to clamping
	TieFails float64 // probability that the tie of a pull lets go
	Cell     ShopCell
}

// ShopFacing is how one facing grips.
type ShopFacing struct {
	Name     string
	Samples  []string
	Static   float64 // friction coefficient at 1300 N on a face
	Drop     float64 // share of it lost in a slip
	Healing  float64 // s; 0: slides on smoothly
	Creeps   bool    // gives way gradually
	Pressure float64 // exponent of the coefficient in clamp force
	Between  float64 // relative sd between samples
	Wear     float64 // relative loss with each clamping
}

// ShopLevel is a handle weight and the clamp force it really makes.
type ShopLevel struct {
	Name   string
	Weight float64 // kg
	Clamp  float64 // N on one face, the mean of many tightenings
}

// ShopCell is the load cell and its converter.
type ShopCell struct {
	Rate     float64 // conversions/s
	Capacity float64 // N; the operator stops there
	Span     float64 // counts/N
	Zero     float64 // counts with nothing hanging
	Noise    float64 // counts rms
}

// The patch of the blank between the jaws, and the lever on it.
const (
	patchLong  = 60e-3  // m
	patchHigh  = 3e-3   // m
	leverArm   = 100e-3 // m
	clampScale = 1300.0 // N at which the facings' coefficients are stated
)

// DefaultShop is the shop that the demo visits. The blank is turned out of the
// jaws by a lever, so that a hand or a small cell can do it.
//
// Clamp forces are those of a screw of 18 mm pitch diameter and 4 mm lead,
// half flank 15 degrees, thread friction 0.15, collar friction 0.12 at 24 mm,
// with a weight at 150 mm and a handle of 0.2 kg at 70 mm.
func DefaultShop() Shop {
	return Shop{
		Seed: 1,
		Facings: []ShopFacing{
			{Name: "ground steel", Samples: []string{"1", "2"}, Static: 0.15, Drop: 0.25, Healing: 1, Between: 0.03},
			{Name: "P240 cloth", Samples: []string{"1", "2"}, Static: 0.45, Drop: 0.3, Between: 0.04, Wear: 0.008},
			{Name: "polyurethane sheet", Samples: []string{"1", "2"}, Static: 0.50, Creeps: true, Pressure: -0.08, Between: 0.03},
			{Name: "cross-cut serration", Samples: []string{"1", "2"}, Static: 0.30, Drop: 0.4, Between: 0.05, Wear: 0.001},
		},
		Levels: []ShopLevel{
			{Name: "light", Weight: 1.5, Clamp: 670.5},
			{Name: "usual", Weight: 3, Clamp: 1301.9},
			{Name: "firm", Weight: 5, Clamp: 2143.7},
		},
		Setup: trial.PullSetup{
			How: "twist", Arm: leverArm, Patch: "rectangle 60 mm x 3 mm", Faces: 2,
		},
		Tighten:  0.03,
		Scatter:  0.035,
		TieFails: 0.03,
		Cell:     ShopCell{Rate: 80, Capacity: 300, Span: 13500, Zero: 21400, Noise: 60},
	}
}

// Straight gives the same shop with a straight pull and a cell for ten times
// the force.
func (s Shop) Straight() Shop {
	s.Setup = trial.PullSetup{How: "straight", Patch: "", Faces: 2}
	s.Cell.Capacity *= 10
	s.Cell.Span /= 10
	return s
}

// GripFactor is the share of the friction that resists this way of pulling: 1
// for a straight pull, r_eff/arm for a pure twist of a rectangle a × b under
// even pressure, with
//
//	r_eff = d/6 + [(a²/b)·asinh(b/a) + (b²/a)·asinh(a/b)]/12,   d = hypot(a, b).
func (s Shop) GripFactor() float64 {
	if s.Setup.How == "straight" {
		return 1
	}
	const a, b = patchLong, patchHigh
	r := math.Hypot(a, b)/6 + (a*a/b*math.Asinh(b/a)+b*b/a*math.Asinh(a/b))/12
	return r / math.Abs(s.Setup.Arm)
}

// Sample is one conversion of the device: its clock and its counts.
type Sample struct {
	Time   float64 // s since the device began to convert
	Counts int32
}

// ShopPull is one pull made in the shop.
type ShopPull struct {
	Samples []Sample
	Truth   trial.Sim // SlipTime counts from the first sample's clock
	TieLost bool      // the tie let go: the pull is void
	Clamp   float64   // N that the tightening really gave
	Mu      float64   // friction coefficient that this clamping really had
}

// Pull makes one pull: facing, sample and level by name, clampings how often
// that sample was clamped before. The seed decides tightening, scatter, hand
// and noise.
func (s Shop) Pull(facing, sample, level string, clampings int, seed uint64) (ShopPull, error) {
	f, err := s.facing(facing, sample)
	if err != nil {
		return ShopPull{}, err
	}
	l, err := s.level(level)
	if err != nil {
		return ShopPull{}, err
	}
	rng := rand.New(rand.NewPCG(seed, 0xc1a3))
	clamp := l.Clamp * math.Exp(s.Tighten*rng.NormFloat64())
	mu := f.Static * math.Pow(l.Clamp/clampScale, f.Pressure) *
		math.Exp(f.Between*s.sampleEffect(facing, sample)-f.Wear*float64(clampings)+s.Scatter*rng.NormFloat64())
	rig := s.rig(f, clamp, mu, rng)
	trace, track := rig.run(seed)
	pull := ShopPull{Clamp: clamp, Mu: mu, Truth: track.truth(rig), TieLost: !math.IsNaN(track.lostAt)}
	pull.Samples = make([]Sample, len(trace.T))
	for i := range trace.T {
		pull.Samples[i] = Sample{Time: trace.T[i], Counts: s.Cell.counts(trace.Force[i])}
	}
	return pull, nil
}

// rig is the shop's rig for one clamping.
func (s Shop) rig(f ShopFacing, clamp, mu float64, rng *rand.Rand) Rig {
	phi := s.GripFactor()
	breaks := 2 * mu * clamp * phi
	stiffness := s.Cell.Capacity / 18e-3
	// A good hand takes some four seconds, whatever the force.
	rate := math.Max(0.03*s.Cell.Capacity, math.Min(0.2*s.Cell.Capacity, breaks/4)) * math.Exp(0.15*rng.NormFloat64())
	speed := rate / stiffness
	r := Rig{
		Drive: Drive{
			Idle: 1 + 0.3*rng.Float64(), Speed: speed, Wobble: 0.12, Soft: 0.1,
			StopForce: 0.985 * s.Cell.Capacity, AfterSlip: speed * (2.6 + 0.6*rng.Float64()), Hold: 0.3,
			Release: 0.03, Rest: 1, Longest: 20,
		},
		Link: Link{Stiffness: stiffness, Toe: 1e-3, Damping: 1e-3},
		Part: Part{Mass: stiffness * 8e-6}, // a sharp fall takes some ten milliseconds
		Jaws: Jaws{
			Clamp: clamp, GripFactor: phi, Static: mu, Kinetic: mu * (1 - f.Drop), RateEffect: 0.001 * mu,
			Weakening: 15e-6, Healing: f.Healing, Contact: 25 * stiffness, Rough: 0.01,
		},
		Cell: Cell{Rate: s.Cell.Rate, Filter: 1, Noise: s.Cell.Noise / s.Cell.Span, Jitter: 0.0004},
	}
	if f.Creeps {
		r.Jaws.RateEffect = 0.012 * mu
		r.Jaws.Hardening = 0.1 * stiffness
		r.Jaws.Rough = 0.002
	}
	if rng.Float64() < s.TieFails {
		r.Link.LetsGo = min(breaks, s.Cell.Capacity) * (0.5 + 0.4*rng.Float64())
		r.Drive.Longest = 5
	}
	return r
}

// Hang gives the counts of the cell with a weight of force newtons hanging at
// rest, as a calibration reads them: the mean of a second.
func (s Shop) Hang(force float64, seed uint64) int32 {
	rng := rand.New(rand.NewPCG(seed, 0xca1))
	n := math.Max(1, s.Cell.Rate)
	return s.Cell.counts(force + s.Cell.Noise/s.Cell.Span/math.Sqrt(n)*rng.NormFloat64())
}

// counts is what the converter gives at a force; it cannot pass 24 bits.
func (c ShopCell) counts(force float64) int32 {
	const most = 1<<23 - 1
	return int32(math.Max(-most-1, math.Min(most, math.Round(c.Zero+c.Span*force))))
}

// Force is the force at some counts, by the cell's true span.
func (c ShopCell) Force(counts int32) float64 { return (float64(counts) - c.Zero) / c.Span }

// sampleEffect is the standard normal by which one sample differs.
func (s Shop) sampleEffect(facing, sample string) float64 {
	h := fnv.New64a()
	h.Write([]byte(facing + "\x00" + sample))
	return rand.New(rand.NewPCG(s.Seed, h.Sum64())).NormFloat64()
}

func (s Shop) facing(name, sample string) (ShopFacing, error) {
	for _, f := range s.Facings {
		if f.Name != name {
			continue
		}
		for _, have := range f.Samples {
			if have == sample {
				return f, nil
			}
		}
		return f, fmt.Errorf("the simulated shop has samples %v of %s, not %q", f.Samples, name, sample)
	}
	var names []string
	for _, f := range s.Facings {
		names = append(names, f.Name)
	}
	return ShopFacing{}, fmt.Errorf("the simulated shop has no facing %q; it has %v", name, names)
}

func (s Shop) level(name string) (ShopLevel, error) {
	var names []string
	for _, l := range s.Levels {
		if l.Name == name {
			return l, nil
		}
		names = append(names, l.Name)
	}
	return ShopLevel{}, fmt.Errorf("the simulated shop has no clamp level %q; it has %v", name, names)
}

// knows checks the names of an order.
func (s Shop) knows(o Order) error {
	if _, err := s.facing(o.Facing, o.Sample); err != nil {
		return err
	}
	_, err := s.level(o.Level)
	return err
}
