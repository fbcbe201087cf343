package clamp

import (
	"errors"
	"fmt"
	"math"

	"griptrial/analysis/trial"
	"griptrial/analysis/uncertainty"
)

// Rig is a handle and a screw of which every quantity may be known only
// between two ends, anywhere equally likely.
type Rig struct {
	Torque Band // N·m, from a torque wrench; zero: the weight makes it

	Weight     Band // kg
	Arm        Band // m
	HandleMass Band // kg
	HandleArm  Band // m
	Tilt       Band // rad
	Gravity    float64

	PitchDiameter  Band // m
	Lead           Band // m
	HalfFlank      Band // rad
	Thread         Band
	Collar         Band
	CollarDiameter Band // m
	// SameGrease: one grease in both places, so that thread and collar friction
	// are one unknown; Thread is it and Collar is not looked at.
	SameGrease bool
}

// RigOf is the rig of a study with a known weight in kg.
func RigOf(h trial.Handle, s trial.Screw, weight float64) (Rig, error) {
	g, err := GravityAt(h)
	if err != nil {
		return Rig{}, err
	}
	thread, collar, err := frictions(s)
	return Rig{
		Weight: Exactly(weight), Arm: Exactly(h.Arm), HandleMass: Exactly(h.Mass), HandleArm: Exactly(h.MassArm),
		Tilt: Exactly(h.Tilt), Gravity: g,
		PitchDiameter: Exactly(s.PitchDiameter), Lead: Exactly(s.Lead), HalfFlank: Exactly(s.HalfFlank),
		Thread: thread, Collar: collar, CollarDiameter: Exactly(s.CollarDiameter),
	}, err
}

// at is the rig with every quantity at one place of its band.
func (r Rig) at(pick func(Band) float64) (trial.Handle, trial.Screw, float64) {
	h := trial.Handle{Arm: pick(r.Arm), Mass: pick(r.HandleMass), MassArm: pick(r.HandleArm), Tilt: pick(r.Tilt)}
	s := trial.Screw{
		PitchDiameter: pick(r.PitchDiameter), Lead: pick(r.Lead), HalfFlank: pick(r.HalfFlank),
		ThreadLow: pick(r.Thread), CollarLow: pick(r.Collar), CollarDiameter: pick(r.CollarDiameter),
	}
	if r.SameGrease {
		s.CollarLow = s.ThreadLow
	}
	return h, s, pick(r.Weight)
}

// Nominal is the torque in N·m, the clamp force in N and the efficiency with
// every quantity at the middle of its band.
// Errors: those of Torque and TorquePerForce, at the middle or at either end of
// the bands; a band written high end first.
func (r Rig) Nominal() (torque, force, efficiency float64, err error) {
	for _, b := range r.bands() {
		if b.High < b.Low {
			return 0, 0, 0, fmt.Errorf("range %.6g..%.6g: write the lower end first", b.Low, b.High)
		}
	}
	for _, pick := range []func(Band) float64{func(b Band) float64 { return b.Low }, func(b Band) float64 { return b.High }, Band.Middle} {
		h, s, weight := r.at(pick)
		k, err := TorquePerForce(s, s.ThreadLow, s.CollarLow)
		if err != nil {
			return 0, 0, 0, err
		}
		if torque = pick(r.Torque); torque == 0 {
			if torque, err = Torque(h, weight); err != nil {
				return 0, 0, 0, err
			}
			torque *= r.Gravity / StandardGravity
		}
		if !positive(torque) {
			return 0, 0, 0, fmt.Errorf("torque: must be above 0, got %.6g N·m", torque)
		}
		force, efficiency = torque/k, s.Lead/(2*math.Pi*k)
	}
	return torque, force, efficiency, nil
}

func (r *Rig) bands() []*Band {
	return []*Band{&r.Torque, &r.Weight, &r.Arm, &r.HandleMass, &r.HandleArm, &r.Tilt,
		&r.PitchDiameter, &r.Lead, &r.HalfFlank, &r.Thread, &r.Collar, &r.CollarDiameter}
}

// Spread is how the clamp force in N is distributed when every quantity is
// anywhere in its band, by Monte Carlo with the given seed. Where nothing is
// uncertain it is a single value.
func (r Rig) Spread(o uncertainty.Options) (uncertainty.Distribution, error) {
	_, force, _, err := r.Nominal()
	if err != nil {
		return uncertainty.Distribution{}, err
	}
	draws, err := r.Draw(o)
	if err != nil {
		return uncertainty.Distribution{}, err
	}
	if draws == nil {
		return uncertainty.Distribution{Mean: force, Median: force, Lower: force, Upper: force, ShortestLow: force, ShortestHigh: force, Seed: o.Seed}, nil
	}
	if o.Confidence == 0 {
		o.Confidence = 0.95
	}
	d := uncertainty.Summarise(draws, o.Confidence)
	d.Seed = o.Seed
	if d.Lower <= 0 {
		return d, errors.New("these ranges reach where the screw makes no clamp force")
	}
	return d, nil
}

// Draw gives clamp forces in N drawn at random, every quantity anywhere in its
// band; nil where nothing is uncertain.
func (r Rig) Draw(o uncertainty.Options) ([]float64, error) {
	inputs, slots, now := r.inputs()
	if len(inputs) == 0 {
		return nil, nil
	}
	return uncertainty.Sample(inputs, func(x []float64) float64 {
		for i, v := range x {
			*slots[i] = v
		}
		return now.lowForce()
	}, o)
}

// Budget is the first-order budget of the logarithm of the clamp force, so that
// its contributions are relative: u(N)/N for each quantity that is a band.
// Errors: those of Nominal; none of the quantities is uncertain.
func (r Rig) Budget() (uncertainty.Budget, error) {
	if _, _, _, err := r.Nominal(); err != nil {
		return uncertainty.Budget{}, err
	}
	inputs, slots, now := r.inputs()
	return uncertainty.Propagate(inputs, func(x []float64) float64 {
		for i, v := range x {
			*slots[i] = v
		}
		return math.Log(now.lowForce())
	}, nil, 0)
}

// inputs are the quantities that are bands, and where their values go in now.
func (r Rig) inputs() (inputs []uncertainty.Input, slots []*float64, now *Rig) {
	now = &r
	for i, b := range now.bands() {
		if b.Low < b.High && !(r.SameGrease && b == &now.Collar) {
			inputs = append(inputs, uncertainty.Uniform(bandNames[i], b.Low, b.High))
			slots = append(slots, &b.Low)
		}
	}
	return inputs, slots, now
}

var bandNames = [...]string{"torque", "weight", "arm", "handle mass", "handle arm", "tilt",
	"pitch diameter", "lead", "half flank angle", "thread friction", "collar friction", "collar diameter"}

// lowForce is the clamp force with every quantity at its low end, unchecked.
func (r *Rig) lowForce() float64 {
	t := r.Torque.Low
	if t == 0 {
		t = r.Gravity * (r.Weight.Low*r.Arm.Low + r.HandleMass.Low*r.HandleArm.Low) * math.Cos(r.Tilt.Low)
	}
	fc := r.Collar.Low
	if r.SameGrease {
		fc = r.Thread.Low
	}
	return t / torquePerForce(r.PitchDiameter.Low, r.Lead.Low, 1/math.Cos(r.HalfFlank.Low), r.Thread.Low, fc*r.CollarDiameter.Low/2)
}
