package analysis

import (
	"math"
)

// blockEffects gives the effect of each block of the model as a ratio to the
// geometric mean of them all, with its interval, and the places in the run
// order that its pulls held. The intervals are not adjusted for their number:
// they show what a session did, and no claim rests on them. Without a second
// block, or where blocks do not connect the facings, there are none.
func (w *work) blockEffects() {
	w.res.Blocks = []BlockEffect{}
	if w.model == nil || len(w.blocks) < 2 || !w.model.Connected() {
		return
	}
	f, n := w.model, len(w.blocks)
	centre := make([]float64, f.P)
	for i := range n {
		for j, v := range f.Block(i) {
			centre[j] += v / float64(n)
		}
	}
	for i, name := range w.blocks {
		l := f.Block(i)
		for j := range l {
			l[j] -= centre[j]
		}
		lower, upper := f.Limits(l, w.o.Confidence)
		b := BlockEffect{Block: name, Ratio: Estimate{exp(f.Estimate(l)), exp(lower), exp(upper)}, First: Unknown(), Last: Unknown()}
		for _, r := range w.used {
			if o := w.readings[r.at].Order; r.block == name && o.Known {
				if at := Number(o.N); !b.First.Known() || at < b.First {
					b.First = at
				}
				b.Last = Number(math.Max(float64(b.Last), float64(o.N)))
				if !b.Last.Known() {
					b.Last = Number(o.N)
				}
			}
		}
		w.res.Blocks = append(w.res.Blocks, b)
	}
}
