package window

import (
	"errors"
	"fmt"
	"math"

	"griptrial/analysis/clamp"
	"griptrial/analysis/trial"
)

// Facing is what the trial says of one facing.
type Facing struct {
	Name      string
	Mu        float64 // lower tolerance bound of friction; NaN where there is none
	Why       string  // the reason for a Mu of NaN
	Low, High float64 // N, least and greatest clamp force tried; 0: not known
}

// Band is the band of clamp force of one facing. What is not known is NaN.
type Band struct {
	Facing      string
	Mu          float64
	Least       float64 // N on each face that holds every stage
	Most        float64 // N that every stage of the part bears
	LeastWeight float64 // kg on the handle that make Least at the highest screw friction
	MostWeight  float64 // kg that make no more than Most at the lowest
	LeastStage  string
	MostStage   string
	MostBy      Limit
	Demand      Demand
	// Margin is how much more the cut could ask: above 1 the window is open. It
	// counts the screw's friction range where weights are known.
	Margin float64
	Open   bool
	Beyond bool // Least lies outside the clamp forces tried
	Why    string
	Ways   []Way // what would open a closed window, each alone
}

// Result is the answer for a study.
type Result struct {
	Stages []StageResult
	Bands  []Band
	Notes  []Note
}

// StageResult is one stage without regard to the facing.
type StageResult struct {
	Stage      Stage
	Limits     []Limit
	OpensBelow float64 // N; see Stage.OpensBelow
	Defaults   []string
}

// Note is a typed remark.
type Note struct{ Code, Text string }

// Find gives the band of every facing under the study's cuts and parts.
//
// Each cut goes with the part of the same stage, or with the only part. The
// tightest stage decides both ends: one clamping has to last through all.
// Errors: no cut or no part, a stage without its part, those of NewStage.
func Find(study trial.Study, facings []Facing) (Result, error) {
	stages, err := pair(study)
	if err != nil {
		return Result{}, err
	}
	var r Result
	for _, s := range stages {
		r.Stages = append(r.Stages, s.describe())
	}
	b := bander{stages: stages, handle: study.Handle, screw: study.Screw}
	if err := b.prepare(); err != nil {
		return Result{}, err
	}
	for _, f := range facings {
		band, err := b.band(f)
		if err != nil {
			return Result{}, fmt.Errorf("facing %q: %w", f.Name, err)
		}
		r.Bands = append(r.Bands, band)
	}
	if err := b.ways(r.Bands); err != nil {
		return Result{}, err
	}
	r.Notes = b.notes(r.Bands)
	return r, nil
}

// pair joins cuts and parts.
func pair(study trial.Study) ([]Stage, error) {
	switch {
	case len(study.Cut) == 0:
		return nil, errors.New("the study describes no cut; add a [[cut]] table to study.toml")
	case len(study.Part) == 0:
		return nil, errors.New("the study describes no part; add a [[part]] table to study.toml")
	}
	var stages []Stage
	for i, c := range study.Cut {
		part, found := study.Part[0], len(study.Part) == 1
		for _, p := range study.Part {
			if p.Stage == c.Stage && !found {
				part, found = p, true
			}
		}
		name := c.Stage
		if name == "" {
			name = fmt.Sprintf("cut %d", i+1)
		}
		if !found {
			return nil, fmt.Errorf("stage %q: no [[part]] table has this stage", name)
		}
		s, err := NewStage(c, part)
		if err != nil {
			return nil, fmt.Errorf("stage %q: %w", name, err)
		}
		s.Name = name
		stages = append(stages, s)
	}
	return stages, nil
}

func (s Stage) describe() StageResult {
	return StageResult{Stage: s, Limits: Limits(s.Part), OpensBelow: s.OpensBelow(), Defaults: s.defaults()}
}

// bander holds what all facings share.
type bander struct {
	stages    []Stage
	handle    trial.Handle
	screw     trial.Screw
	most      float64
	mostBy    Limit
	mostStage string
	spread    float64 // torque per newton at the lowest screw friction over that at the highest; 1 without a screw
	weights   bool
}

func (b *bander) prepare() error {
	b.most, b.mostBy, b.mostStage = mostOf(b.stages)
	b.spread = 1
	b.weights = clamp.Known(b.screw) && b.handle.Arm > 0
	if !b.weights {
		return nil
	}
	r, err := clamp.Force(b.handle, b.screw, 1)
	if err != nil {
		return err
	}
	b.spread = r.Low / r.High
	return nil
}

// mostOf is the least of all limits, NaN where none is known.
func mostOf(stages []Stage) (force float64, by Limit, stage string) {
	force = math.NaN()
	for _, s := range stages {
		for _, l := range Limits(s.Part) {
			if !(l.Force >= force) {
				force, by, stage = l.Force, l, s.Name
			}
		}
	}
	return force, by, stage
}

// leastOf is the greatest demand over the stages.
func leastOf(stages []Stage, mu float64) (Demand, string, error) {
	var most Demand
	name := ""
	for _, s := range stages {
		d, err := s.Least(mu)
		if err != nil {
			return most, name, fmt.Errorf("stage %q: %w", s.Name, err)
		}
		if d.Force > most.Force || name == "" {
			most, name = d, s.Name
		}
	}
	return most, name, nil
}

// allowed is the greatest Least that still leaves the window open.
func (b *bander) allowed(most float64) float64 { return most * b.spread }

func (b *bander) band(f Facing) (Band, error) {
	nan := math.NaN()
	band := Band{Facing: f.Name, Mu: f.Mu, Least: nan, Most: b.most, LeastWeight: nan, MostWeight: nan,
		MostBy: b.mostBy, MostStage: b.mostStage, Margin: nan}
	if b.weights && !math.IsNaN(b.most) {
		w, err := clamp.WeightForSpare(b.handle, b.screw, b.most)
		if err != nil { // the handle alone is too much
			w = nan
		}
		band.MostWeight = w
	}
	if math.IsNaN(f.Mu) {
		band.Why = f.Why
		return band, nil
	}
	d, stage, err := leastOf(b.stages, f.Mu)
	if err != nil {
		return band, err
	}
	band.Demand, band.LeastStage, band.Least = d, stage, d.Force
	if b.weights {
		w, err := clamp.WeightForHold(b.handle, b.screw, d.Force)
		if err != nil { // the handle alone holds
			w = 0
		}
		band.LeastWeight = w
	}
	band.Beyond = f.High > 0 && (d.Force < f.Low || d.Force > f.High)
	if math.IsNaN(b.most) {
		band.Why = "what the part bears is not known: give its yield in [[part]]"
		return band, nil
	}
	band.Margin = b.allowed(b.most) / d.Force
	band.Open = band.Margin >= 1
	return band, nil
}

// notes says what stands behind the figures.
func (b *bander) notes(bands []Band) []Note {
	notes := []Note{{"careful-rule", "Least force by the careful rule: even pressure, and friction alone keeps the part from tipping. Both faces grip alike."}}
	add := func(code, format string, args ...any) {
		notes = append(notes, Note{code, fmt.Sprintf(format, args...)})
	}
	if b.weights {
		add("screw-range", "Least weight at the highest screw friction, most weight at the lowest. Where mu itself came from this screw its friction is counted twice, on the safe side.")
	} else {
		add("no-weight", "No weight on the handle is given: the handle's arm or the screw is not described.")
	}
	for _, s := range b.stages {
		if s.Part.Yield == 0 {
			add("no-yield", "Stage %q: the part's yield is not given, so crushing is not looked at.", s.Name)
		}
		if s.Part.Floor > 0 && s.Part.Modulus == 0 {
			add("no-modulus", "Stage %q: a floor or wall is given without the modulus, so buckling is not looked at.", s.Name)
		}
		if s.Part.Flex > 0 && s.Part.Modulus == 0 {
			add("no-modulus", "Stage %q: an allowed flex is given without the modulus, so bending is not looked at.", s.Name)
		}
		if s.Part.RingRadius > 0 && s.Part.RingRadius < 5*s.Part.RingWall {
			add("thick-ring", "Stage %q: the ring is thicker than the thin-ring formulas are good for.", s.Name)
		}
		if n := s.OpensBelow(); n > 0 && !math.IsNaN(b.most) && n > b.most {
			add("opens", "Stage %q: were the tipping taken by pressure alone, the contact would open at any clamp force the part bears (below %.0f N).", s.Name, n)
		}
	}
	for _, band := range bands {
		if band.Beyond {
			add("beyond", "%s: the least force lies outside the clamp forces tried; friction may differ there.", band.Facing)
		}
	}
	return notes
}
