package simrig

import (
	"math"

	"griptrial/analysis/trial"
)

// Study describes the shop's trial as study.toml would: what is known in the
// shop, which is the handle weights and a range of screw friction, not the
// clamp forces.
func (s Shop) Study() trial.Study {
	study := trial.Study{
		Format: 1, Name: "acrylic blanks", Unit: "N",
		Question: "Which facing holds a cast-acrylic blank, gripped 3 mm deep, with the least squeeze?",
		Plan:     trial.Plan{Blocks: 2, Repeats: 1, Seed: s.Seed},
		Handle:   trial.Handle{Arm: 150e-3, Mass: 0.2, MassArm: 70e-3},
		Screw: trial.Screw{
			PitchDiameter: 18e-3, Lead: 4e-3, HalfFlank: 15 * math.Pi / 180,
			ThreadLow: 0.10, ThreadHigh: 0.20, CollarLow: 0.12, CollarHigh: 0.12, CollarDiameter: 24e-3,
		},
		Pull:  s.Setup,
		Scale: trial.Scale{Kind: "cell", Capacity: s.Cell.Capacity},
	}
	for i, f := range s.Facings {
		study.Facings = append(study.Facings, trial.Facing{Name: f.Name, Control: i == 0, Samples: f.Samples})
	}
	for _, l := range s.Levels {
		study.Levels = append(study.Levels, trial.Level{Name: l.Name, Weight: l.Weight, Usual: l.Name == "usual"})
	}
	return study
}
