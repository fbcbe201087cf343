package report

import (
	"math"
	"strconv"
	"strings"

	"griptrial/analysis"
	"griptrial/analysis/unit"
)

// Dash stands where a number could not be estimated.
const Dash = "–"

// Decimals is how many decimals a value with the interval lower..upper earns:
// two significant digits of the half width, but no more than four of the
// value. Below zero it is rounded before the point: at -1 to tens. Where the
// interval is not known, the value gets three digits.
func Decimals(value, lower, upper float64) int {
	if math.IsNaN(value) || math.IsInf(value, 0) || value == 0 {
		return 0
	}
	most := max(0, 3-exponent(value))
	half := (upper - lower) / 2
	if !(half > 0) || math.IsInf(half, 0) {
		return clampInt(2-exponent(value), 0, 12)
	}
	return clampInt(min(1-exponent(half), most), -12, 12)
}

// Number writes a value with its decimals, as Decimals counts them, and a true
// minus sign; Dash when it is not known.
func Number(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Dash
	}
	if decimals < 0 {
		step := math.Pow10(-decimals)
		v, decimals = math.Round(v/step)*step, 0
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if s[0] != '-' {
		return s
	}
	if strings.Trim(s, "-0.") == "" {
		return s[1:]
	}
	return "−" + s[1:]
}

// Given writes a number that somebody set, such as a weight or a confidence:
// at most four digits and no zeros that were not given.
func Given(v float64) string {
	s := Short(v, 4)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// Short writes a value with the given significant digits and no exponent.
func Short(v float64, digits int) string {
	if v == 0 {
		return "0"
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Dash
	}
	return Number(v, clampInt(digits-1-exponent(v), 0, 12))
}

// Interval is an estimate in a display scale, as it is written.
type Interval struct {
	Value, Lower, Upper string
	Known               bool // the interval is known, not only the value
}

// Write scales an estimate and writes it with honest digits.
func Write(e analysis.Estimate, scale func(float64) float64) Interval {
	v, lo, hi := scale(float64(e.Estimate)), scale(float64(e.Lower)), scale(float64(e.Upper))
	d := Decimals(v, lo, hi)
	return Interval{Number(v, d), Number(lo, d), Number(hi, d), e.Lower.Known() && e.Upper.Known()}
}

// String writes "2.13 (1.87 to 2.43)".
func (i Interval) String() string {
	if !i.Known {
		return i.Value
	}
	return i.Value + " (" + i.Lower + " to " + i.Upper + ")"
}

// Same leaves a number as it is: the scale of pure numbers.
func Same(v float64) float64 { return v }

// WeightUnit is the unit of handle weights that goes with the force unit.
func (in Input) WeightUnit() unit.Unit {
	name := "kg"
	if in.Force.Name == "lbf" || in.Force.Name == "ozf" {
		name = "lb"
	}
	u, err := unit.Lookup(unit.Mass, name)
	if err != nil {
		panic("report: the mass unit " + name + " is gone")
	}
	return u
}

// Grip tells what the results' quantity is called, how it is scaled for
// display and in which unit; unitName is "" for a pure number.
func (in Input) Grip() (name, unitName string, scale func(float64) float64) {
	switch in.Results.Quantity {
	case analysis.PerWeight:
		return "grip for each unit of handle weight", in.Force.Name + "/" + in.WeightUnit().Name, func(v float64) float64 {
			// v is force over the weight's own force under standard gravity.
			return in.Force.FromSI(v * in.WeightUnit().ToSI(1) * 9.80665)
		}
	case analysis.Force:
		return "force", in.Force.Name, in.Force.FromSI
	}
	return "friction coefficient", "", Same
}

// exponent is the power of ten of the first digit of a number.
func exponent(v float64) int {
	e, _ := strconv.Atoi(scientific(v))
	return e
}

// scientific gives the exponent part of "1.23e+02"; the three digits see to
// it that 9.999 counts as 10.
func scientific(v float64) string {
	s := strconv.FormatFloat(math.Abs(v), 'e', 2, 64)
	for i := range s {
		if s[i] == 'e' {
			return s[i+1:]
		}
	}
	return "0"
}

func clampInt(v, lo, hi int) int { return max(lo, min(hi, v)) }
