// Package clamp estimates the clamp force of a screw vise from what a person
// can hang on its handle.
//
// A weight on the handle makes a torque; the torque turns the screw against
// friction in the thread and under the collar; what is left presses the jaws.
// Thread and collar friction are known only as ranges, so the force is
// uncertain by tens of percent. That uncertainty is the same for every facing
// clamped with the same weight, so it cancels in ratios.
package clamp

import (
	"errors"
	"fmt"
	"math"

	"griptrial/analysis/trial"
)

// ErrUnknown says that a clamp force cannot be given; ratios between facings
// at one level need none.
var ErrUnknown = errors.New("clamp force is not known")

// Range is a clamp force in N that friction leaves uncertain.
type Range struct {
	Value float64 // N at the middle of the friction ranges
	Low   float64 // N at the greatest friction: what surely holds
	High  float64 // N at the least friction: what the part may have to bear
}

// Torque is the torque in N·m of a weight in kg on the handle:
//
//	T = g·(weight·Arm + Mass·MassArm)·cos(Tilt)
//
// with local gravity where the place is given. The weight must hang freely and
// the handle be brought up to it from below.
// Errors: a negative or missing weight, arm or mass; a tilt of 90° or more; a
// place that is none; no torque at all.
func Torque(h trial.Handle, weight float64) (float64, error) {
	g, err := checkHandle(h)
	if err != nil {
		return 0, err
	}
	if !(weight >= 0) || math.IsInf(weight, 0) {
		return 0, fmt.Errorf("weight on the handle: must not be below 0, got %.6g kg", weight)
	}
	t := g * (weight*h.Arm + h.Mass*h.MassArm) * math.Cos(h.Tilt)
	if t <= 0 {
		return 0, errors.New("weight on the handle: no weight, no torque")
	}
	return t, nil
}

func checkHandle(h trial.Handle) (g float64, err error) {
	switch {
	case !positive(h.Arm):
		return 0, fmt.Errorf("handle arm: must be above 0, got %.6g m", h.Arm)
	case !(h.Mass >= 0) || math.IsInf(h.Mass, 0):
		return 0, fmt.Errorf("mass of the handle: must not be below 0, got %.6g kg", h.Mass)
	case !(h.MassArm >= 0) || math.IsInf(h.MassArm, 0):
		return 0, fmt.Errorf("arm of the handle's own mass: must not be below 0, got %.6g m", h.MassArm)
	case !(math.Abs(h.Tilt) < math.Pi/2):
		return 0, fmt.Errorf("handle tilt: must lie between -90° and 90°, got %.6g°", h.Tilt*180/math.Pi)
	}
	return GravityAt(h)
}

// ForceAt is the clamp force in N that a torque in N·m makes at the thread
// friction f and the collar friction fc.
func ForceAt(s trial.Screw, torque, f, fc float64) (float64, error) {
	k, err := TorquePerForce(s, f, fc)
	if err != nil {
		return 0, err
	}
	if !positive(torque) {
		return 0, fmt.Errorf("torque: must be above 0, got %.6g N·m", torque)
	}
	return torque / k, nil
}

// Force is the clamp force on each jaw of a weight in kg on the handle: at the
// middle and at both ends of the screw's friction ranges. A range whose upper
// end is zero is the single value of its lower end.
// Errors: those of Torque and TorquePerForce, a range the wrong way round, and
// ErrUnknown where the arm or the screw is not described.
func Force(h trial.Handle, s trial.Screw, weight float64) (Range, error) {
	if h.Arm == 0 {
		return Range{}, fmt.Errorf("%w: the arm of the handle is not given", ErrUnknown)
	}
	if !Known(s) {
		return Range{}, fmt.Errorf("%w: the screw is not described", ErrUnknown)
	}
	torque, err := Torque(h, weight)
	if err != nil {
		return Range{}, err
	}
	thread, collar, err := frictions(s)
	if err != nil {
		return Range{}, err
	}
	var r Range
	for _, at := range []struct {
		to    *float64
		f, fc float64
	}{
		{&r.Value, thread.Middle(), collar.Middle()},
		{&r.Low, thread.High, collar.High},
		{&r.High, thread.Low, collar.Low},
	} {
		if *at.to, err = ForceAt(s, torque, at.f, at.fc); err != nil {
			return Range{}, err
		}
	}
	return r, nil
}

// OfLevel is the clamp force of a clamp level: as measured, or else from the
// weight on the handle. Where neither can be had the error wraps ErrUnknown and
// says what is missing; facings may still be compared at one level.
func OfLevel(l trial.Level, h trial.Handle, s trial.Screw) (Range, error) {
	if l.Clamp != 0 {
		if !positive(l.Clamp) {
			return Range{}, fmt.Errorf("clamp level %q: force must be above 0, got %.6g N", l.Name, l.Clamp)
		}
		return Range{l.Clamp, l.Clamp, l.Clamp}, nil
	}
	if l.Weight == 0 {
		return Range{}, fmt.Errorf("clamp level %q: %w: neither a measured force nor a weight on the handle is given", l.Name, ErrUnknown)
	}
	r, err := Force(h, s, l.Weight)
	if err != nil {
		return Range{}, fmt.Errorf("clamp level %q: %w", l.Name, err)
	}
	return r, nil
}

// WeightFor is the weight in kg on the handle that makes the clamp force in N
// at the thread friction f and the collar friction fc: the inverse of Torque
// and ForceAt.
// Errors: theirs, a force that is not above 0, and a force that the handle's
// own mass exceeds already.
func WeightFor(h trial.Handle, s trial.Screw, force, f, fc float64) (float64, error) {
	g, err := checkHandle(h)
	if err != nil {
		return 0, err
	}
	k, err := TorquePerForce(s, f, fc)
	if err != nil {
		return 0, err
	}
	if !positive(force) {
		return 0, fmt.Errorf("clamp force: must be above 0, got %.6g N", force)
	}
	w := (force*k/(g*math.Cos(h.Tilt)) - h.Mass*h.MassArm) / h.Arm
	if w < 0 {
		return 0, fmt.Errorf("clamp force %.4g N: the handle's own mass makes more already", force)
	}
	return w, nil
}

// WeightForMiddle is the weight in kg that makes the clamp force in N at the
// middle of both friction ranges.
func WeightForMiddle(h trial.Handle, s trial.Screw, force float64) (float64, error) {
	thread, collar, err := frictions(s)
	if err != nil {
		return 0, err
	}
	return WeightFor(h, s, force, thread.Middle(), collar.Middle())
}

// WeightForSpare is the weight in kg that makes at most the clamp force in N
// whatever the friction within its ranges: the least friction decides.
func WeightForSpare(h trial.Handle, s trial.Screw, force float64) (float64, error) {
	thread, collar, err := frictions(s)
	if err != nil {
		return 0, err
	}
	return WeightFor(h, s, force, thread.Low, collar.Low)
}
