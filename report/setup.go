package report

import (
	"fmt"
	"strings"

	"griptrial/analysis/unit"
)

// Setup tells how the trial was rigged, as pairs of a name and a value; what
// the study does not record is left out.
func (in Input) Setup() [][2]string {
	s := in.Study
	var out [][2]string
	add := func(name, format string, args ...any) {
		out = append(out, [2]string{name, fmt.Sprintf(format, args...)})
	}
	for i, p := range s.Part {
		mm := func(key string, m float64) string {
			return in.typed(fmt.Sprintf("part[%d].%s", i, key), m, unit.Length, "mm")
		}
		name := "Part"
		if p.Stage != "" {
			name += ", " + Plain(p.Stage)
		}
		text := Plain(p.Material)
		if p.Length > 0 && p.Width > 0 && p.Height > 0 {
			text += fmt.Sprintf(", %s × %s × %s", mm("length", p.Length), mm("width", p.Width), mm("height", p.Height))
		}
		if p.Grip > 0 {
			text += ", gripped " + mm("grip", p.Grip) + " deep"
		}
		add(name, "%s", text)
	}
	switch s.Pull.How {
	case "straight":
		add("Pull", "straight, along the jaws")
	case "twist", "offset":
		text := s.Pull.How + ", arm " + in.typed("pull.arm", s.Pull.Arm, unit.Length, "mm")
		if s.Pull.Direction != 0 {
			text += ", direction " + degrees(s.Pull.Direction)
		}
		if s.Pull.Patch != "" {
			text += ", patch " + Plain(s.Pull.Patch)
		}
		add("Pull", "%s", text)
	}
	if s.Pull.Faces > 0 {
		add("Faces that rub", "%d", s.Pull.Faces)
	}
	switch s.Scale.Kind {
	case "hand", "cell":
		text := map[string]string{"hand": "hand scale", "cell": "load cell"}[s.Scale.Kind]
		if s.Scale.Division > 0 {
			text += ", read to " + in.typed("scale.division", s.Scale.Division, unit.Force, in.Force.Name)
		}
		if s.Scale.Capacity > 0 {
			text += ", capacity " + in.typed("scale.capacity", s.Scale.Capacity, unit.Force, in.Force.Name)
		}
		if s.Scale.Calibration != "" {
			text += ", calibration " + Plain(s.Scale.Calibration)
		}
		add("Scale", "%s", text)
	}
	if names := in.levels(); names != "" {
		add("Squeeze", "%s", names)
	}
	if s.Handle.Arm > 0 {
		add("Handle", "%s", in.handle())
	}
	if c := s.Screw; c.PitchDiameter > 0 {
		mm := func(key string, m float64) string { return in.typed("screw."+key, m, unit.Length, "mm") }
		text := fmt.Sprintf("pitch diameter %s, lead %s, half flank %s, thread friction %s", mm("pitch_diameter", c.PitchDiameter), mm("lead", c.Lead), degrees(c.HalfFlank), fromTo(c.ThreadLow, c.ThreadHigh))
		if c.CollarDiameter > 0 {
			text += fmt.Sprintf(", collar friction %s, collar diameter %s", fromTo(c.CollarLow, c.CollarHigh), mm("collar_diameter", c.CollarDiameter))
		}
		add("Screw", "%s", text)
	}
	if s.Plan.Blocks > 0 {
		add("Plan", "%s, each with every facing at every squeeze %s, in random order", count(s.Plan.Blocks, "block"), times(s.Plan.Repeats))
	}
	return out
}

// typed writes a quantity of study.toml in the unit in which it was typed there,
// or in another where the study does not come from such a file.
func (in Input) typed(key string, si float64, k unit.Kind, otherwise string) string {
	name := in.Study.Typed[key]
	if name == "" {
		name = otherwise
	}
	u, err := unit.Lookup(k, name)
	if err != nil { // a unit that only the caller thought of: SI
		u, _ = unit.Lookup(k, unit.Names(k)[0])
	}
	return Given(u.FromSI(si)) + " " + u.Name
}

// handle tells all that makes the handle's torque.
func (in Input) handle() string {
	h := in.Study.Handle
	text := fmt.Sprintf("weight at %s from the screw axis", in.typed("handle.arm", h.Arm, unit.Length, "mm"))
	if h.Mass > 0 {
		text += fmt.Sprintf("; the handle itself %s, its centre of mass at %s", in.typed("handle.mass", h.Mass, unit.Mass, in.WeightUnit().Name), in.typed("handle.mass_arm", h.MassArm, unit.Length, "mm"))
	}
	if h.Tilt != 0 {
		text += "; tilted " + degrees(h.Tilt) + " from level"
	}
	if h.HasPlace {
		text += fmt.Sprintf("; at latitude %s, altitude %s", degrees(h.Latitude), in.typed("handle.altitude", h.Altitude, unit.Length, "m"))
	}
	return text
}

// fromTo writes a range, and a single number where its ends are one.
func fromTo(low, high float64) string {
	if low == high {
		return Given(low)
	}
	return Given(low) + " to " + Given(high)
}

func times(n int) string {
	switch n {
	case 0, 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// levels lists the clamp levels.
func (in Input) levels() string {
	var names []string
	for i, l := range in.Study.Levels {
		weight := in.typed(fmt.Sprintf("level[%d].weight", i), l.Weight, unit.Mass, in.WeightUnit().Name)
		clamp := in.typed(fmt.Sprintf("level[%d].clamp", i), l.Clamp, unit.Force, in.Force.Name)
		var text string
		switch {
		case l.Weight > 0 && l.Clamp > 0:
			text = fmt.Sprintf("%s on the handle (%s)", weight, clamp)
		case l.Weight > 0:
			text = weight + " on the handle"
		case l.Clamp > 0:
			text = clamp
		default:
			text = Plain(l.Name)
		}
		if l.Usual {
			text += " (the usual)"
		}
		names = append(names, text)
	}
	return strings.Join(names, ", ")
}
