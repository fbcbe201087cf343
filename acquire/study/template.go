package study

import (
	"fmt"
	"strconv"
	"strings"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// quantityText writes an SI value with a unit, in the one of the given units
// that needs the fewest digits; the first wins where they tie.
func quantityText(si float64, k unit.Kind, units ...string) string {
	best := ""
	for _, name := range units {
		u, err := unit.Lookup(k, name)
		if err != nil {
			continue
		}
		if s := strconv.FormatFloat(u.FromSI(si), 'g', 12, 64) + " " + name; best == "" || len(s) < len(best) {
			best = s
		}
	}
	return best
}

// WriteSetup writes study.toml for a study, with comments for the person who
// will edit it. What is not known stands as a comment that shows how to say it.
func WriteSetup(s trial.Study) []byte {
	w := &templateWriter{unit: s.Unit, typed: s.Typed}
	w.line("# A grip trial. Edit this file in any editor; `griptrial check` looks it over.")
	w.line("# A quantity is text with its unit: \"150 mm\", \"2 kg\", \"0.5 kgf\", \"45 deg\".")
	w.line("# Lines that start with # are notes; take the # away to use them.")
	w.line("")
	w.line("format = %d", Format)
	w.line("name = %s", basic(s.Name))
	w.line("question = %s", basic(s.Question))
	w.line("unit = %s                     # forces are typed and shown in this unit", basic(s.Unit))
	for i, f := range s.Facings {
		w.line("")
		if i == 0 {
			w.line("# What faces the jaws: one table each; exactly one is the control. Samples are")
			w.line("# specimens of a facing: with two or more, the comparison speaks for the facing")
			w.line("# and not for one strip of it.")
		}
		w.line("[[facing]]")
		w.line("name = %s", basic(f.Name))
		if f.Control {
			w.line("control = true")
		}
		if len(f.Samples) > 0 {
			w.line("samples = [%s]", quoted(f.Samples))
		}
	}
	for i, l := range s.Levels {
		w.line("")
		if i == 0 {
			w.line("# Clamp levels: weight is hung on the handle; clamp is the force on one jaw face")
			w.line("# where it is measured. The usual level is the one the shop uses today.")
		}
		w.begin("level", i)
		w.line("name = %s", basic(l.Name))
		w.quantity("weight", l.Weight, unit.Mass, "", "kg", "lb", "g", "oz")
		w.quantity("clamp", l.Clamp, unit.Force, "", "N", s.Unit)
		if l.Usual {
			w.line("usual = true")
		}
	}
	w.line("")
	w.line("# Each block is one session and holds every facing at every level, in random")
	w.line("# order; repeats is how many pulls of each it holds.")
	w.line("[plan]")
	w.line("blocks = %d", max(1, s.Plan.Blocks))
	w.line("repeats = %d", max(1, s.Plan.Repeats))
	w.line("")
	w.line("# What reads the force: \"hand\" or \"cell\". The division is the step it is read to.")
	w.begin("scale", -1)
	kind := s.Scale.Kind
	if kind == "" {
		kind = "hand"
	}
	w.line("kind = %s", basic(kind))
	w.quantity("division", s.Scale.Division, unit.Force, "1 "+s.Unit, s.Unit, "N", "kgf", "lbf")
	w.quantity("capacity", s.Scale.Capacity, unit.Force, "50 "+s.Unit, s.Unit, "N", "kgf", "lbf")
	if s.Scale.Calibration != "" {
		w.line("calibration = %s", basic(s.Scale.Calibration))
	} else {
		w.line("# calibration = \"cell.csv\"          # a file in %s/", CalibrationDir)
	}
	if s.Scale.U > 0 {
		w.number("uncertainty", s.Scale.U)
	} else {
		w.line("# uncertainty = 0.005             # relative standard uncertainty, where known")
	}
	w.rig(s)
	w.report(s.Report)
	w.rest(s)
	return []byte(w.b.String())
}

// basic writes a TOML basic string.
func basic(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

type templateWriter struct {
	b     strings.Builder
	unit  string
	table string            // in which the next keys stand, as "part[0]."
	typed map[string]string // trial.Study.Typed
}

// begin writes the head of a table, of which it is the i-th; -1: the only one.
func (w *templateWriter) begin(table string, i int) {
	if i < 0 {
		w.line("[%s]", table)
		w.table = table + "."
		return
	}
	w.line("[[%s]]", table)
	w.table = fmt.Sprintf("%s[%d].", table, i)
}

func (w *templateWriter) line(format string, args ...any) {
	fmt.Fprintf(&w.b, format+"\n", args...)
}

// quantity writes a key where its value is known, in the unit in which it was
// typed or else the one that makes it shortest; else an example as a comment; no
// example, no line.
func (w *templateWriter) quantity(key string, si float64, k unit.Kind, example string, units ...string) {
	switch {
	case si != 0:
		if u := w.typed[w.table+key]; u != "" {
			units = []string{u}
		}
		w.line("%s = %s", key, basic(quantityText(si, k, units...)))
	case example != "":
		w.line("# %s = %s", key, basic(example))
	}
}

// span writes a number or a range.
func (w *templateWriter) span(key string, lo, hi float64, example string) {
	switch {
	case hi == 0:
		if example != "" {
			w.line("# %s = %s", key, example)
		}
	case lo == hi:
		w.line("%s = %v", key, lo)
	default:
		w.line("%s = \"%v..%v\"", key, lo, hi)
	}
}

func (w *templateWriter) number(key string, v float64) {
	if v != 0 {
		w.line("%s = %v", key, v)
	}
}

func (w *templateWriter) text(key, v string) {
	if v != "" {
		w.line("%s = %s", key, basic(v))
	}
}

func quoted(names []string) string {
	q := make([]string, len(names))
	for i, n := range names {
		q[i] = basic(n)
	}
	return strings.Join(q, ", ")
}

var (
	lengths  = []string{"mm", "in"}
	stresses = []string{"MPa", "psi", "Pa"}
)

func (w *templateWriter) rig(s trial.Study) {
	h := s.Handle
	w.line("")
	w.line("# The handle: arm is from the screw axis to the weight. Ratios between facings")
	w.line("# need nothing of this; a friction coefficient needs the handle and the screw.")
	w.begin("handle", -1)
	w.quantity("arm", h.Arm, unit.Length, "150 mm", lengths...)
	w.quantity("mass", h.Mass, unit.Mass, "0.2 kg", "kg", "g", "lb", "oz")
	w.quantity("mass_arm", h.MassArm, unit.Length, "70 mm", lengths...)
	w.quantity("tilt", h.Tilt, unit.Angle, "", "deg", "rad")
	if h.HasPlace {
		latitude := w.typed["handle.latitude"]
		if latitude == "" {
			latitude = "deg"
		}
		w.line("latitude = %s", basic(quantityText(h.Latitude, unit.Angle, latitude)))
		w.quantity("altitude", h.Altitude, unit.Length, "", "m")
	}
	c := s.Screw
	w.line("")
	w.line("# The vise screw. Friction is a number or a range.")
	w.begin("screw", -1)
	w.quantity("pitch_diameter", c.PitchDiameter, unit.Length, "18 mm", lengths...)
	w.quantity("lead", c.Lead, unit.Length, "4 mm", lengths...)
	w.quantity("half_flank", c.HalfFlank, unit.Angle, "15 deg", "deg", "rad")
	w.span("thread_friction", c.ThreadLow, c.ThreadHigh, `"0.10..0.20"`)
	w.span("collar_friction", c.CollarLow, c.CollarHigh, `"0.10..0.20"`)
	w.quantity("collar_diameter", c.CollarDiameter, unit.Length, "24 mm", lengths...)
	p := s.Pull
	w.line("")
	w.line("# How the pull is made: \"straight\", \"twist\" or \"offset\". The arm is about the")
	w.line("# centre of the contact patch; the direction is from the line along the jaw.")
	w.begin("pull", -1)
	how := p.How
	if how == "" {
		how = "straight"
	}
	w.line("how = %s", basic(how))
	w.quantity("arm", p.Arm, unit.Length, "30 mm", lengths...)
	w.quantity("direction", p.Direction, unit.Angle, "90 deg", "deg", "rad")
	if p.Patch != "" {
		w.line("patch = %s", basic(p.Patch))
	} else {
		w.line("# patch = \"rectangle 60 mm x 3 mm\"")
	}
	w.line("faces = %d", max(1, p.Faces))
}

func (w *templateWriter) rest(s trial.Study) {
	w.line("")
	w.line("# What the trial is to show, if anything: \"ratio\" (at least so many times the")
	w.line("# control), \"force\" (at least so much at a level) or \"same\" (as the control,")
	w.line("# within a share). `griptrial plan` says how many pulls that takes.")
	if len(s.Claims) == 0 {
		w.line("# [[claim]]")
		w.line("# kind = \"ratio\"")
		w.line("# facing = \"bonded P240 cloth\"")
		w.line("# ratio = 2")
		w.line("# expect = 2.5                    # what you think it is; of a force, the mean over it")
		w.line("# spread = 0.1                    # sd of repeated pulls, as a share")
		w.line("# sample_spread = 0.05            # and of samples of one facing")
	}
	for i, c := range s.Claims {
		w.begin("claim", i)
		w.text("kind", c.Kind)
		w.text("facing", c.Facing)
		w.number("ratio", c.Ratio)
		w.number("expect", c.Expect)
		w.quantity("force", c.Force, unit.Force, "", s.Unit, "N", "kgf", "lbf")
		w.text("level", c.Level)
		w.number("coverage", c.Coverage)
		w.number("within", c.Within)
		w.number("power", c.Power)
		w.number("spread", c.Spread)
		w.number("sample_spread", c.SampleSpread)
	}
	w.line("")
	w.line("# The part and the cut it must be held for; `griptrial window` needs both.")
	if len(s.Part) == 0 {
		w.line("# A part is a block or a ring: use the lines of both kinds, and of your kind.")
		w.line("# [[part]]")
		w.line("# material = \"cast acrylic\"")
		w.line("# yield = \"100 MPa\"")
		w.line("# modulus = \"3000 MPa\"")
		w.line("# length = \"60 mm\"                # along the jaws; of a ring, its width there")
		w.line("# width = \"30 mm\"                 # between the jaws")
		w.line("# height = \"10 mm\"")
		w.line("# grip = \"3 mm\"                   # of the height, between the jaws")
		w.line("# And where they are known or needed, of both kinds:")
		w.line("# stage = \"roughing\"              # where the part changes between cuts")
		w.line("# flex = \"0.05 mm\"                # bow of a block, or squeeze of a ring, allowed")
		w.line("# peak = 1.7                      # greatest over mean pressure on the gripped face")
		w.line("# Of a block alone:")
		w.line("# floor = \"2 mm\"                  # thinnest floor or wall between the jaws")
		w.line("# floor_wide = \"40 mm\"            # its extent along the jaws, else the length")
		w.line("# Of a ring alone, without the two lines of a block:")
		w.line("# ring_radius = \"20 mm\"           # mean radius")
		w.line("# ring_wall = \"3 mm\"")
	}
	for i, p := range s.Part {
		w.begin("part", i)
		w.text("stage", p.Stage)
		w.text("material", p.Material)
		w.quantity("yield", p.Yield, unit.Stress, "", stresses...)
		w.quantity("modulus", p.Modulus, unit.Stress, "", stresses...)
		for _, q := range []struct {
			key string
			si  float64
		}{{"length", p.Length}, {"width", p.Width}, {"height", p.Height}, {"grip", p.Grip}, {"floor", p.Floor}, {"floor_wide", p.FloorWide}, {"flex", p.Flex}, {"ring_radius", p.RingRadius}, {"ring_wall", p.RingWall}} {
			w.quantity(q.key, q.si, unit.Length, "", lengths...)
		}
		w.number("peak", p.Peak)
	}
	if len(s.Cut) == 0 {
		w.line("# [[cut]]")
		w.line("# kc11 = \"150 MPa\"                # cutting force per chip area at 1 mm of chip")
		w.line("# mc = 0.25")
		w.line("# diameter = \"6 mm\"")
		w.line("# teeth = 2")
		w.line("# feed_tooth = \"0.04 mm\"")
		w.line("# depth = \"2 mm\"")
		w.line("# mode = \"slot\"                   # or conventional, climb (with width), t-slot (with neck)")
		w.line("# direction = \"0 deg\"             # of the feed from the jaws")
		w.line("# x = \"10 mm\"                     # tool from the middle of the gripped faces:")
		w.line("# y = \"5 mm\"                      # along the jaws, across them, up")
		w.line("# z = \"8 mm\"")
		w.line("# And where they are known or needed:")
		w.line("# stage = \"roughing\"              # as in the [[part]] of that stage")
		w.line("# width = \"3 mm\"                  # of cut; conventional and climb need it")
		w.line("# neck = \"4 mm\"                   # t-slot: width of the slot already cut")
		w.line("# runout = \"0.02 mm\"              # else one tooth is taken to do all")
		w.line("# radial = 0.5                    # radial over tangential force")
		w.line("# axial = 0.2                     # axial over tangential force")
		w.line("# dullness = \"1.3..1.5\"           # force of a worn tool over a sharp one")
		w.line("# dynamic = \"1.2..2\"              # of an interrupted cut, or chatter")
		w.line("# safety = 2")
	}
	for i, c := range s.Cut {
		w.begin("cut", i)
		w.cut(c)
	}
}

func (w *templateWriter) cut(c trial.Cut) {
	w.text("stage", c.Stage)
	w.quantity("kc11", c.Kc11, unit.Stress, "", stresses...)
	w.number("mc", c.Mc)
	w.quantity("diameter", c.Diameter, unit.Length, "", lengths...)
	if c.Teeth != 0 {
		w.line("teeth = %d", c.Teeth)
	}
	w.quantity("runout", c.Runout, unit.Length, "", lengths...)
	w.quantity("feed_tooth", c.FeedTooth, unit.Length, "", lengths...)
	w.quantity("depth", c.Depth, unit.Length, "", lengths...)
	w.quantity("width", c.Width, unit.Length, "", lengths...)
	w.text("mode", c.Mode)
	w.quantity("neck", c.Neck, unit.Length, "", lengths...)
	w.quantity("direction", c.Direction, unit.Angle, "", "deg", "rad")
	w.quantity("x", c.X, unit.Length, "", lengths...)
	w.quantity("y", c.Y, unit.Length, "", lengths...)
	w.quantity("z", c.Z, unit.Length, "", lengths...)
	w.number("radial", c.Radial)
	w.number("axial", c.Axial)
	w.span("dullness", c.Dullness[0], c.Dullness[1], "")
	w.span("dynamic", c.Dynamic[0], c.Dynamic[1], "")
	w.number("safety", c.Safety)
}
