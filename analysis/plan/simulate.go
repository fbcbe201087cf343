package plan

import (
	"fmt"
	"math"
	"math/rand/v2"

	"griptrial/analysis/dist"
	"griptrial/analysis/fit"
	"griptrial/analysis/trial"
)

// Simulated is the power of a design found by making the trial up many times.
type Simulated struct {
	Power   float64 `json:"power"`
	Error   float64 `json:"standard_error"` // of Power, from the number of draws
	Held    float64 `json:"held"`           // share of the facing's pulls that reached the scale's end
	Draws   int     `json:"draws"`
	NoFit   int     `json:"no_fit"` // draws that gave no interval; they count as not shown
	Ceiling bool    `json:"ceiling"`
}

// Headroom is how far the scale's end lies above what a facing is expected to
// hold, on the log scale, at each clamp level: log(capacity/force). For a claim
// on a ratio the force is claim.Expect (1 where it is not said) times the
// geometric mean of the control's slipped pulls over their handle weight, at the
// level's weight; for one on a force it is claim.Expect times the claimed force,
// in proportion to the levels' weights. nil where the scale's end, the weights or
// the control's pulls are not known.
func Headroom(s trial.Study, claim trial.Claim, readings []trial.Reading) []float64 {
	expect := claim.Expect
	if expect == 0 {
		expect = 1
	}
	perWeight, ok := 0.0, false // log force per kg on the handle
	if claim.Kind == "force" {
		for _, l := range s.Levels {
			if l.Name == claim.Level && l.Weight > 0 && claim.Force > 0 {
				perWeight, ok = math.Log(claim.Force/l.Weight), true
			}
		}
	} else {
		perWeight, ok = controlGrip(s, readings)
	}
	if s.Scale.Capacity <= 0 || !ok {
		return nil
	}
	var room []float64
	for _, l := range s.Levels {
		if l.Weight <= 0 {
			return nil
		}
		room = append(room, math.Log(s.Scale.Capacity)-perWeight-math.Log(l.Weight*expect))
	}
	return room
}

// controlGrip is the mean log force per handle weight of the control's pulls.
func controlGrip(s trial.Study, readings []trial.Reading) (float64, bool) {
	control := ""
	for _, f := range s.Facings {
		if f.Control {
			control = f.Name
		}
	}
	var logs []float64
	for _, r := range readings {
		if r.Facing == control && r.Outcome == trial.Slipped && r.Force > 0 && r.Weight > 0 {
			logs = append(logs, math.Log(r.Force/r.Weight))
		}
	}
	return mean(logs), len(logs) > 0
}

// Simulate finds the power of a design by drawing log values for every facing,
// fitting them with the model that the analysis fits (least squares; REML with
// samples; maximum likelihood with held pulls; both), and judging the claim as
// the analysis does: by the adjusted interval of a ratio, by two one-sided tests,
// or by the tolerance bound.
//
// headroom is that of Headroom, taken in turn by the pulls, so that those that
// reach the scale's end are held; nil: the scale has no end. Facings other than
// the claim's grip like the control. The generator is PCG with the seed given.
// tell, which may be nil, is called after each draw.
//
// Refused: fewer than two of each.
func Simulate(d Design, s Step, headroom []float64, draws int, seed uint64, tell func()) (Simulated, error) {
	out := Simulated{Draws: draws, Ceiling: len(headroom) > 0}
	if s.Samples == 1 || s.Samples == 0 && s.Each < 2 || draws < 1 {
		return out, &RefusedError{fmt.Sprintf("%d samples and %d pulls of each give nothing to simulate", s.Samples, s.Each)}
	}
	r := rand.New(rand.NewPCG(seed, stream))
	shown, held := 0, 0
	for range draws {
		data, n := d.draw(r, s, headroom)
		held += n
		if model, err := fitDrawn(data); err != nil {
			out.NoFit++
		} else if d.shows(model) {
			shown++
		}
		if tell != nil {
			tell()
		}
	}
	out.Power = float64(shown) / float64(draws)
	out.Error = math.Sqrt(out.Power * (1 - out.Power) / float64(draws))
	out.Held = float64(held) / float64(draws*max(s.Samples, 1)*s.Each)
	return out, nil
}

// shows judges the claim on a drawn trial, where facing 1 (0 where it is alone)
// is the claim's.
func (d *Design) shows(f *fit.Fitted) bool {
	switch d.Claim.Kind {
	case "force": // values are over the claimed force
		return f.Tolerance(f.Mean(0), d.Claim.Coverage, confidence) >= 0
	case "same":
		l, _ := f.Difference(0, 1)
		lower, upper := f.Limits(l, 2*confidence-1)
		margin := math.Log1p(d.Claim.Within)
		return lower >= -margin && upper <= margin
	}
	l, _ := f.Difference(0, 1)
	_, _, df := f.Contrast(l)
	lower, _ := f.LimitsAt(l, d.critical(df))
	return lower >= math.Log(d.Claim.Ratio)
}

// critical is Dunnett's critical value for the facings of the study, alike in
// number. It is kept by degrees of freedom to a tenth, which moves it by less than
// a simulation can show.
func (d *Design) critical(df float64) float64 {
	if math.IsNaN(df) {
		return math.NaN()
	}
	tenth := int(math.Round(10 * math.Max(1, df)))
	if t, ok := d.kept[tenth]; ok {
		return t
	}
	ones := make([]float64, max(1, d.Facings-1))
	for i := range ones {
		ones[i] = 1
	}
	if d.kept == nil {
		d.kept = map[int]float64{}
	}
	d.kept[tenth] = dist.NewManyToOne(dist.Loads(1, ones)).Quantile(1-confidence, float64(tenth)/10)
	return d.kept[tenth]
}

// draw makes up one trial: facing 0 is the control and 1 the claim's, or 0 the
// claim's alone. held counts that facing's pulls that reached the scale's end.
func (d *Design) draw(r *rand.Rand, s Step, headroom []float64) (data fit.Data, held int) {
	expect := math.Log(d.Claim.Expect)
	means, claimed := make([]float64, max(2, d.Facings)), 1
	means[1] = expect
	if d.alone() {
		means, claimed = []float64{expect}, 0
	}
	data.Facings = len(means)
	for facing, mean := range means {
		for range max(s.Samples, 1) {
			sample := 0.0
			if s.Samples > 0 {
				sample = d.SampleSpread * r.NormFloat64()
				data.Samples++
			}
			for k := range s.Each {
				v := mean + sample + d.Spread*r.NormFloat64()
				lower, upper := v, v
				if len(headroom) > 0 {
					if end := expect + headroom[k%len(headroom)]; v > end {
						lower, upper = end, math.Inf(1)
						if facing == claimed {
							held++
						}
					}
				}
				data.Lower, data.Upper = append(data.Lower, lower), append(data.Upper, upper)
				data.Facing = append(data.Facing, facing)
				if s.Samples > 0 {
					data.Sample = append(data.Sample, data.Samples-1)
				}
			}
		}
	}
	return data, held
}

// fitDrawn chooses the estimator as the analysis does.
func fitDrawn(d fit.Data) (*fit.Fitted, error) {
	// One pull a sample: the samples' spread is part of the pulls'.
	sampled := d.Samples > 0 && d.Samples < len(d.Lower)
	if !sampled {
		d.Sample, d.Samples = nil, 0
	}
	for i := range d.Lower {
		switch {
		case d.Lower[i] == d.Upper[i]:
		case sampled:
			return fit.RestrictedCensored(d)
		default:
			return fit.Censored(d)
		}
	}
	if sampled {
		return fit.Restricted(d)
	}
	return fit.Ordinary(d)
}
