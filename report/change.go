package report

import (
	"fmt"
	"math"

	"griptrial/analysis"
)

// change says when the facing on the card is to be changed, as far as the pulls
// can tell. Where no facing stands out it speaks of the one that wears most.
func (in Input) change(best string) string {
	w := in.Results.Checks.Wear
	if w == nil || !w.P.Known() || !w.Slope.Known() {
		return "When to change the facing was not tried."
	}
	if f, ok := in.wearOf(best); ok {
		return in.changeOf(f)
	}
	most := 0.0
	for _, p := range in.Results.Pulls {
		if p.Clampings.Known() {
			most = math.Max(most, float64(p.Clampings))
		}
	}
	return in.changeOf(analysis.FacingWear{Slope: w.Slope, P: w.P, Most: analysis.Number(most), Tenth: tenth(w.Slope), TenthAtLeast: tenth(w.Lower)})
}

// wearOf finds the wear of the facing, or of the one that surely wears most
// where none is named.
func (in Input) wearOf(facing string) (found analysis.FacingWear, ok bool) {
	for _, f := range in.Results.Checks.Wear.Facings {
		if !f.P.Known() || !f.Slope.Known() {
			continue
		}
		switch {
		case facing != "" && f.Facing == facing:
			return f, true
		case facing == "" && in.surely(f.P) && f.Slope < 0 && (!ok || f.Slope < found.Slope):
			found, ok = f, true
		}
	}
	return found, ok
}

func (in Input) surely(p analysis.Number) bool { return float64(p) < 1-in.confidence() }

// tenth is at how many clampings a tenth of the grip is gone.
func tenth(slope analysis.Number) analysis.Number {
	if !(slope < 0) {
		return analysis.Unknown()
	}
	return analysis.Number(math.Floor(math.Log(0.9) / float64(slope)))
}

func (in Input) changeOf(f analysis.FacingWear) string {
	who := "the facing"
	if f.Facing != "" {
		who = Brief(f.Facing, 60)
	}
	switch {
	case !in.surely(f.P) && f.TenthAtLeast <= f.Most+1:
		return fmt.Sprintf("No wear of %s was seen over %s, yet a tenth of its grip may be gone after %d. Check again by then.", who, count(int(f.Most)+1, "clamping"), int(max(f.TenthAtLeast, 1)))
	case !in.surely(f.P):
		return fmt.Sprintf("No wear of %s was seen over %s. Check again after that many.", who, count(int(f.Most)+1, "clamping"))
	case f.Slope > 0:
		return fmt.Sprintf("The grip of %s rose with use: it was still running in.", who)
	}
	by := f.TenthAtLeast
	if !by.Known() {
		by = f.Tenth
	}
	by = max(by, 1)
	text := fmt.Sprintf("Change %s by %s: each takes about %s of its grip, and by then a tenth may be gone.", who, count(int(by), "clamping"), Short(-100*math.Expm1(float64(f.Slope)), 1)+" %")
	if by > f.Most {
		text += " That is longer than was tried."
	}
	return text
}
