package main

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/analysis/window"
	"griptrial/report/figure"
)

// windowFlags are the settings of `window`.
type windowFlags struct {
	json     bool
	coverage float64
	figure   string
}

func windowCommand(a *app) *cobra.Command {
	var f windowFlags
	cmd := &cobra.Command{
		Use:   "window [flags] STUDY",
		Short: "Least clamp force that holds a cut, greatest that the part bears",
		Long: `window finds, for each facing of a study, the band from the least clamp force
that holds the cut described in study.toml ([[cut]]) to the greatest that the
part bears ([[part]]), and the weights on the handle that make them.

Friction is the lower tolerance bound of the facing's own pulls: of 100
clampings at least 99 (--coverage) grip better, with 95 % confidence. Holding is
computed at the highest screw friction, crushing at the lowest. The least force
follows the careful rule: even pressure, and friction alone keeps the part from
tipping. With several stages the tightest decides. Where the window is closed it
says what would open it.

These are estimates for comparing facings, not proof that a part is safely held.

Exit status: 0 done, open or closed; 1 the study is not as it should be; 2 the
command line is wrong; 3 no facing's band can be had from these pulls.`,
		Example: `  griptrial window acrylic-blanks
  griptrial window --figure window.svg acrylic-blanks
  griptrial window --json --coverage 0.95 acrylic-blanks`,
		Args: exactly(1, "one study folder"),
		RunE: func(_ *cobra.Command, args []string) error {
			if f.coverage != 0.95 && f.coverage != 0.99 {
				return usageError{fmt.Errorf("--coverage %v: must be 0.95 or 0.99", f.coverage)}
			}
			return runWindow(a, f, args[0])
		},
	}
	cmd.Flags().BoolVar(&f.json, "json", false, "print one JSON document")
	cmd.Flags().StringVar(&f.figure, "figure", "", "also draw the bands into this file (.svg, .png or .pdf)")
	cmd.Flags().Float64Var(&f.coverage, "coverage", 0.99, "share of clampings that must hold: 0.95 or 0.99")
	return cmd
}

func runWindow(a *app, f windowFlags, dir string) error {
	g, err := readStudy(dir)
	if err != nil {
		return err
	}
	if len(g.study.Cut) == 0 || len(g.study.Part) == 0 {
		return fmt.Errorf("%s: study.toml describes no cut or no part; add [[cut]] and [[part]] tables", dir)
	}
	res, err := analysis.Analyse(g.readings, g.study, analysis.Options{})
	if err != nil {
		return fmt.Errorf("%s: %w", dir, err)
	}
	facings := windowFacings(res, f.coverage)
	bands, err := window.Find(g.study, facings)
	if err != nil {
		return fmt.Errorf("%s: %w", dir, err)
	}
	out := windowReport(bands, res, g.study, f.coverage)
	if f.figure != "" {
		if fig, ok := figure.Bands(bands.Bands, res.Control, float64(out.Usual)); ok {
			if err := writeFigure(f.figure, fig); err != nil {
				return err
			}
		}
	}
	if f.json {
		err = printJSON(a.stdout, out)
	} else {
		err = printWindow(a.stdout, out)
	}
	if err != nil {
		return err
	}
	for _, b := range bands.Bands {
		if !math.IsNaN(b.Least) {
			return nil
		}
	}
	return cannotError{errors.New(dir + ": no facing's least clamp force can be had from these pulls; the reasons stand above")}
}

// windowFacings takes the friction that a shop may count on.
func windowFacings(res analysis.Results, coverage float64) []window.Facing {
	var list []window.Facing
	for _, f := range res.Facings {
		w := window.Facing{Name: f.Facing, Mu: math.NaN()}
		if res.Quantity != analysis.Mu {
			w.Why = "the clamp force of its pulls is not known, so its friction is not: describe handle and screw, or measure the clamp force"
		} else {
			w.Why = "no tolerance bound of its friction: it takes more pulls that slipped"
			for _, t := range f.Tolerance {
				if t.Coverage == coverage && t.Lower.Known() {
					w.Mu = float64(t.Lower)
				}
			}
		}
		for _, l := range res.Lines {
			if l.Facing == f.Facing && res.Quantity == analysis.Mu && l.Min.Known() && l.Max.Known() {
				w.Low, w.High = float64(l.Min), float64(l.Max)
			}
		}
		list = append(list, w)
	}
	return list
}

// windowJSON is what `window --json` prints.
type windowJSON struct {
	Rule       string             `json:"rule"`
	Coverage   float64            `json:"coverage"`
	Confidence float64            `json:"confidence"`
	Control    string             `json:"control"`
	Usual      analysis.Number    `json:"usual_kg"`
	Facings    []windowFacing     `json:"facings"`
	Stages     []windowStage      `json:"stages"`
	Warnings   []analysis.Warning `json:"warnings"`
	Cautions   []string           `json:"cautions"`
}

type windowFacing struct {
	Facing      string          `json:"facing"`
	Mu          analysis.Number `json:"mu_lower"`
	Least       analysis.Number `json:"least_N"`
	Most        analysis.Number `json:"most_N"`
	LeastWeight analysis.Number `json:"least_kg"`
	MostWeight  analysis.Number `json:"most_kg"`
	Open        *bool           `json:"open"` // null: cannot be said
	Margin      analysis.Number `json:"margin"`
	LeastStage  string          `json:"least_stage"`
	MostStage   string          `json:"most_stage"`
	MostBy      string          `json:"most_by"`
	Beyond      bool            `json:"beyond"`
	Usual       string          `json:"usual"` // "holds", "slips", "crushes" or "": how the usual weight fares
	Reason      string          `json:"reason"`
	Ways        []windowWay     `json:"ways"`
}

type windowWay struct {
	Change string          `json:"change"`
	Text   string          `json:"text"`
	Least  analysis.Number `json:"least_N"`
	Most   analysis.Number `json:"most_N"`
}

type windowStage struct {
	Stage      string          `json:"stage"`
	OpensBelow analysis.Number `json:"opens_below_N"`
	Limits     []windowLimit   `json:"limits"`
	Assumed    []string        `json:"assumed"`
}

type windowLimit struct {
	Kind  string          `json:"kind"`
	Force analysis.Number `json:"force_N"`
	Text  string          `json:"text"`
}

func windowReport(r window.Result, res analysis.Results, s trial.Study, coverage float64) windowJSON {
	out := windowJSON{Rule: "careful", Coverage: coverage, Confidence: 0.95, Control: res.Control,
		Usual: analysis.Unknown(), Cautions: trial.Cautions}
	for _, l := range s.Levels {
		if l.Usual && l.Weight > 0 {
			out.Usual = analysis.Number(l.Weight)
		}
	}
	for _, st := range r.Stages {
		w := windowStage{Stage: st.Stage.Name, OpensBelow: analysis.Number(st.OpensBelow), Limits: []windowLimit{}, Assumed: st.Defaults}
		for _, l := range st.Limits {
			w.Limits = append(w.Limits, windowLimit{l.Kind, analysis.Number(l.Force), l.Text})
		}
		out.Stages = append(out.Stages, w)
	}
	for _, b := range r.Bands {
		w := windowFacing{Facing: b.Facing, Mu: analysis.Number(b.Mu), Least: analysis.Number(b.Least), Most: analysis.Number(b.Most),
			LeastWeight: analysis.Number(b.LeastWeight), MostWeight: analysis.Number(b.MostWeight), Margin: analysis.Number(b.Margin),
			LeastStage: b.LeastStage, MostStage: b.MostStage, MostBy: b.MostBy.Kind, Beyond: b.Beyond, Reason: b.Why, Ways: []windowWay{}}
		if w.Margin.Known() {
			w.Open = &b.Open
		}
		if w.LeastWeight.Known() && out.Usual.Known() {
			switch {
			case out.Usual < w.LeastWeight:
				w.Usual = "slips"
			case w.MostWeight.Known() && out.Usual > w.MostWeight:
				w.Usual = "crushes"
			case w.MostWeight.Known():
				w.Usual = "holds"
			}
		}
		for _, way := range b.Ways {
			w.Ways = append(w.Ways, windowWay{way.Change, way.Text, analysis.Number(way.Least), analysis.Number(way.Most)})
		}
		out.Facings = append(out.Facings, w)
	}
	for _, n := range r.Notes {
		out.Warnings = append(out.Warnings, analysis.Warning{Code: n.Code, Text: n.Text})
	}
	return out
}

// bandText writes a band such as "430 to 1250 N".
func bandText(low, high analysis.Number, unit, format string) string {
	end := func(n analysis.Number) string {
		if !n.Known() {
			return "?"
		}
		return strings.TrimSpace(fmt.Sprintf(format, float64(n)))
	}
	return end(low) + " to " + end(high) + " " + unit
}
