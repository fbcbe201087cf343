package analysis

import (
	"math"

	"griptrial/analysis/compare"
)

// RatioChange is how one facing's ratio to the control differs between two sets
// of results.
type RatioChange struct {
	Facing string   `json:"facing"`
	Old    Estimate `json:"old"`
	New    Estimate `json:"new"`
	// Change is New over Old, a ratio of ratios, with the interval that two
	// independent trials earn; without one where they share pulls, or where
	// either has none.
	Change   Estimate `json:"change"`
	P        Number   `json:"p"`        // that nothing changed; NaN where there is no interval
	DF       Number   `json:"df"`       // of the interval
	Adjusted string   `json:"adjusted"` // "bonferroni" over the facings compared, or "none"
}

// Changes compares the ratios to the control of two sets of results, for every
// facing that both compare with it, in the order of the new. Independent says
// that no pull is in both; only then has a change an interval. It is nil where
// the controls differ, for then the ratios mean different things. Both must
// have the same confidence.
//
// The intervals that the ratios have alone enter, not the adjusted ones:
// compare.Change adjusts over the facings itself.
func Changes(old, new Results, independent bool) []RatioChange {
	if old.Control != new.Control {
		return nil
	}
	before := map[string]Ratio{}
	for _, r := range old.AgainstControl {
		before[r.Facing] = r
	}
	var out []RatioChange
	n := 0
	for _, now := range new.AgainstControl {
		was, both := before[now.Facing]
		if !both {
			continue
		}
		out = append(out, RatioChange{
			Facing: now.Facing, Old: Estimate{was.Ratio, was.Lower, was.Upper}, New: Estimate{now.Ratio, now.Lower, now.Upper},
			Change: Estimate{now.Ratio / was.Ratio, Unknown(), Unknown()}, P: Unknown(), DF: Unknown(), Adjusted: "none",
		})
		if measured(was).DF > 0 && measured(now).DF > 0 {
			n++
		}
	}
	if !independent || old.Confidence != new.Confidence {
		return out
	}
	at := map[string]int{}
	for i, c := range out {
		at[c.Facing] = i
	}
	for _, now := range new.AgainstControl {
		i, both := at[now.Facing]
		if !both {
			continue
		}
		c, ok := compare.Change(measured(before[now.Facing]), measured(now), new.Confidence, n)
		if !ok {
			continue
		}
		out[i].Change = Estimate{exp(c.Difference), exp(c.Lower), exp(c.Upper)}
		out[i].P, out[i].DF, out[i].Adjusted = Number(c.P), Number(c.DF), c.Adjusted
	}
	return out
}

// measured is a ratio's own interval on the log scale.
func measured(r Ratio) compare.Measured {
	ln := func(n Number) float64 { return math.Log(float64(n)) }
	return compare.Measured{Value: ln(r.Ratio), Lower: ln(r.Single.Lower), Upper: ln(r.Single.Upper), DF: float64(r.Single.DF)}
}
