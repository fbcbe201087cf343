package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"griptrial/analysis/clamp"
	"griptrial/analysis/uncertainty"
	"griptrial/analysis/unit"
)

// clampFlags are the settings of `clamp`.
type clampFlags struct {
	torque, weight, arm                   string
	handleMass, handleArm, handleTilt     string
	pitchDiameter, lead, halfFlank        string
	thread, collar, collarDiameter        string
	latitude                              float64
	altitude                              string
	sameGrease, json, hasPlace, hasCollar bool
	seed                                  uint64
	confidence                            float64
	unit                                  string
	shown                                 clampUnits
}

// clampUnits are the units in which the answer is shown to a person.
type clampUnits struct{ torque, force unit.Unit }

func clampCommand(a *app) *cobra.Command {
	var f clampFlags
	cmd := &cobra.Command{
		Use:   "clamp --weight MASS --arm LENGTH --pitch-diameter LENGTH --lead LENGTH --thread-friction F [flags]",
		Short: "Clamp force of a vise from a weight on its handle",
		Long: `clamp computes the force on each jaw face from a weight hung on the handle, or
from a torque wrench (--torque), through the screw.

Any quantity may be a range, as 0.10..0.20 or "4.9..5.1 kg": it then lies
anywhere in the range, equally likely, and all ranges go through Monte Carlo.
value is at the middle of every range; lower and upper hold 95 % of the draws
(--confidence). --same-grease makes thread and collar friction one unknown.

Not in the formula: friction of the moving jaw in its ways, its lifting, creep
of plastic after tightening. Let the weight hang freely and bring the handle up
to it from below. Gravity is standard unless --latitude is given.

Exit status: 0 done; 2 the command line is wrong.`,
		Example: `  griptrial clamp --weight "5 kg" --arm "150 mm" --pitch-diameter "18 mm" --lead "4 mm" --half-flank 15deg \
    --thread-friction 0.10..0.20 --collar-friction 0.12 --collar-diameter "24 mm"
  griptrial clamp --json --torque "15 lbf·ft" --pitch-diameter "0.75 in" --lead "0.2 in" --half-flank 14.5deg --thread-friction 0.15`,
		Args: exactly(0, "flags only"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			f.hasPlace = cmd.Flags().Changed("latitude")
			if cmd.Flags().Changed("altitude") && !f.hasPlace {
				return usageError{errors.New("--altitude says nothing without --latitude; give both or neither")}
			}
			f.hasCollar = cmd.Flags().Changed("collar-friction")
			return runClamp(a, f)
		},
	}
	s := cmd.Flags()
	s.StringVar(&f.weight, "weight", "", `weight hung on the handle, as "5 kg"`)
	s.StringVar(&f.arm, "arm", "", `from the screw's axis to the weight, as "150 mm"`)
	s.StringVar(&f.torque, "torque", "", `torque instead of weight and arm, as "10 N·m" or "15 lbf·ft"`)
	s.StringVar(&f.handleMass, "handle-mass", "", "mass of the handle itself")
	s.StringVar(&f.handleArm, "handle-arm", "", "from the screw's axis to the handle's centre of mass")
	s.StringVar(&f.handleTilt, "handle-tilt", "0deg", "tilt of the handle from level")
	s.StringVar(&f.pitchDiameter, "pitch-diameter", "", "pitch diameter of the thread")
	s.StringVar(&f.lead, "lead", "", "travel of the screw in one turn: pitch times starts")
	s.StringVar(&f.halfFlank, "half-flank", "0deg", "half the thread's flank angle: 0 square, 15deg metric trapezoidal, 14.5deg Acme")
	s.StringVar(&f.thread, "thread-friction", "", "friction in the thread, as 0.15 or 0.10..0.20")
	s.StringVar(&f.collar, "collar-friction", "", "friction under the screw's collar; leave out where there is none")
	s.StringVar(&f.collarDiameter, "collar-diameter", "", "mean diameter of the collar")
	s.BoolVar(&f.sameGrease, "same-grease", false, "collar friction equals thread friction, whatever that is")
	s.Float64Var(&f.latitude, "latitude", 0, "degrees north of the equator, for local gravity")
	s.StringVar(&f.altitude, "altitude", "0 m", "height above the sea, with --latitude")
	s.Uint64Var(&f.seed, "seed", 1, "of the Monte Carlo draws")
	s.StringVar(&f.unit, "unit", "", "unit of the clamp force in the answer (default: lbf with pounds, kgf with kgf·cm, otherwise N); --json is in N")
	s.Float64Var(&f.confidence, "confidence", 0.95, "of the interval")
	s.BoolVar(&f.json, "json", false, "print one JSON object")
	return cmd
}

// clampResult is what `clamp --json` prints.
type clampResult struct {
	Torque float64 `json:"torque_Nm"`
	Clamp  struct {
		Value    float64 `json:"value"`
		Mean     float64 `json:"mean"`
		Standard float64 `json:"standard_uncertainty"`
		Lower    float64 `json:"lower"`
		Upper    float64 `json:"upper"`
	} `json:"clamp_N"`
	Efficiency float64 `json:"efficiency"`
	Confidence float64 `json:"confidence"`
	Draws      int     `json:"draws"` // 0: nothing is uncertain
	Seed       uint64  `json:"seed"`
}

func runClamp(a *app, f clampFlags) error {
	if !(f.confidence > 0 && f.confidence < 1) {
		return usageError{fmt.Errorf("--confidence %v: give a share between 0 and 1, such as 0.95", f.confidence)}
	}
	rig, err := f.rig()
	if err != nil {
		return err
	}
	res := clampResult{Confidence: f.confidence, Seed: f.seed}
	if res.Torque, res.Clamp.Value, res.Efficiency, err = rig.Nominal(); err != nil {
		return usageError{err}
	}
	d, err := rig.Spread(uncertainty.Options{Seed: f.seed, Confidence: f.confidence})
	if err != nil {
		return usageError{err}
	}
	res.Draws = d.Draws
	res.Clamp.Mean, res.Clamp.Standard, res.Clamp.Lower, res.Clamp.Upper = d.Mean, d.SD, d.Lower, d.Upper
	if f.json {
		return printJSON(a.stdout, res)
	}
	return printClamp(a.stdout, res, f.shown)
}

// rig reads the flags.
func (f *clampFlags) rig() (clamp.Rig, error) {
	var r clamp.Rig
	typed := map[string]string{}
	switch {
	case f.torque != "" && (f.weight != "" || f.arm != "" || f.handleMass != ""):
		return r, usageError{errors.New("give --torque, or --weight and --arm, not both")}
	case f.torque == "" && (f.weight == "" || f.arm == ""):
		return r, usageError{errors.New("clamp needs --weight and --arm, or --torque; see `griptrial clamp --help`")}
	case f.pitchDiameter == "" || f.lead == "" || f.thread == "":
		return r, usageError{errors.New("clamp needs --pitch-diameter, --lead and --thread-friction to know the screw; without it only ratios between facings can be had")}
	case (f.handleMass == "") != (f.handleArm == ""):
		return r, usageError{errors.New("--handle-mass and --handle-arm belong together")}
	case f.hasCollar && f.sameGrease:
		return r, usageError{errors.New("--same-grease takes the collar's friction from the thread's; leave out --collar-friction")}
	case f.sameGrease && f.collarDiameter == "":
		return r, usageError{errors.New("--same-grease needs --collar-diameter")}
	case f.collarDiameter != "" && !f.hasCollar && !f.sameGrease:
		return r, usageError{errors.New("--collar-diameter needs --collar-friction or --same-grease")}
	}
	for _, q := range []struct {
		flag, text string
		kind       unit.Kind
		to         *clamp.Band
	}{
		{"torque", f.torque, unit.Torque, &r.Torque},
		{"weight", f.weight, unit.Mass, &r.Weight},
		{"arm", f.arm, unit.Length, &r.Arm},
		{"handle-mass", f.handleMass, unit.Mass, &r.HandleMass},
		{"handle-arm", f.handleArm, unit.Length, &r.HandleArm},
		{"handle-tilt", f.handleTilt, unit.Angle, &r.Tilt},
		{"pitch-diameter", f.pitchDiameter, unit.Length, &r.PitchDiameter},
		{"lead", f.lead, unit.Length, &r.Lead},
		{"half-flank", f.halfFlank, unit.Angle, &r.HalfFlank},
		{"collar-diameter", f.collarDiameter, unit.Length, &r.CollarDiameter},
	} {
		var err error
		var u unit.Unit
		if *q.to, u, err = bandOf(q.flag, q.kind, q.text); err != nil {
			return r, err
		}
		typed[q.flag] = u.Name
	}
	var err error
	if f.shown, err = f.units(typed); err != nil {
		return r, err
	}
	if r.Thread, err = numberBandOf("thread-friction", f.thread); err != nil {
		return r, err
	}
	r.SameGrease = f.sameGrease
	if f.hasCollar {
		if r.Collar, err = numberBandOf("collar-friction", f.collar); err != nil {
			return r, err
		}
		if !(r.Collar.Low > 0) {
			return r, usageError{fmt.Errorf("--collar-friction %s: must be above 0; leave it out where there is no collar", f.collar)}
		}
	}
	r.Gravity = clamp.StandardGravity
	if f.hasPlace {
		altitude, _, err := quantityOf("altitude", unit.Length, f.altitude)
		if err != nil {
			return r, err
		}
		if r.Gravity, err = clamp.Gravity(f.latitude*math.Pi/180, altitude); err != nil {
			return r, usageError{err}
		}
	}
	return r, nil
}

// units chooses what the answer is shown in: as asked, or as typed.
func (f *clampFlags) units(typed map[string]string) (clampUnits, error) {
	torque, force := typed["torque"], "N"
	pounds := typed["weight"] == "lb" || typed["weight"] == "oz"
	switch {
	case strings.HasPrefix(torque, "lbf"), pounds:
		force = "lbf"
	case strings.HasPrefix(torque, "kgf"):
		force = "kgf"
	}
	if torque == "" {
		torque = "N·m"
		if pounds && typed["arm"] == "in" {
			torque = "lbf·in"
		}
	}
	if f.unit != "" {
		force = f.unit
	}
	var c clampUnits
	var err error
	if c.torque, err = unit.Lookup(unit.Torque, torque); err != nil {
		return c, err
	}
	if c.force, err = unit.Lookup(unit.Force, force); err != nil {
		return c, usageError{fmt.Errorf("--unit: %w", err)}
	}
	return c, nil
}

// printClamp tells a person.
func printClamp(w io.Writer, r clampResult, u clampUnits) error {
	force := func(v float64) string { return u.force.Format(v, 4) }
	spread := "nothing is given as a range, so this is a single value"
	if r.Draws > 0 {
		spread = fmt.Sprintf("%.4g %% of draws from %s to %s; mean %s, standard uncertainty %s (%.1f %%)",
			100*r.Confidence, force(r.Clamp.Lower), force(r.Clamp.Upper), force(r.Clamp.Mean), u.force.Format(r.Clamp.Standard, 3), 100*r.Clamp.Standard/r.Clamp.Mean)
	}
	_, err := fmt.Fprintf(w, `torque       %s
clamp force  %s on each jaw face
spread       %s
efficiency   %.1f %% of the torque makes clamp force, the rest is friction

The spread is the same for every facing clamped with this weight, so it cancels
in their ratios; it stays in mu. For holding count on the low end, for crushing
on the high end.
`, u.torque.Format(r.Torque, 4), force(r.Clamp.Value), spread, 100*r.Efficiency)
	return err
}
