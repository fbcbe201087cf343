package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/report"
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
clampings at least 99 (--coverage) grip better, with 95 % confidence. The most
weight is that at the lowest screw friction, the least that at the highest; but
where the trial's own clamp forces came from weights on this screw, its friction
is in the coefficient and in the weight alike, and cancels but for what the cut
presses against a jaw. In newtons it does not cancel: there the coefficient is
taken where it is least.

The least force follows the careful rule: even pressure, and friction alone keeps
the part from tipping. With several stages the tightest decides. Where the window
is closed it says what would open it; a lighter cut is offered down to a tenth of
the depth or the feed that is described.

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
	res, err := a.analyse(g.readings, g.study, analysis.Options{})
	if errors.Is(err, analysis.ErrNoPulls) {
		return cannotError{fmt.Errorf("%s: %w; log some with `griptrial log` or `griptrial bench`", dir, err)}
	}
	if err != nil {
		return fmt.Errorf("%s: %w", dir, err)
	}
	out, err := windowOf(res, g.study, f.coverage)
	if err != nil {
		return fmt.Errorf("%s: %w", dir, err)
	}
	in := report.Input{Study: g.study, Results: res, Force: g.force}
	if f.figure != "" {
		fig, ok := figure.Bands(in, out, figure.Narrow)
		if !ok {
			return cannotError{fmt.Errorf("%s: no facing has a band to draw, so %s is not written; without --figure the reasons are printed", dir, f.figure)}
		}
		if err := writeFigure(f.figure, fig); err != nil {
			return err
		}
	}
	if f.json {
		err = printJSON(a.stdout, out)
	} else {
		err = printWindow(a.stdout, in.WindowText(out))
	}
	if err != nil {
		return err
	}
	for _, b := range out.Facings {
		if b.Least.Known() {
			return nil
		}
	}
	return cannotError{errors.New(dir + ": no facing's least clamp force can be had from these pulls; the reasons stand above")}
}

// windowOf takes the window that stands in the results where its coverage is the
// one asked for.
func windowOf(res analysis.Results, s trial.Study, coverage float64) (analysis.Window, error) {
	if res.Window != nil && res.Window.Coverage == coverage {
		return *res.Window, nil
	}
	return analysis.WindowOf(res, s, coverage)
}
