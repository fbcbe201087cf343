// Package unit converts between the units people write and SI.
//
// Inside the program every quantity is SI; this package stands at the border:
// file headers, flags, study.toml and what is shown. Factors are exact by
// definition (1 lb = 0.45359237 kg, 1 in = 0.0254 m, g_n = 9.80665 m/s²,
// CGPM 1901; international yard and pound, 1959).
package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Kind is a physical quantity.
type Kind uint8

// The quantities the program knows.
const (
	Force Kind = iota
	Length
	Time
	Mass
	Torque
	Stress
	Angle
)

// String names the quantity as an error message does.
func (k Kind) String() string {
	return [...]string{"force", "length", "time", "mass", "torque", "stress", "angle"}[k]
}

// Unit is one way to write a quantity. SI value = value × mul / div: two exact
// numbers, so that 1 mm is the double nearest to 0.001 m.
type Unit struct {
	Name     string
	Kind     Kind
	mul, div float64
}

const (
	gn   = 9.80665    // m/s², standard gravity
	lb   = 0.45359237 // kg
	inch = 0.0254     // m
)

// units lists the accepted spellings; the first of each kind is SI.
var units = []Unit{
	{"N", Force, 1, 1}, {"kN", Force, 1000, 1}, {"kgf", Force, gn, 1}, {"gf", Force, gn, 1000},
	{"lbf", Force, 4.4482216152605, 1}, {"ozf", Force, 4.4482216152605, 16},
	{"m", Length, 1, 1}, {"mm", Length, 1, 1000}, {"cm", Length, 1, 100}, {"in", Length, inch, 1},
	{"s", Time, 1, 1}, {"ms", Time, 1, 1000}, {"us", Time, 1, 1e6}, {"µs", Time, 1, 1e6},
	{"kg", Mass, 1, 1}, {"g", Mass, 1, 1000}, {"lb", Mass, lb, 1}, {"oz", Mass, lb, 16},
	{"N·m", Torque, 1, 1}, {"N.m", Torque, 1, 1}, {"Nm", Torque, 1, 1}, {"kgf·cm", Torque, gn, 100}, {"kgf.cm", Torque, gn, 100},
	{"lbf·in", Torque, 0.1129848290276167, 1}, {"lbf.in", Torque, 0.1129848290276167, 1},
	{"lbf·ft", Torque, 1.3558179483314004, 1}, {"lbf.ft", Torque, 1.3558179483314004, 1},
	{"Pa", Stress, 1, 1}, {"MPa", Stress, 1e6, 1}, {"psi", Stress, 4.4482216152605, inch * inch},
	{"rad", Angle, 1, 1}, {"deg", Angle, math.Pi, 180},
}

// ToSI converts a value in u to SI.
func (u Unit) ToSI(v float64) float64 { return v * u.mul / u.div }

// FromSI converts an SI value to u.
func (u Unit) FromSI(v float64) float64 { return v * u.div / u.mul }

// Names lists the accepted spellings for a kind, in the order they are offered.
func Names(k Kind) []string {
	var names []string
	for _, u := range units {
		if u.Kind == k {
			names = append(names, u.Name)
		}
	}
	return names
}

// Error tells that a text is not a quantity or unit of the wanted kind.
type Error struct {
	Kind Kind
	Text string // what was written
	What string // what is wrong with it
	Hint string // the way out; "": none is known
}

func (e *Error) Error() string {
	s := fmt.Sprintf("%s (%s units: %s)", e.What, e.Kind, strings.Join(Names(e.Kind), " "))
	if e.Hint != "" {
		s += "; " + e.Hint
	}
	return s
}

// asForce names the unit of force that a scale means which is marked with a
// mass; "" where the mark is no such.
func asForce(mark string) string {
	switch strings.ToLower(mark) {
	case "kg", "kgs", "kilo", "kilos", "kilogram", "kilograms":
		return "kgf"
	case "g", "gram", "grams":
		return "gf"
	case "lb", "lbs", "pound", "pounds":
		return "lbf"
	case "oz", "ounce", "ounces":
		return "ozf"
	}
	return ""
}

// Lookup finds a unit of a kind by its spelling, which is case-sensitive.
func Lookup(k Kind, name string) (Unit, error) {
	for _, u := range units {
		if u.Kind == k && u.Name == name {
			return u, nil
		}
	}
	what := fmt.Sprintf("unknown unit %q", name)
	if name == "" {
		what = "unit missing"
	}
	for _, u := range units {
		if u.Name == name {
			what = fmt.Sprintf("%q is a unit of %s", name, u.Kind)
		}
	}
	e := &Error{Kind: k, Text: name, What: what}
	if f := asForce(name); k == Force && f != "" {
		e.Hint = fmt.Sprintf("for a scale marked %s write %s", name, f)
	}
	return Unit{}, e
}

// Parse reads a quantity with its unit, such as "150 mm" or "2kg", into SI. It
// returns the unit too, so that the value can be shown as it was written.
// Numbers take a decimal point; NaN, infinities and hexadecimal are refused.
func Parse(k Kind, text string) (float64, Unit, error) {
	s := strings.TrimSpace(text)
	end := numberLength(s)
	if end == 0 {
		return 0, Unit{}, &Error{Kind: k, Text: text, What: fmt.Sprintf("%q does not start with a number", text)}
	}
	v, err := strconv.ParseFloat(s[:end], 64)
	if err != nil {
		return 0, Unit{}, &Error{Kind: k, Text: text, What: fmt.Sprintf("%q is too large", s[:end])}
	}
	u, err := Lookup(k, strings.TrimSpace(s[end:]))
	if err != nil {
		return 0, Unit{}, err
	}
	if si := u.ToSI(v); !math.IsInf(si, 0) {
		return si, u, nil
	}
	return 0, Unit{}, &Error{Kind: k, Text: text, What: fmt.Sprintf("%q is too large", text)}
}

// numberLength is the length of the decimal number that s starts with, 0 for
// none: sign, digits with at most one point, and an exponent only when it has
// digits, so that the unit may start with e.
func numberLength(s string) int {
	i := 0
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	digits := 0
	count := func() {
		for i < len(s) && s[i] >= '0' && s[i] <= '9' {
			i++
			digits++
		}
	}
	count()
	if i < len(s) && s[i] == '.' {
		i++
		count()
	}
	if digits == 0 {
		return 0
	}
	mantissa := i
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		i++
		if i < len(s) && (s[i] == '+' || s[i] == '-') {
			i++
		}
		digits = 0
		count()
		if digits > 0 {
			return i
		}
	}
	return mantissa
}

// SplitHeader takes a column header such as "force [kgf]" apart. Without
// brackets the unit is "".
func SplitHeader(header string) (name, unitText string) {
	header = strings.TrimSpace(header)
	open := strings.LastIndexByte(header, '[')
	if open < 0 || !strings.HasSuffix(header, "]") {
		return header, ""
	}
	return strings.TrimSpace(header[:open]), strings.TrimSpace(header[open+1 : len(header)-1])
}

// Format writes an SI value in u with the given significant digits and the
// unit's name.
func (u Unit) Format(si float64, digits int) string {
	return u.Number(si, digits) + " " + u.Name
}

// Number writes an SI value in u with the given significant digits, without
// exponent and without the unit's name.
func (u Unit) Number(si float64, digits int) string {
	v := u.FromSI(si)
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	decimals := digits - 1 - int(math.Floor(math.Log10(math.Abs(v))))
	if decimals < 0 {
		decimals = 0
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}
