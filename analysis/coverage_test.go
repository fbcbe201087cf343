package analysis_test

import (
	"flag"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/analysis/dist"
	"griptrial/analysis/fit"
	"griptrial/analysis/trial"
)

var coverageStudies = flag.Int("coverage", 0, "simulated studies for each design of TestCoverage; 0: a short run")

// design is a kind of small study with known truth.
type design struct {
	name                    string
	facings, samples, pulls int     // samples 0: independent pulls
	sigma, tau              float64 // log sd of pulls and of samples
	heldShare               float64 // of all pulls beyond the scale, in expectation
	division                float64 // in units of sigma, of the weakest facing's force; 0: read exactly
}

// careful reports whether the rule that keeps the samples' degrees of freedom
// at zero sample variance makes intervals cover more than they say: the samples
// differ less than pulls do.
func (d design) careful() bool { return d.samples > 0 && d.tau < d.sigma }

// mu of the facings; the pulls are all at one clamp force.
var truth = []float64{0.2, 0.25, 0.3}

const simClamp = 1000.0

// draw makes one study.
func (d design) draw(random *rand.Rand) []trial.Reading {
	// The scale ends where the stated share of all pulls lies beyond it.
	sd := math.Hypot(d.sigma, d.tau)
	end := math.Inf(1)
	if d.heldShare > 0 {
		lo, hi := 0.0, 10000.0
		for range 100 {
			end = (lo + hi) / 2
			beyond := 0.0
			for _, mu := range truth[:d.facings] {
				beyond += math.Erfc(math.Log(end/(2*simClamp*mu))/sd/math.Sqrt2) / 2 / float64(d.facings)
			}
			if beyond > d.heldShare {
				lo = end
			} else {
				hi = end
			}
		}
	}
	step := d.division * d.sigma * 2 * simClamp * truth[0]
	if step > 0 && d.heldShare > 0 { // a scale ends at a mark
		end = math.Round(end/step) * step
	}
	var out []trial.Reading
	for f := range d.facings {
		for s := range max(1, d.samples) {
			u := d.tau * random.NormFloat64()
			for range d.pulls {
				r := trial.Reading{Facing: string(rune('A' + f)), Clamp: simClamp, Outcome: trial.Slipped}
				if d.samples > 0 {
					r.Sample = string(rune('a' + s))
				}
				r.Force = 2 * simClamp * truth[f] * math.Exp(u+d.sigma*random.NormFloat64())
				switch {
				case r.Force > end:
					r.Force, r.Division, r.Outcome = end, step, trial.Held
				case step > 0:
					r.Force, r.Division = math.Round(r.Force/step)*step, step
				}
				out = append(out, r)
			}
		}
	}
	return out
}

// score counts hits.
type score struct{ hits, tries int }

func (s *score) count(hit, known bool) {
	if known {
		s.tries++
		if hit {
			s.hits++
		}
	}
}

func (s score) share() float64 { return float64(s.hits) / float64(s.tries) }

// TestCoverage: how often intervals cover the truth, over simulated small
// studies, beside what R's usual intervals cover in the same studies: confint of
// lm, survreg (normal quantiles on the maximum-likelihood fit, samples left out)
// and lmer with method Wald. The short run only catches gross faults. For the
// table in DEVELOPERS.md:
//
//	go test ./analysis -run TestCoverage -v -timeout 0 -coverage 10000
//
// and one design of it with -run 'TestCoverage/one_division'.
func TestCoverage(t *testing.T) {
	n := *coverageStudies
	least, most, bound := 0.94, 0.96, 0.945
	if n == 0 {
		n, least, most, bound = 15, 0.7, 1, 0.7
	}
	t.Logf("%-34s %6s %6s %6s %6s %6s %6s %6s %6s %6s %7s %7s", "design", "ratio", "width", "R", "width", "family", "pairs", "mu", "95/95", "99/95", "at zero", "no limit")
	for i, d := range []design{
		{"3 facings, n 5", 3, 0, 5, 0.1, 0, 0, 0},
		{"n 5, 20 % held", 3, 0, 5, 0.1, 0, 0.2, 0},
		{"n 5, 40 % held", 3, 0, 5, 0.1, 0, 0.4, 0},
		{"n 5, one division per sd", 3, 0, 5, 0.1, 0, 0, 1},
		{"n 5, 20 % held, divided", 3, 0, 5, 0.1, 0, 0.2, 1},
		{"3 samples x 3, tau = sigma", 3, 3, 3, 0.1, 0.1, 0, 0},
		{"3 samples x 3, tau = sigma/2", 3, 3, 3, 0.1, 0.05, 0, 0},
		{"3 samples x 3, tau = 0", 3, 3, 3, 0.1, 0, 0, 0},
		{"3 samples x 3, 20 % held, divided", 3, 3, 3, 0.1, 0.1, 0.2, 1},
	} {
		t.Run(d.name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(uint64(i), 4))
			var ratio, usual, family, pairs, mu, tol95, tol99, zero, unlimited score
			width, usualWidth := 0.0, 0.0
			for range n {
				readings := d.draw(random)
				r, err := analysis.Analyse(readings, trial.Study{}, analysis.Options{Samples: 1})
				require.NoError(t, err)
				zero.count(slices.Contains(codes(r), "sample-spread-zero"), true)
				plain := usualLimits(d, readings)
				all, known := true, true
				for k, a := range r.AgainstControl {
					want := math.Log(truth[k+1] / truth[0])
					lo, hi := math.Log(float64(a.Single.Lower)), math.Log(float64(a.Single.Upper))
					ok := a.Single.Lower.Known()
					ratio.count(lo <= want && want <= hi, ok)
					unlimited.count(!ok, true)
					if ok {
						width += hi - lo
					}
					if l := plain[k]; ok && l[0] < l[1] {
						usual.count(l[0] <= want && want <= l[1], true)
						usualWidth += l[1] - l[0]
					}
					known = known && a.Lower.Known()
					all = all && math.Log(float64(a.Lower)) <= want && want <= math.Log(float64(a.Upper))
				}
				family.count(all, known)
				all, known = true, true
				for k, p := range r.Pairs {
					want := math.Log([]float64{truth[1] / truth[0], truth[2] / truth[0], truth[2] / truth[1]}[k])
					known = known && p.Lower.Known() && p.Adjusted == "tukey-kramer"
					all = all && math.Log(float64(p.Lower)) <= want && want <= math.Log(float64(p.Upper))
				}
				pairs.count(all, known)
				sd := math.Hypot(d.sigma, d.tau)
				for k, f := range r.Facings {
					mu.count(float64(f.Mu.Lower) <= truth[k] && truth[k] <= float64(f.Mu.Upper), f.Mu.Lower.Known())
					for j, z := range []float64{1.6448536269514722, 2.3263478740408408} {
						s := []*score{&tol95, &tol99}[j]
						s.count(float64(f.Tolerance[j].Lower) <= truth[k]*math.Exp(-z*sd), f.Tolerance[j].Lower.Known())
					}
				}
			}
			t.Logf("%-34s %6.4f %6.3f %6.4f %6.3f %6.4f %6.4f %6.4f %6.4f %6.4f %7.4f %7.4f", d.name, ratio.share(), width/float64(max(1, ratio.tries)),
				usual.share(), usualWidth/float64(max(1, usual.tries)), family.share(), pairs.share(), mu.share(), tol95.share(), tol99.share(), zero.share(), unlimited.share())
			for what, s := range map[string]score{"ratio": ratio, "family": family, "pairs": pairs, "mu": mu} {
				assert.GreaterOrEqual(t, s.share(), least, "%s: %s", d.name, what)
				if !d.careful() {
					assert.LessOrEqual(t, s.share(), most, "%s: %s", d.name, what)
				}
			}
			assert.GreaterOrEqual(t, tol95.share(), bound, "%s: tolerance", d.name)
		})
	}
}

// usualLimits are the 95 % limits of the log ratios to the first facing that R's
// usual calls give; equal where they cannot be had.
func usualLimits(d design, readings []trial.Reading) (limits [][2]float64) {
	limits = make([][2]float64, d.facings-1)
	data := fit.Data{Facings: d.facings}
	bounded := false
	for i, r := range readings {
		o, _ := r.Observe()
		data.Lower, data.Upper = append(data.Lower, math.Log(o.Lower)), append(data.Upper, math.Log(o.Upper))
		data.Facing = append(data.Facing, int(r.Facing[0]-'A'))
		bounded = bounded || !o.Exact()
		if d.samples > 0 {
			data.Sample = append(data.Sample, i/d.pulls)
		}
	}
	estimate := fit.Ordinary
	quantile := dist.TQuantile(0.025, float64(len(readings)-d.facings))
	switch {
	case bounded:
		estimate, data.Sample, quantile = fit.Censored, nil, dist.NormalQuantile(0.975)
	case d.samples > 0:
		estimate, data.Samples, quantile = fit.Restricted, d.facings*d.samples, dist.NormalQuantile(0.975)
	}
	f, err := estimate(data)
	if err != nil {
		return limits
	}
	for k := range limits {
		l, _ := f.Difference(0, k+1)
		b, se := f.Estimate(l), math.Sqrt(f.Covariance(l, l))
		limits[k] = [2]float64{b - quantile*se, b + quantile*se}
	}
	return limits
}
