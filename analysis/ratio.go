package analysis

import (
	"math"

	"griptrial/analysis/compare"
)

// compareFacings fills in the ratios to the control and between all pairs.
func (w *work) compareFacings() {
	var inModel []int // facings of the model that can be compared with the control
	place := map[int]int{}
	var others []int
	for i := range w.facings {
		m := w.inModel[i]
		if m < 0 || w.model == nil {
			continue
		}
		place[m] = i
		inModel = append(inModel, m)
		if i != w.control && w.inModel[w.control] >= 0 {
			others = append(others, m)
		}
	}
	found := map[int]compare.Comparison{}
	if len(others) > 0 {
		for _, c := range compare.AgainstControl(w.compared(), w.inModel[w.control], others, w.o.Confidence) {
			found[place[c.B]] = c
		}
	}
	for i, name := range w.facings {
		if i == w.control {
			continue
		}
		r := Ratio{Facing: name, Ratio: w.plainRatio(w.control, i), Lower: Unknown(), Upper: Unknown(), P: Unknown(), Adjusted: "none",
			Single: Single{Unknown(), Unknown(), Unknown(), Unknown()}}
		if c, ok := found[i]; ok {
			r.Ratio, r.Lower, r.Upper, r.P = exp(c.Difference), exp(c.Lower), exp(c.Upper), Number(c.P)
			if r.P.Known() {
				r.Adjusted = c.Adjusted
			}
			r.Single = Single{exp(c.Single.Lower), exp(c.Single.Upper), Number(c.Single.P), Number(c.DF)}
		}
		w.res.AgainstControl = append(w.res.AgainstControl, r)
	}
	w.comparePairs(inModel, place)
}

// exp takes a log result back.
func exp(v float64) Number { return Number(math.Exp(v)) }

// plainRatio is the ratio of b to a where the model gives none: of geometric
// means as read, where no pull held and there are no blocks that could bias it.
func (w *work) plainRatio(a, b int) Number {
	if w.slipped[a] == 0 || w.slipped[b] == 0 || w.held[a]+w.held[b] > 0 || len(w.blocks) > 1 {
		return Unknown()
	}
	ma, _ := w.readMean(a, false)
	mb, _ := w.readMean(b, false)
	return exp(mb - ma)
}

// comparePairs compares every two facings: with Games and Howell's method
// where each has its own scatter, with Tukey and Kramer's otherwise.
func (w *work) comparePairs(inModel []int, place map[int]int) {
	found := map[[2]int]compare.Comparison{}
	if w.model != nil {
		model := w.model
		if w.separatePairs != nil {
			model = w.separatePairs
		}
		for _, c := range compare.AllPairs(model, inModel, w.o.Confidence) {
			found[[2]int{place[c.A], place[c.B]}] = c
		}
	}
	for a := range w.facings {
		for b := a + 1; b < len(w.facings); b++ {
			p := Pair{A: w.facings[a], B: w.facings[b], Ratio: w.plainRatio(a, b), Lower: Unknown(), Upper: Unknown(), P: Unknown(), Adjusted: "none"}
			if c, ok := found[[2]int{a, b}]; ok {
				p.Ratio, p.Lower, p.Upper, p.P = exp(c.Difference), exp(c.Lower), exp(c.Upper), Number(c.P)
				if p.P.Known() {
					p.Adjusted = c.Adjusted
				}
			}
			w.res.Pairs = append(w.res.Pairs, p)
		}
	}
}

// plainGroups are the exact log values by facing, where the classical tests of
// groups apply: independent pulls, none held or divided, two facings with two
// pulls or more.
func (w *work) plainGroups() (groups [][]float64, ok bool) {
	if w.sampled || w.bounded {
		return nil, false
	}
	for i, g := range w.exact {
		if w.held[i] > 0 || len(g) != w.slipped[i] {
			continue
		}
		if len(g) > 1 {
			groups = append(groups, g)
		}
	}
	return groups, len(groups) > 1
}
