package report

import (
	"fmt"
	"strings"
)

// Setup tells how the trial was rigged, as pairs of a name and a value; what
// the study does not record is left out.
func (in Input) Setup() [][2]string {
	s := in.Study
	var out [][2]string
	add := func(name, format string, args ...any) {
		out = append(out, [2]string{name, fmt.Sprintf(format, args...)})
	}
	mm := func(m float64) string { return Given(m*1000) + " mm" }
	for _, p := range s.Part {
		name := "Part"
		if p.Stage != "" {
			name += ", " + Plain(p.Stage)
		}
		text := Plain(p.Material)
		if p.Length > 0 && p.Width > 0 && p.Height > 0 {
			text += fmt.Sprintf(", %s × %s × %s", mm(p.Length), mm(p.Width), mm(p.Height))
		}
		if p.Grip > 0 {
			text += ", gripped " + mm(p.Grip) + " deep"
		}
		add(name, "%s", text)
	}
	switch s.Pull.How {
	case "straight":
		add("Pull", "straight, along the jaws")
	case "twist", "offset":
		text := s.Pull.How + ", arm " + mm(s.Pull.Arm)
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
			text += ", read to " + Given(in.Force.FromSI(s.Scale.Division)) + " " + in.Force.Name
		}
		if s.Scale.Capacity > 0 {
			text += ", capacity " + Given(in.Force.FromSI(s.Scale.Capacity)) + " " + in.Force.Name
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
		text := fmt.Sprintf("pitch diameter %s, lead %s, half flank %s, thread friction %s", mm(c.PitchDiameter), mm(c.Lead), degrees(c.HalfFlank), fromTo(c.ThreadLow, c.ThreadHigh))
		if c.CollarDiameter > 0 {
			text += fmt.Sprintf(", collar friction %s, collar diameter %s", fromTo(c.CollarLow, c.CollarHigh), mm(c.CollarDiameter))
		}
		add("Screw", "%s", text)
	}
	if s.Plan.Blocks > 0 {
		add("Plan", "%s, each with every facing at every squeeze %s, in random order", count(s.Plan.Blocks, "block"), times(s.Plan.Repeats))
	}
	return out
}

// handle tells all that makes the handle's torque.
func (in Input) handle() string {
	h, u := in.Study.Handle, in.WeightUnit()
	text := fmt.Sprintf("weight at %s from the screw axis", Given(h.Arm*1000)+" mm")
	if h.Mass > 0 {
		text += fmt.Sprintf("; the handle itself %s %s, its centre of mass at %s mm", Given(u.FromSI(h.Mass)), u.Name, Given(h.MassArm*1000))
	}
	if h.Tilt != 0 {
		text += "; tilted " + degrees(h.Tilt) + " from level"
	}
	if h.HasPlace {
		text += fmt.Sprintf("; at latitude %s, altitude %s m", degrees(h.Latitude), Given(h.Altitude))
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
	u := in.WeightUnit()
	for _, l := range in.Study.Levels {
		var text string
		switch {
		case l.Weight > 0 && l.Clamp > 0:
			text = fmt.Sprintf("%s %s on the handle (%s)", Given(u.FromSI(l.Weight)), u.Name, in.Force.Format(l.Clamp, 3))
		case l.Weight > 0:
			text = fmt.Sprintf("%s %s on the handle", Given(u.FromSI(l.Weight)), u.Name)
		case l.Clamp > 0:
			text = in.Force.Format(l.Clamp, 3)
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
