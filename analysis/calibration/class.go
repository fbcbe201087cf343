package calibration

import "math"

// Class is a class mark of ISO 376 (the cell as an instrument that proves
// machines) or of ISO 7500-1 (the rig as a testing machine) that the points would
// meet. It is an indication, not a certificate: the cell was not turned between the runs,
// creep was not measured, and the weights were not shown to be traceable.
type Class string

// The class marks, best first.
const (
	Class00   Class = "00"
	Class05   Class = "0.5"
	Class1    Class = "1"
	Class2    Class = "2"
	Class3    Class = "3"       // of ISO 7500-1 only
	ClassNone Class = "none"    // worse than the last class
	NoClass   Class = "unknown" // the points do not tell all that is asked
)

// Limits of one class in percent, as Calibrate defines the deviations.
type Limits struct {
	Class                                                Class
	Repeatability, Interpolation, ZeroReturn, Hysteresis float64
}

// ClassLimits lists the limits of ISO 376:2011, Table 2: b', f_c, f_0 and v (from
// memory).
func ClassLimits() []Limits {
	return []Limits{
		{Class00, 0.025, 0.025, 0.012, 0.07},
		{Class05, 0.05, 0.05, 0.025, 0.15},
		{Class1, 0.10, 0.10, 0.050, 0.30},
		{Class2, 0.20, 0.20, 0.10, 0.50},
	}
}

// classify finds the best class whose limits the deviations keep.
func (r Result) classify() Class {
	for _, d := range []Deviation{r.Repeatability, r.Interpolation, r.ZeroReturn, r.Hysteresis} {
		if !d.Known() {
			return NoClass
		}
	}
	for _, l := range ClassLimits() {
		if math.Abs(r.Repeatability.Percent) <= l.Repeatability &&
			math.Abs(r.Interpolation.Percent) <= l.Interpolation &&
			math.Abs(r.ZeroReturn.Percent) <= l.ZeroReturn &&
			math.Abs(r.Hysteresis.Percent) <= l.Hysteresis {
			return l.Class
		}
	}
	return ClassNone
}

// MachineLimits of one class in percent. Repeatability, Hysteresis and ZeroReturn
// are b, v and f_0.
type MachineLimits struct {
	Class                                           Class
	Accuracy, Repeatability, Hysteresis, ZeroReturn float64
}

// MachineClassLimits lists the limits of ISO 7500-1, Table 2: q, b, v and f_0 (from
// memory). The limits of the resolution are left out: means of many samples
// have none that matters.
func MachineClassLimits() []MachineLimits {
	return []MachineLimits{
		{Class05, 0.5, 0.5, 0.75, 0.05},
		{Class1, 1.0, 1.0, 1.5, 0.1},
		{Class2, 2.0, 2.0, 3.0, 0.2},
		{Class3, 3.0, 3.0, 4.5, 0.3},
	}
}

// classifyMachine finds the best class of ISO 7500-1 whose limits the deviations
// keep. b and v are taken of the mean deflection, which differs from the load
// by no more than the accuracy.
func (r Result) classifyMachine() Class {
	for _, d := range []Deviation{r.Accuracy, r.Repeatability, r.Hysteresis, r.ZeroReturn} {
		if !d.Known() {
			return NoClass
		}
	}
	for _, l := range MachineClassLimits() {
		if math.Abs(r.Accuracy.Percent) <= l.Accuracy &&
			math.Abs(r.Repeatability.Percent) <= l.Repeatability &&
			math.Abs(r.Hysteresis.Percent) <= l.Hysteresis &&
			math.Abs(r.ZeroReturn.Percent) <= l.ZeroReturn {
			return l.Class
		}
	}
	return ClassNone
}
