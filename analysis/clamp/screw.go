package clamp

import (
	"fmt"
	"math"

	"griptrial/analysis/trial"
)

// Known reports whether the screw is described at all.
func Known(s trial.Screw) bool { return s.PitchDiameter != 0 }

// TorquePerForce is the torque in N·m that each newton of clamp force asks of
// the screw while it is tightened; its unit is m:
//
//	K = (d/2)·(l + π·f·d·s)/(π·d − f·l·s) + fc·dc/2,  s = 1/cos(half flank angle)
//
// d pitch diameter, l lead, dc mean collar diameter, all in m; f thread
// friction, fc collar friction. The ranges of friction in the screw are not
// looked at; f and fc are arguments.
// It leaves out friction of the moving jaw in its ways, its lifting, and the
// flank angle in the normal section (negligible below 6° of lead).
// Errors: a length that is not above 0, thread friction that is not above 0,
// a half flank angle outside 0 to 45°, a screw so steep and rough that no
// torque turns it.
// Source: power-screw formula of machine-design textbooks; tested against
// printed examples of Shigley, Bhandari, Khurmi and Gupta.
func TorquePerForce(s trial.Screw, f, fc float64) (float64, error) {
	if err := checkScrew(s, f, fc); err != nil {
		return 0, err
	}
	sec := 1 / math.Cos(s.HalfFlank)
	below := math.Pi*s.PitchDiameter - f*s.Lead*sec
	if below <= 0 {
		return 0, fmt.Errorf("thread friction %.4g with lead %.4g m on pitch diameter %.4g m: no torque turns this screw", f, s.Lead, s.PitchDiameter)
	}
	return torquePerForce(s.PitchDiameter, s.Lead, sec, f, fc*s.CollarDiameter/2), nil
}

// torquePerForce is the bare formula; collar is fc·dc/2.
func torquePerForce(d, lead, sec, f, collar float64) float64 {
	return d/2*(lead+math.Pi*f*d*sec)/(math.Pi*d-f*lead*sec) + collar
}

// LooseningTorquePerForce is the torque in N·m that each newton of clamp force
// asks for while the screw is let go; its unit is m:
//
//	(d/2)·(π·f·d·s − l)/(π·d + f·l·s) + fc·dc/2
//
// A value below zero means that the screw runs back by itself. Arguments,
// errors and source are those of TorquePerForce.
func LooseningTorquePerForce(s trial.Screw, f, fc float64) (float64, error) {
	if err := checkScrew(s, f, fc); err != nil {
		return 0, err
	}
	sec := 1 / math.Cos(s.HalfFlank)
	return torquePerForce(s.PitchDiameter, -s.Lead, sec, f, fc*s.CollarDiameter/2), nil
}

// Efficiency is the share of the torque that makes clamp force rather than
// heat: l/(2πK).
func Efficiency(s trial.Screw, f, fc float64) (float64, error) {
	k, err := TorquePerForce(s, f, fc)
	if err != nil {
		return 0, err
	}
	return s.Lead / (2 * math.Pi * k), nil
}

func checkScrew(s trial.Screw, f, fc float64) error {
	switch {
	case !positive(s.PitchDiameter):
		return fmt.Errorf("pitch diameter of the screw: must be above 0, got %.6g m", s.PitchDiameter)
	case !positive(s.Lead):
		return fmt.Errorf("lead of the screw: must be above 0, got %.6g m", s.Lead)
	case !(s.HalfFlank >= 0 && s.HalfFlank <= math.Pi/4):
		return fmt.Errorf("half flank angle: must lie between 0° and 45°, got %.6g°", s.HalfFlank*180/math.Pi)
	case !positive(f):
		return fmt.Errorf("thread friction: must be above 0, got %.6g", f)
	case f > 2 || fc > 2:
		return fmt.Errorf("screw friction: must not be above 2, got thread %.6g and collar %.6g", f, fc)
	case !(fc >= 0):
		return fmt.Errorf("collar friction: must not be below 0, got %.6g", fc)
	case fc > 0 && !positive(s.CollarDiameter):
		return fmt.Errorf("collar friction %.6g needs the mean collar diameter", fc)
	case !(s.CollarDiameter >= 0) || math.IsInf(s.CollarDiameter, 0):
		return fmt.Errorf("collar diameter: must not be below 0, got %.6g m", s.CollarDiameter)
	}
	return nil
}

// positive is false for NaN and infinities too.
func positive(v float64) bool { return v > 0 && !math.IsInf(v, 0) }
