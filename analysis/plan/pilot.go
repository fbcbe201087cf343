package plan

import (
	"math"

	"griptrial/analysis/trial"
)

// Pilot is what pulls that were made say of the spreads.
type Pilot struct {
	Spread       float64 // sd of log values, pull to pull on one sample
	Pulls        int     // degrees of freedom of Spread; 0: not known
	SampleSpread float64 // sd of log values, sample to sample within a facing
	Samples      int     // degrees of freedom of SampleSpread; 0: not known
	Held         int     // held pulls, which it leaves out
}

// FromReadings estimates the spreads from a study's own pulls, to plan the rest
// of it. It is a guess for planning, not a result: held pulls are left out,
// readings to a division are taken at their middle, blocks are not looked at.
//
// The values are logs of force over squeeze (measured clamp force, else handle
// weight, else 1). They are split by the nested analysis of variance: with
// n_ij pulls on sample j of facing i, MS_within from pulls about the means of
// their samples, and MS_samples from those means about their facing's,
//
//	spread² = MS_within
//	sample² = max(0, (MS_samples - MS_within) / n0)
//	n0 = (N - Σ_i Σ_j n_ij²/n_i) / (samples - facings)
//
// Source: the method of moments for one nested random factor, unequal numbers
// (S. R. Searle, Linear Models, 1971, section 9.6; from memory), tested against
// R's aov.
func FromReadings(readings []trial.Reading) Pilot {
	var p Pilot
	type cell struct{ facing, sample string }
	values := map[cell][]float64{}
	var order []cell // maps have no order; sums must have one
	for _, r := range readings {
		if r.Outcome == trial.Held {
			p.Held++
		}
		if r.Outcome != trial.Slipped || r.Force <= 0 {
			continue
		}
		squeeze := 1.0
		switch {
		case r.Clamp > 0:
			squeeze = r.Clamp
		case r.Weight > 0:
			squeeze = r.Weight
		}
		c := cell{r.Facing, r.Sample}
		if values[c] == nil {
			order = append(order, c)
		}
		values[c] = append(values[c], math.Log(r.Force/squeeze))
	}
	var within float64
	total := 0
	count, sum := map[string]float64{}, map[string]float64{} // by facing
	squares := map[string]float64{}                          // of the samples' numbers
	var facings []string
	for _, c := range order {
		v := values[c]
		m := mean(v)
		for _, x := range v {
			within += (x - m) * (x - m)
		}
		n := float64(len(v))
		if count[c.facing] == 0 {
			facings = append(facings, c.facing)
		}
		total += len(v)
		count[c.facing] += n
		sum[c.facing] += n * m
		squares[c.facing] += n * n
	}
	if p.Pulls = total - len(order); p.Pulls < 1 || within == 0 {
		return Pilot{Held: p.Held}
	}
	ms := within / float64(p.Pulls)
	p.Spread = math.Sqrt(ms)
	var among float64
	for _, c := range order {
		gap := mean(values[c]) - sum[c.facing]/count[c.facing]
		among += float64(len(values[c])) * gap * gap
	}
	if p.Samples = len(order) - len(facings); p.Samples < 1 {
		p.Samples = 0
		return p
	}
	n0 := float64(total)
	for _, f := range facings {
		n0 -= squares[f] / count[f]
	}
	n0 /= float64(p.Samples)
	p.SampleSpread = math.Sqrt(math.Max(0, (among/float64(p.Samples)-ms)/n0))
	return p
}

func mean(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s / float64(len(v))
}
