package plan

import (
	"fmt"
	"math"
	"math/rand/v2"

	"griptrial/analysis/compare"
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
// hold, on the log scale, at each clamp level: log(capacity/force). The force
// is claim.Expect times the geometric mean of the control's slipped pulls over
// their squeeze, at the level's squeeze. nil where the scale's end, the squeeze
// or the control's pulls are not known.
func Headroom(s trial.Study, claim trial.Claim, readings []trial.Reading) []float64 {
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
	if s.Scale.Capacity <= 0 || claim.Expect <= 0 || len(logs) == 0 {
		return nil
	}
	var room []float64
	for _, l := range s.Levels {
		if l.Weight <= 0 {
			return nil
		}
		room = append(room, math.Log(s.Scale.Capacity)-mean(logs)-math.Log(l.Weight*claim.Expect))
	}
	return room
}

// Simulate finds the power of a design by drawing log values for the facing and
// the control, fitting them with the model that the analysis fits (least
// squares; REML with samples; maximum likelihood with held pulls), and counting
// how often the lower end of the 95 % interval lies above the claimed ratio.
//
// headroom is that of Headroom, taken in turn by the pulls, so that those that
// reach the scale's end are held; nil: the scale has no end. The control has
// log(claim.Expect) more. The generator is PCG with the seed given.
//
// Refused: samples and held pulls together, and fewer than two of each.
func Simulate(d Design, s Step, headroom []float64, draws int, seed uint64) (Simulated, error) {
	out := Simulated{Draws: draws, Ceiling: len(headroom) > 0}
	switch {
	case s.Samples > 0 && out.Ceiling:
		return out, &RefusedError{"how pulls that reach the scale's end bear on the power, together with samples, is not worked out; use a scale that no pull exceeds"}
	case s.Samples == 1 || s.Samples == 0 && s.Each < 2 || draws < 1:
		return out, &RefusedError{fmt.Sprintf("%d samples and %d pulls of each give nothing to simulate", s.Samples, s.Each)}
	}
	r := rand.New(rand.NewPCG(seed, stream))
	shown, held := 0, 0
	for range draws {
		data, n := d.draw(r, s, headroom)
		held += n
		model, err := fitDrawn(data)
		if err != nil {
			out.NoFit++
			continue
		}
		c := compare.AgainstControl(model, 0, []int{1}, 1-2*level)
		if len(c) == 1 && c[0].Single.Lower > math.Log(d.Claim.Ratio) {
			shown++
		}
	}
	out.Power = float64(shown) / float64(draws)
	out.Error = math.Sqrt(out.Power * (1 - out.Power) / float64(draws))
	out.Held = float64(held) / float64(draws*max(s.Samples, 1)*s.Each)
	return out, nil
}

// draw makes up one trial: facing 0 is the control, 1 the facing. held counts
// the facing's pulls that reached the scale's end.
func (d *Design) draw(r *rand.Rand, s Step, headroom []float64) (data fit.Data, held int) {
	data.Facings, data.Blocks = 2, 1
	expect := math.Log(d.Claim.Expect)
	for facing, mean := range []float64{0, expect} {
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
						held += facing
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
	for i := range d.Lower {
		if d.Lower[i] != d.Upper[i] {
			return fit.Censored(d)
		}
	}
	// One pull a sample: the samples' spread is part of the pulls'.
	if d.Samples > 0 && d.Samples < len(d.Lower) {
		return fit.Restricted(d)
	}
	d.Sample, d.Samples = nil, 0
	return fit.Ordinary(d)
}
