package analysis

import "griptrial/analysis/compare"

// resample adds intervals by the bootstrap to the ratios, where it was asked
// for. Facings' pulls are drawn anew, free of the blocks' effects as the model
// estimates them; where samples carry several pulls, samples are drawn.
func (w *work) resample() {
	if !w.o.Bootstrap {
		return
	}
	if w.model == nil || w.bounded {
		w.warn("no-bootstrap", "a held or divided reading is no value that could be drawn anew, so there is no bootstrap; the model's interval stands.")
		return
	}
	block := map[string]float64{}
	if len(w.blocks) > 1 {
		for i, name := range w.blocks {
			block[name] = w.model.Estimate(w.model.Block(i))
		}
	}
	units := make([][]compare.Unit, len(w.facings))
	place := map[string]int{}
	for _, r := range w.used {
		u := &units[r.facing]
		at, known := place[r.sample]
		if !known || !w.random() {
			at = len(*u)
			place[r.sample] = at
			*u = append(*u, compare.Unit{})
		}
		(*u)[at].Sum += r.lower - block[r.block]
		(*u)[at].Count++
	}
	draws := w.draws()
	for i := range w.res.AgainstControl {
		a := &w.res.AgainstControl[i]
		b, ok := compare.Bootstrap(units[w.control], units[w.index[a.Facing]], w.o.Confidence, draws, w.o.Seed)
		if !ok || !a.Ratio.Known() {
			what := "pulls"
			if w.random() {
				what = "samples"
			}
			w.warn("no-bootstrap", "%s: a bootstrap needs four %s of each facing, with scatter; fewer give too few different draws.", a.Facing, what)
			continue
		}
		a.Bootstrap = &Bootstrap{
			Percentile: Range{exp(b.Percentile.Lower), exp(b.Percentile.Upper)},
			BCa:        Range{exp(b.BCa.Lower), exp(b.BCa.Upper)}, Draws: draws, Seed: w.o.Seed,
		}
	}
}

// draws is how often pulls are dealt or drawn anew.
func (w *work) draws() int {
	if w.o.Samples == 0 {
		return 10000
	}
	return w.o.Samples
}
