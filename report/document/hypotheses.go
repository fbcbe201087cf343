package document

import (
	"fmt"
	"math"

	"griptrial/analysis"
	"griptrial/report"
)

// tests sets the numbers of every check that could be made.
func (d *document) tests(in report.Input) {
	c := in.Results.Checks
	var rows []row
	add := func(name, statistic, df string, p analysis.Number) {
		value := report.Dash
		if p.Known() {
			value = report.P(float64(p))
		}
		rows = append(rows, row{Cells: []string{name, statistic, df, value}})
	}
	f := func(name string, t *analysis.FTest) {
		if t != nil {
			add(name, "F = "+short(t.Statistic), report.Given(float64(t.DF1))+", "+report.Given(float64(t.DF2)), t.P)
		}
	}
	f("all facings grip alike, in the model", c.ANOVA)
	f("all facings grip alike (Welch)", c.WelchANOVA)
	if t := c.KruskalWallis; t != nil {
		add("all facings grip alike, by ranks (Kruskal and Wallis)", "H = "+short(t.Statistic), report.Given(float64(t.DF)), t.P)
	}
	if t := c.Permutation; t != nil {
		add(fmt.Sprintf("all facings grip alike, facings dealt anew within blocks (%d times, seed %d)", t.Draws, t.Seed), report.Dash, report.Dash, t.P)
	}
	f("all facings scatter alike (Brown and Forsythe)", c.BrownForsythe)
	if t := c.ShapiroWilk; t != nil {
		add("residuals are normal (Shapiro and Wilk)", "W = "+short(t.Statistic), report.Dash, t.P)
	}
	if t := c.Proportionality; t != nil {
		add("force in proportion to squeeze: slope on log scales is 1", between(t.Slope, t.Lower, t.Upper, report.Same, ""), report.Dash, t.P)
	}
	if t := c.Drift; t != nil {
		add("no drift: change of the grip a pull", between(t.Slope, t.Lower, t.Upper, change, " %"), report.Dash, t.P)
	}
	if t := c.Wear; t != nil {
		add("no wear: change of the grip a clamping, all facings together", between(t.Slope, t.Lower, t.Upper, change, " %"), report.Dash, t.P)
		for _, w := range t.Facings {
			if len(t.Facings) > 1 {
				add("the same, "+report.Brief(w.Facing, 60)+" alone (Bonferroni)", between(w.Slope, w.Lower, w.Upper, change, " %"), report.Dash, w.P)
			}
		}
	}
	d.table([]column{{Name: "hypothesis", Share: 5, Typed: true}, {Name: "statistic or estimate", Share: 3, Number: true}, {Name: "degrees of freedom", Share: 2, Number: true}, {Name: "p", Share: 1.8, Number: true}}, rows)
}

func short(n analysis.Number) string { return report.Short(float64(n), 3) }

// change is a slope of log values as a change in percent.
func change(slope float64) float64 { return 100 * math.Expm1(slope) }

func between(estimate, lower, upper analysis.Number, scale func(float64) float64, unit string) string {
	return report.Write(analysis.Estimate{Estimate: estimate, Lower: lower, Upper: upper}, scale).String() + unit
}
