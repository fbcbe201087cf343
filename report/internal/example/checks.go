package example

import (
	"math"
	"sort"

	"griptrial/analysis"
)

// addChecks fills in what the checks of the analysis would give: each pull
// beside its facing's mean, residuals with their normal scores, sessions, wear
// and budgets. Scores are those of plain ranks.
func addChecks(r *analysis.Results) {
	grip := map[string]float64{}
	for _, f := range r.Facings {
		grip[f.Facing] = float64(f.Grip.Estimate)
	}
	const sd = 0.078
	var exact []int
	for i := range r.Pulls {
		p := &r.Pulls[i]
		p.Relative = p.Value / analysis.Number(grip[p.Facing])
		p.Residual, p.Score = analysis.Unknown(), analysis.Unknown()
		if p.Value.Known() {
			p.Residual = analysis.Number(math.Log(float64(p.Relative)))
		}
		if p.Outcome == "slipped" {
			exact = append(exact, i)
		}
	}
	sort.SliceStable(exact, func(a, b int) bool { return r.Pulls[exact[a]].Residual < r.Pulls[exact[b]].Residual })
	n := float64(len(exact))
	for k, i := range exact {
		p := (float64(k+1) - 0.375) / (n + 0.25)
		r.Pulls[i].Score = analysis.Number(math.Sqrt2 * math.Erfinv(2*p-1))
	}
	r.Residuals.SD = sd
	for k := range 9 {
		x := -2.2 + 0.55*float64(k)
		reach := 0.35 + 0.18*x*x
		r.Residuals.Band = append(r.Residuals.Band, analysis.BandPoint{Score: analysis.Number(x), Lower: analysis.Number(x - reach), Upper: analysis.Number(x + reach)})
	}
	r.Blocks = []analysis.BlockEffect{
		{Block: "day 1", Ratio: analysis.Estimate{Estimate: 1.012, Lower: 0.988, Upper: 1.036}, First: 1, Last: 24},
		{Block: "day 2", Ratio: analysis.Estimate{Estimate: 0.988, Lower: 0.965, Upper: 1.012}, First: 25, Last: 48},
	}
	r.Variance.BlockSD, r.Variance.SampleSD, r.Variance.ReproducibilitySD = 0.013, 0.031, 0.085
	wear := []analysis.FacingWear{}
	for i, f := range facings {
		w := analysis.FacingWear{Facing: f.name, Slope: -0.001, Lower: -0.006, Upper: 0.004, P: 1, Tenth: 105, TenthAtLeast: 17, Most: 11}
		if i == 1 {
			w = analysis.FacingWear{Facing: f.name, Slope: -0.0081, Lower: -0.0125, Upper: -0.0037, P: 0.0006, Tenth: 13, TenthAtLeast: 8, Most: 11}
		}
		wear = append(wear, w)
	}
	r.Checks.Wear = &analysis.WearTest{Slope: -0.0028, Lower: -0.0061, Upper: 0.0005, P: 0.09, Facings: wear}
	for i, f := range facings {
		r.Budgets = append(r.Budgets, budget(f.name, "", f.mu, 0.027, 0.127))
		if i > 0 {
			r.Budgets = append(r.Budgets, budget(f.name, facings[0].name, f.mu/facings[0].mu, 0.040, 0.040))
		}
	}
}

// budget is one with the scatter and the sum given.
func budget(facing, against string, value, scatter, together float64) analysis.Budget {
	b := analysis.Budget{Facing: facing, Against: against, Value: analysis.Number(value), U: analysis.Number(together), DF: 40, K: 2.02, Expanded: analysis.Number(2.02 * together)}
	share := func(u float64) analysis.Number { return analysis.Number(u * u / (together * together)) }
	b.Terms = []analysis.BudgetTerm{{Source: "scatter of the pulls", U: analysis.Number(scatter), Share: share(scatter)}}
	for _, t := range []struct {
		source string
		u      float64
	}{{"friction in the screw's thread", 0.114}, {"friction under the screw's collar", 0.049}, {"calibration of the scale", math.NaN()}} {
		term := analysis.BudgetTerm{Source: t.source, U: analysis.Number(t.u), Share: share(t.u)}
		if against != "" {
			term = analysis.BudgetTerm{Source: t.source, Cancels: true}
		}
		b.Terms = append(b.Terms, term)
	}
	return b
}
