package analysis

import (
	"errors"
	"math"
	"slices"
	"strings"

	"griptrial/analysis/fit"
)

// fitModel chooses the rows and the method, fits, and says what could not be.
func (w *work) fitModel() {
	w.chooseRows()
	w.tellSamples()
	w.method = "ols"
	switch {
	case w.bounded && w.sampled:
		w.method = "censored-reml"
	case w.bounded:
		w.method = "censored-ml"
	case w.sampled:
		w.method = "reml"
	}
	w.res.Model = Model{Method: "none", Formula: w.formula(), LogLikelihood: Unknown()}
	w.res.Variance = Variance{Unknown(), Unknown(), Unknown(), Unknown()}
	if len(w.used) == 0 {
		w.warn("nothing-slipped", "no pull slipped, so no facing's grip can be estimated. Pull harder, or clamp less.")
		return
	}
	f, err := w.fitRows(w.used, nil)
	if err != nil {
		w.blame(err)
		return
	}
	w.model = f
	w.res.Model = Model{Method: f.Method, Formula: w.formula(), Pulls: f.N, LogLikelihood: Number(f.LogLik), Converged: f.Converged}
	w.spread()
	if _, _, df := f.Contrast(f.Mean(0)); math.IsNaN(df) {
		w.warn("scatter-unknown", "so many pulls held, or the scale is so coarse, that the scatter is not known; ratios stand without intervals. Read the force more finely, or pull more often with a scale that no pull exceeds.")
	}
	if f.Boundary {
		w.warn("sample-spread-zero", "samples differ no more than pulls on one sample do, which so few samples cannot prove; the intervals keep the degrees of freedom of the samples. More samples of each facing would decide it.")
	}
	for i := range w.facings {
		if w.inModel[i] < 0 || w.inModel[w.control] < 0 {
			continue
		}
		if _, ok := f.Difference(w.inModel[w.control], w.inModel[i]); !ok {
			w.warn("facing-aliased", "%s was never pulled in a block with %s or with a facing that links the two, so the difference cannot be told from that of the blocks. Pull both in one block.", w.facings[i], w.res.Control)
		}
	}
}

// chooseRows leaves out facings and blocks that never slipped: the likelihood
// puts their effects at infinity, where their rows say nothing about the rest.
func (w *work) chooseRows() {
	w.used = w.rows
	for {
		facing, block := map[int]bool{}, map[string]bool{}
		for _, r := range w.used {
			if !r.held() {
				facing[r.facing], block[r.block] = true, true
			}
		}
		told := func(r row) bool { return facing[r.facing] && block[r.block] }
		if !slices.ContainsFunc(w.used, func(r row) bool { return !told(r) }) {
			break
		}
		w.used = slices.DeleteFunc(slices.Clone(w.used), func(r row) bool { return !told(r) })
	}
	w.inModel = make([]int, len(w.facings))
	have := make([]bool, len(w.facings))
	blocks := map[string]bool{}
	for _, r := range w.used {
		have[r.facing] = true
		if !blocks[r.block] {
			blocks[r.block] = true
			w.blocks = append(w.blocks, r.block)
		}
	}
	next := 0
	for i := range w.inModel {
		w.inModel[i] = -1
		if have[i] {
			w.inModel[i] = next
			next++
		} else if w.held[i] > 0 && w.slipped[i] == 0 {
			w.warn("all-held", "%s: no pull slipped (%d held), so there is only a lower bound. Pull harder, or clamp less, until some slip.", w.facings[i], w.held[i])
		} else if w.held[i]+w.slipped[i] == 0 {
			w.warn("no-pulls", "%s: no pull that tells something.", w.facings[i])
		}
	}
	w.bounded = false
	for _, r := range w.used {
		w.bounded = w.bounded || !r.exact()
	}
}

// tellSamples decides whether samples enter the model: they do where some
// sample carries several pulls. Pulls of a facing whose sample was not
// recorded count as made on one more sample.
func (w *work) tellSamples() {
	pulls, named := map[string]int{}, false
	for _, r := range w.used {
		named = named || r.sample != ""
	}
	if !named {
		return
	}
	missing := 0
	w.used = slices.Clone(w.used)
	for i := range w.used {
		if w.used[i].sample == "" {
			w.used[i].sample = w.facings[w.used[i].facing] + "\x00"
			missing++
		}
		pulls[w.used[i].sample]++
		w.sampled = w.sampled || pulls[w.used[i].sample] > 1
	}
	if missing > 0 {
		w.warn("sample-missing", "%s without a sample: those of one facing are taken to be on one sample.", count(missing, "pull", "pulls"))
	}
	if w.sampled && len(pulls) <= w.modelFacings() {
		w.warn("one-sample", "one sample of each facing: how much samples differ cannot be seen, so the comparison has no interval. Add a second sample of each facing.")
	}
}

func (w *work) modelFacings() int {
	n := 0
	for _, m := range w.inModel {
		if m >= 0 {
			n++
		}
	}
	return n
}

// random reports whether the model has a random sample effect.
func (w *work) random() bool { return w.method == "reml" || w.method == "censored-reml" }

// formula names the model as it is printed.
func (w *work) formula() string {
	value := map[Quantity]string{Mu: "log mu", PerWeight: "log force per weight", Force: "log force"}[w.res.Quantity]
	terms := []string{"facing"}
	if w.modelFacings() < 2 {
		terms[0] = "1"
	}
	if len(w.blocks) > 1 {
		terms = append(terms, "block")
	}
	if w.random() {
		terms = append(terms, "(1 | sample)")
	}
	return value + " ~ " + strings.Join(terms, " + ")
}

// data lays rows out for a fit, with further columns beside the model's terms.
func (w *work) data(rows []row, slopes [][]float64) fit.Data {
	d := fit.Data{Slopes: slopes, Like: w.model}
	facing, block, sample := map[int]int{}, map[string]int{}, map[string]int{}
	for i := range w.facings { // facings keep their order
		for _, r := range rows {
			if r.facing == i {
				facing[i] = len(facing)
				break
			}
		}
	}
	d.Facings = len(facing)
	n := len(rows)
	d.Lower, d.Upper, d.Facing, d.Block = make([]float64, 0, n), make([]float64, 0, n), make([]int, 0, n), make([]int, 0, n)
	for _, r := range rows {
		d.Lower, d.Upper = append(d.Lower, r.lower), append(d.Upper, r.upper)
		d.Facing = append(d.Facing, facing[r.facing])
		if _, ok := block[r.block]; !ok {
			block[r.block] = len(block)
		}
		d.Block = append(d.Block, block[r.block])
		if !w.random() {
			continue
		}
		if _, ok := sample[r.sample]; !ok {
			sample[r.sample] = len(sample)
		}
		d.Sample = append(d.Sample, sample[r.sample])
	}
	d.Blocks, d.Samples = len(block), len(sample)
	if d.Blocks == 1 {
		d.Block, d.Blocks = nil, 0
	}
	return d
}

// fitRows fits the chosen method to rows, with further columns.
func (w *work) fitRows(rows []row, slopes [][]float64) (*fit.Fitted, error) {
	d := w.data(rows, slopes)
	switch w.method {
	case "reml":
		return fit.Restricted(d)
	case "censored-reml":
		return fit.RestrictedCensored(d)
	case "censored-ml":
		return fit.Censored(d)
	}
	return fit.Ordinary(d)
}

// blame turns the error of the main fit into a warning that says what to add.
func (w *work) blame(err error) {
	switch {
	case errors.Is(err, fit.ErrNoFreedom):
		if w.random() {
			w.warn("one-sample", "one sample of each facing: how much samples differ cannot be seen, so the comparison has no interval. Add a second sample of each facing.")
			return
		}
		w.warn("too-few-pulls", "too few slipped pulls to know the scatter (%s, %s, %s), so there are no intervals. %d slipped pulls of each facing would earn them.",
			count(len(w.used), "pull", "pulls"), count(w.modelFacings(), "facing", "facings"), count(max(1, len(w.blocks)), "block", "blocks"), earn)
	case errors.Is(err, fit.ErrNoSpread):
		w.warn("zero-spread", "all pulls of a facing read the same, so their scatter is not known and no interval is given. Read the force more finely.")
	default:
		w.warn("not-converged", "the fit found no maximum (%s), so nothing is estimated from it.", strings.TrimPrefix(err.Error(), "fit: "))
	}
}

// spread fills in the variance components. Those of blocks, which are fixed
// effects in the model, are the analysis of variance estimate after least
// squares (fit.BlockVariance), as ISO 5725-2 has it; otherwise the spread of
// the estimated effects beyond what their own errors explain,
//
//	s_b² = [sum (b - mean b)² - tr(H C)]/(B - 1), at least 0,
//
// C the covariance of the effects and H the centring matrix, which is the same
// where the design is balanced.
func (w *work) spread() {
	f := w.model
	v := &w.res.Variance
	v.ResidualSD = Number(f.Sigma)
	if w.random() {
		v.SampleSD = Number(f.Tau)
	}
	if len(w.blocks) < 2 || !f.Connected() {
		return
	}
	if w.method == "ols" {
		v.BlockSD = Number(math.Sqrt(math.Max(0, f.BlockVariance())))
	} else {
		v.BlockSD = Number(math.Sqrt(math.Max(0, effectVariance(f, len(w.blocks)))))
	}
	v.ReproducibilitySD = Number(math.Hypot(float64(v.BlockSD), math.Hypot(f.Sigma, f.Tau)))
}

// effectVariance is the variance of n blocks from their estimated effects.
func effectVariance(f *fit.Fitted, n int) float64 {
	effects, mean := make([]float64, n), 0.0
	centre := make([]float64, f.P)
	for i := range effects {
		l := f.Block(i)
		effects[i] = f.Estimate(l)
		mean += effects[i] / float64(n)
		for j := range centre {
			centre[j] += l[j] / float64(n)
		}
	}
	v := 0.0
	for i, e := range effects {
		l := f.Block(i)
		for j := range l {
			l[j] -= centre[j]
		}
		_, se, _ := f.Contrast(l)
		v += (e-mean)*(e-mean) - se*se
	}
	return v / float64(n-1)
}
