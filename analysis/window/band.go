package window

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"griptrial/analysis/clamp"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// Source says where the clamp forces come from that stand behind a friction
// coefficient.
type Source uint8

const (
	Measured Source = iota // none of them hangs on the screw's friction
	Computed               // all are computed from the handle weight, at the middle of the screw's friction
	Mixed                  // some are
)

// Facing is what the trial says of one facing.
type Facing struct {
	Name      string
	Mu        float64 // lower tolerance bound of friction; NaN where there is none
	From      Source  // of the clamp forces behind Mu
	Why       string  // the reason for a Mu of NaN
	Low, High float64 // N, least and greatest clamp force tried; 0: not known
}

// Band is the band of clamp force of one facing. What is not known is NaN.
type Band struct {
	Facing      string
	Mu          float64 // lower tolerance bound of friction, as the trial gives it
	MuLow       float64 // the same at the end of the screw's friction where it is least
	Least       float64 // N on each face that holds every stage
	Most        float64 // N that every stage of the part bears
	LeastWeight float64 // kg on the handle that hold every stage whatever the screw's friction
	MostWeight  float64 // kg that every stage bears whatever the screw's friction
	LeastStage  string
	MostStage   string
	MostBy      Limit
	Demand      Demand
	Stages      []StageBand
	// Margin is how much more the cut could ask: above 1 the window is open. It
	// counts the screw's friction range where weights are known.
	Margin float64
	Open   bool
	Beyond bool // Least lies outside the clamp forces tried
	Why    string
	Ways   []Way    // what would open a closed window, each alone
	NoWays []string // lighter cuts that would have to be absurdly light
}

// StageBand is the band of one stage alone.
type StageBand struct {
	Stage       string
	Least, Most float64 // N
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
	b := bander{stages: stages, handle: study.Handle, screw: study.Screw, length: shownIn(study, "part[0].length", "mm"), typed: study}
	for _, s := range stages {
		r.Stages = append(r.Stages, StageResult{Stage: s, Limits: Limits(s.Part, b.length), OpensBelow: s.OpensBelow(), Defaults: s.defaults()})
	}
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
	if err := b.ways(facings, r.Bands); err != nil {
		return Result{}, err
	}
	r.Notes = b.notes(facings, r.Bands)
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

// shownIn is the unit in which a length was typed, or else another.
func shownIn(study trial.Study, key, otherwise string) unit.Unit {
	u, err := unit.Lookup(unit.Length, study.Typed[key])
	if err != nil {
		u, _ = unit.Lookup(unit.Length, otherwise)
	}
	return u
}

// bander holds what all facings share.
//
// The screw's friction makes one torque into more or less clamp force; with K
// the torque per newton, low and high are its least and its greatest over that
// at the middle of the friction ranges.
//
// Where a trial's clamp forces were computed from weights on this very screw,
// the friction is in mu and in the weight alike, and cancels: a pull F at the
// weight w gave mu = F·K/(2·w·g·arm·phi), so the weight that carries a friction
// need of H by that mu is proportional to H·K/mu, whatever K truly is. Only what
// presses against the jaws outright, |Fy|, still asks for its weight at the
// highest friction. In newtons it is the other way round: mu is least where the
// friction is least. In multiples of the torque per newton at the middle:
//
//	newtons, least    max [ H/(mu·low) + |Fy| ]          mu computed; H/mu where measured
//	weight, least     max [ H/mu + |Fy|·high ]           mu computed
//	                  max [ H/mu + |Fy| ]·high           mu measured
//	                  max [ H/(mu·low) + |Fy| ]·high     some of both: twice, on the safe side
//	weight, most      low·N_most
//
// That is the first-order law of JCGM 100, 5.2 for one input that two factors
// share, taken to the ends of its range and not to its standard uncertainty.
type bander struct {
	stages    []Stage
	handle    trial.Handle
	screw     trial.Screw
	most      float64
	mostBy    Limit
	mostStage string
	low, high float64
	weights   bool      // weights on the handle can be told
	length    unit.Unit // of the part, in words
	typed     trial.Study
}

func (b *bander) prepare() error {
	b.most, b.mostBy, b.mostStage = b.mostOf(b.stages)
	b.low, b.high = 1, 1
	b.weights = clamp.Known(b.screw) && b.handle.Arm > 0
	if !b.weights {
		return nil
	}
	r, err := clamp.Force(b.handle, b.screw, 1)
	if err != nil {
		return err
	}
	b.low, b.high = r.Value/r.High, r.Value/r.Low
	return nil
}

// mostOf is the least of all limits, NaN where none is known.
func (b *bander) mostOf(stages []Stage) (force float64, by Limit, stage string) {
	force = math.NaN()
	for _, s := range stages {
		for _, l := range Limits(s.Part, b.length) {
			if !(l.Force >= force) {
				force, by, stage = l.Force, l, s.Name
			}
		}
	}
	return force, by, stage
}

// want is how a need counts: Hold times hold and |Fy| times press.
type want struct{ hold, press float64 }

// newtons is the want of the clamp force itself.
func (b *bander) newtons(f Facing) want {
	if f.From == Measured {
		return want{1 / f.Mu, 1}
	}
	return want{1 / (f.Mu * b.low), 1}
}

// need is the want that room is compared with: of the weight, in newtons at
// the middle of the screw's friction, where weights are known.
func (b *bander) need(f Facing) want {
	switch w := b.newtons(f); {
	case !b.weights:
		return w
	case f.From == Computed:
		return want{1 / f.Mu, b.high}
	default:
		return want{w.hold * b.high, b.high}
	}
}

// room is the greatest need that leaves the window open.
func (b *bander) room(most float64) float64 { return most * b.low }

// greatest is the greatest need over the stages.
func greatest(stages []Stage, w want) (Demand, string, error) {
	var most Demand
	name := ""
	for _, s := range stages {
		d, err := s.worst(w.hold, w.press)
		if err != nil {
			return most, name, fmt.Errorf("stage %q: %w", s.Name, err)
		}
		if d.Force > most.Force || name == "" {
			most, name = d, s.Name
		}
	}
	return most, name, nil
}

func (b *bander) band(f Facing) (Band, error) {
	nan := math.NaN()
	band := Band{Facing: f.Name, Mu: f.Mu, MuLow: nan, Least: nan, Most: b.most, LeastWeight: nan, MostWeight: nan,
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
	if !positive(f.Mu) {
		return band, fmt.Errorf("friction must be above 0, got %.4g", f.Mu)
	}
	if err := b.holds(f, &band); err != nil {
		return band, err
	}
	if math.IsNaN(b.most) {
		band.Why = "what the part bears is not known: give its yield in [[part]]"
	}
	return band, nil
}

// holds fills in what holding takes.
func (b *bander) holds(f Facing, band *Band) error {
	w := b.newtons(f)
	band.MuLow = 1 / w.hold
	d, stage, err := greatest(b.stages, w)
	if err != nil {
		return err
	}
	band.Demand, band.LeastStage, band.Least = d, stage, d.Force
	for _, s := range b.stages {
		d, err := s.worst(w.hold, w.press)
		if err != nil {
			return err
		}
		most, _, _ := b.mostOf([]Stage{s})
		band.Stages = append(band.Stages, StageBand{s.Name, d.Force, most})
	}
	need := d.Force
	if b.weights {
		d, stage, err := greatest(b.stages, b.need(f))
		if err != nil {
			return err
		}
		need, band.LeastStage = d.Force, stage
		if band.LeastWeight, err = clamp.WeightForMiddle(b.handle, b.screw, need); err != nil { // the handle alone holds
			band.LeastWeight = 0
		}
	}
	band.Margin = b.room(b.most) / need
	band.Open = band.Margin >= 1
	tried := d.Force
	if f.From == Computed { // the forces tried are those at the middle too
		d, _, err := greatest(b.stages, want{1 / f.Mu, 1})
		if err != nil {
			return err
		}
		tried = d.Force
	}
	band.Beyond = f.High > 0 && (tried < f.Low || tried > f.High)
	return nil
}

// sourceNotes say how the screw's friction enters the least weight.
var sourceNotes = []struct {
	from       Source
	code, text string
}{
	{Computed, "screw-cancels", "The trial's clamp forces came from weights on this very screw. Its friction is then in mu and in the least weight alike and cancels, as long as the screw is as it was: only what the cut presses against the jaws is taken at the highest friction. In newtons it does not cancel: there mu is taken where it is least, at the lowest friction."},
	{Measured, "screw-highest", "The trial's clamp forces were measured, so the least weight is that at the highest screw friction."},
	{Mixed, "screw-twice", "Some of the trial's clamp forces were measured and some computed from weights, so the screw's friction is counted twice, on the safe side: mu where it is least, and the least weight at the highest friction."},
}

// notes says what stands behind the figures.
func (b *bander) notes(facings []Facing, bands []Band) []Note {
	notes := []Note{{"careful-rule", "Least force by the careful rule: even pressure, and friction alone keeps the part from tipping. Both faces grip alike."}}
	add := func(code, format string, args ...any) {
		notes = append(notes, Note{code, fmt.Sprintf(format, args...)})
	}
	if b.weights {
		add("screw-range", "The most weight is that at the lowest screw friction.")
		for _, n := range sourceNotes {
			if slices.ContainsFunc(facings, func(f Facing) bool { return f.From == n.from && !math.IsNaN(f.Mu) }) {
				add(n.code, "%s", n.text)
			}
		}
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
		if s.Part.RingRadius > 0 && s.Part.RingRadius < 1.5*s.Part.RingWall {
			add("thick-ring", "Stage %q: the ring is nearly solid; beam formulas, even those for thick rings, are rough there.", s.Name)
		}
		if n := s.OpensBelow(); n > 0 && !math.IsNaN(b.most) && n > b.most {
			add("opens", "Stage %q: were the tipping taken by pressure alone, the contact would open at any clamp force the part bears.", s.Name)
		}
	}
	var beyond []string
	for _, band := range bands {
		if band.Beyond {
			beyond = append(beyond, band.Facing)
		}
	}
	if len(beyond) > 0 {
		add("beyond", "The least force lies outside the clamp forces tried for %s; friction may differ there.", strings.Join(beyond, ", "))
	}
	return notes
}
