package study

import (
	"fmt"
	"math"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// rig lifts what makes the clamp force and the pull.
func (c *checker) rig(f *setupFile, s *trial.Study) {
	s.Handle = trial.Handle{
		Arm:      c.positive("handle.arm", unit.Length, f.Handle.Arm),
		Mass:     c.atLeastZero("handle.mass", unit.Mass, f.Handle.Mass),
		MassArm:  c.atLeastZero("handle.mass_arm", unit.Length, f.Handle.MassArm),
		Tilt:     c.signed("handle.tilt", unit.Angle, f.Handle.Tilt),
		Latitude: c.signed("handle.latitude", unit.Angle, f.Handle.Latitude),
		Altitude: c.signed("handle.altitude", unit.Length, f.Handle.Altitude),
		HasPlace: c.has("handle.latitude"),
	}
	if math.Abs(s.Handle.Tilt) >= math.Pi/2 {
		c.fail("handle.tilt", "%s: the handle must be nearer level than upright", f.Handle.Tilt)
	}
	if math.Abs(s.Handle.Latitude) > math.Pi/2 {
		c.fail("handle.latitude", "%s is outside -90 deg to 90 deg", f.Handle.Latitude)
	}
	if c.has("handle.altitude") && !s.Handle.HasPlace {
		c.fail("handle.altitude", "says nothing without latitude; give both or neither")
	}
	s.Screw = trial.Screw{
		PitchDiameter:  c.positive("screw.pitch_diameter", unit.Length, f.Screw.PitchDiameter),
		Lead:           c.positive("screw.lead", unit.Length, f.Screw.Lead),
		HalfFlank:      c.atLeastZero("screw.half_flank", unit.Angle, f.Screw.HalfFlank),
		CollarDiameter: c.positive("screw.collar_diameter", unit.Length, f.Screw.CollarDiameter),
	}
	s.Screw.ThreadLow, s.Screw.ThreadHigh = c.span("screw.thread_friction", f.Screw.ThreadFriction, 0)
	s.Screw.CollarLow, s.Screw.CollarHigh = c.span("screw.collar_friction", f.Screw.CollarFriction, 0)
	if s.Screw.HalfFlank >= math.Pi/2 {
		c.fail("screw.half_flank", "%s is not below 90 deg", f.Screw.HalfFlank)
	}
	for _, key := range []string{"lead", "thread_friction"} {
		if c.has("screw.pitch_diameter") && !c.has("screw."+key) {
			c.fail("screw."+key, "missing; the screw needs pitch_diameter, lead and thread_friction together")
		}
	}
	if c.has("screw.collar_friction") != c.has("screw.collar_diameter") {
		c.fail("screw.collar_friction", "collar_friction and collar_diameter belong together; give both or neither")
	}
	s.Pull = trial.PullSetup{
		How:       c.oneOf("pull.how", f.Pull.How, "straight", "twist", "offset"),
		Arm:       c.signed("pull.arm", unit.Length, f.Pull.Arm),
		Direction: c.signed("pull.direction", unit.Angle, f.Pull.Direction),
		Patch:     f.Pull.Patch,
		Faces:     2,
	}
	if c.has("pull.faces") {
		if f.Pull.Faces < 1 || f.Pull.Faces > 2 {
			c.fail("pull.faces", "%d faces cannot rub; write 2 (a vise) or 1", f.Pull.Faces)
		}
		s.Pull.Faces = f.Pull.Faces
	}
	if s.Pull.How == "straight" {
		if s.Pull.Arm != 0 {
			c.fail("pull.arm", "a straight pull has no arm; write how = \"offset\" or \"twist\"")
		}
		return
	}
	if s.Pull.Arm == 0 {
		c.fail("pull.arm", "a pull that is %q needs its arm about the centre of the patch, as \"30 mm\"", s.Pull.How)
	}
	if s.Pull.Patch == "" {
		c.fail("pull.patch", "a pull that is %q needs the contact patch, as \"rectangle 60 mm x 3 mm\"", s.Pull.How)
	}
}

func (c *checker) claims(f *setupFile, s *trial.Study) {
	for i, x := range f.Claims {
		key := fmt.Sprintf("claim[%d]", i)
		cl := trial.Claim{
			Kind:     c.oneOf(key+".kind", x.Kind, "ratio", "force", "same"),
			Facing:   x.Facing,
			Ratio:    c.above(key+".ratio", x.Ratio, 0),
			Expect:   c.above(key+".expect", x.Expect, 0),
			Force:    c.positive(key+".force", unit.Force, x.Force),
			Level:    x.Level,
			Coverage: c.within(key+".coverage", x.Coverage, 0.5, 0.9999),
			Within:   c.within(key+".within", x.Within, 0.001, 1),
			Power:    c.within(key+".power", x.Power, 0.05, 0.999),
			Spread:   c.above(key+".spread", x.Spread, 0),

			SampleSpread: c.above(key+".sample_spread", x.SampleSpread, 0),
		}
		c.facingNamed(key+".facing", x.Facing, s, cl.Kind != "force")
		needs := map[string]string{"ratio": "ratio", "force": "force", "same": "within"}[cl.Kind]
		if !c.has(key + "." + needs) {
			c.fail(key+"."+needs, "missing; a claim of kind %q says %s", cl.Kind, needs)
		}
		if cl.Kind == "ratio" && cl.Expect != 0 && cl.Expect <= cl.Ratio {
			c.fail(key+".expect", "a ratio of at least %v cannot be shown when %v is expected; expect must be greater", cl.Ratio, cl.Expect)
		}
		if cl.Kind == "force" {
			c.levelNamed(key+".level", x.Level, s)
		}
		s.Claims = append(s.Claims, cl)
	}
}

// facingNamed refuses a name that is not a facing of the study.
func (c *checker) facingNamed(key, name string, s *trial.Study, notControl bool) {
	var names []string
	for _, f := range s.Facings {
		if f.Name == name {
			if notControl && f.Control {
				c.fail(key, "%q is the control; it cannot be compared with itself", name)
			}
			return
		}
		names = append(names, f.Name)
	}
	c.fail(key, "%q is not a facing of this study%s", name, among(name, names))
}

func (c *checker) levelNamed(key, name string, s *trial.Study) {
	var names []string
	for _, l := range s.Levels {
		if l.Name == name {
			return
		}
		names = append(names, l.Name)
	}
	c.fail(key, "%q is not a level of this study%s", name, among(name, names))
}

func (c *checker) parts(f *setupFile, s *trial.Study) {
	for i, x := range f.Parts {
		key := fmt.Sprintf("part[%d].", i)
		s.Part = append(s.Part, trial.Part{
			Stage:     x.Stage,
			Material:  x.Material,
			Yield:     c.positive(key+"yield", unit.Stress, x.Yield),
			Modulus:   c.positive(key+"modulus", unit.Stress, x.Modulus),
			Length:    c.positive(key+"length", unit.Length, x.Length),
			Width:     c.positive(key+"width", unit.Length, x.Width),
			Height:    c.positive(key+"height", unit.Length, x.Height),
			Grip:      c.positive(key+"grip", unit.Length, x.Grip),
			Floor:     c.atLeastZero(key+"floor", unit.Length, x.Floor),
			FloorWide: c.atLeastZero(key+"floor_wide", unit.Length, x.FloorWide),
			Flex:      c.atLeastZero(key+"flex", unit.Length, x.Flex),
			Peak:      c.within(key+"peak", x.Peak, 1, 100),

			RingRadius: c.positive(key+"ring_radius", unit.Length, x.RingRadius),
			RingWall:   c.positive(key+"ring_wall", unit.Length, x.RingWall),
		})
		if c.has(key+"ring_radius") != c.has(key+"ring_wall") {
			c.fail(key+"ring_radius", "ring_radius and ring_wall belong together; give both or neither")
		}
		for _, block := range []string{"floor", "floor_wide"} {
			if c.has(key+block) && (c.has(key+"ring_radius") || c.has(key+"ring_wall")) {
				c.fail(key+block, "belongs to a block, and ring_radius and ring_wall make the part a ring; take out %s for a ring, or the two ring lines for a block", block)
			}
		}
	}
}

func (c *checker) cuts(f *setupFile, s *trial.Study) {
	for i, x := range f.Cuts {
		key := fmt.Sprintf("cut[%d].", i)
		cut := trial.Cut{
			Stage:     x.Stage,
			Kc11:      c.positive(key+"kc11", unit.Stress, x.Kc11),
			Mc:        c.within(key+"mc", x.Mc, 0, 1),
			Diameter:  c.positive(key+"diameter", unit.Length, x.Diameter),
			Teeth:     x.Teeth,
			Runout:    c.atLeastZero(key+"runout", unit.Length, x.Runout),
			FeedTooth: c.positive(key+"feed_tooth", unit.Length, x.FeedTooth),
			Depth:     c.positive(key+"depth", unit.Length, x.Depth),
			Width:     c.positive(key+"width", unit.Length, x.Width),
			Mode:      c.oneOf(key+"mode", x.Mode, "slot", "conventional", "climb", "t-slot"),
			Neck:      c.positive(key+"neck", unit.Length, x.Neck),
			Direction: c.signed(key+"direction", unit.Angle, x.Direction),
			X:         c.signed(key+"x", unit.Length, x.X),
			Y:         c.signed(key+"y", unit.Length, x.Y),
			Z:         c.signed(key+"z", unit.Length, x.Z),
			Radial:    c.within(key+"radial", x.Radial, 0, 5),
			Axial:     c.within(key+"axial", x.Axial, -5, 5),
			Safety:    c.within(key+"safety", x.Safety, 1, 100),
		}
		if c.has(key+"teeth") && x.Teeth < 1 {
			c.fail(key+"teeth", "%d teeth cut nothing", x.Teeth)
		}
		cut.Dullness[0], cut.Dullness[1] = c.span(key+"dullness", x.Dullness, 1)
		cut.Dynamic[0], cut.Dynamic[1] = c.span(key+"dynamic", x.Dynamic, 1)
		s.Cut = append(s.Cut, cut)
	}
}
