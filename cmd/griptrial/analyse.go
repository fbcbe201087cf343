package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"griptrial/acquire/study"
	"griptrial/acquire/table"
	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// analyseFlags are the settings of `analyse`.
type analyseFlags struct {
	json, pulls bool
	need        string
	usual       string
	spread      string
	options     analysis.Options
}

func analyseCommand(a *app) *cobra.Command {
	var f analyseFlags
	cmd := &cobra.Command{
		Use:   "analyse [flags] FILE|STUDY...",
		Short: "Compare what faced the jaws: friction, ratios, less squeeze",
		Long: `analyse reads a table of readings (one row a pull; "-" is standard input) or a
study folder and says which facing holds best, how sure that is, and how much
less squeeze holds the same.

A readings file has the columns "facing" and "force [UNIT]", and where they are
known "clamp [UNIT]" (force on one jaw face), "outcome" (slipped, held, void),
"division [UNIT]", "block", "sample", "order", "clampings" and "note". Commas,
semicolons or tabs; decimal point or, with semicolons, decimal comma. A held
row is a lower bound and is used as one; a void row is counted and left out.
The first facing is the control unless --control names another. In a workbook
(.xlsx) it is the sheet "readings", or the only one, laid out the same way.

Several files or studies are read as blocks of one trial.

One scatter is taken for all facings unless a test says that they scatter
differently; a warning then says so and each is taken with its own. --spread
common or --spread by-facing decides it beforehand. --bootstrap checks the ratios'
intervals by drawing pulls (or samples) anew, which supposes no distribution.

Exit status: 0 done; 1 a file is not as it should be; 2 the command line is
wrong; 3 nothing at all can be estimated from these pulls.`,
		Example: `  griptrial analyse acrylic-blanks
  griptrial analyse --control "ground steel" pulls.csv
  griptrial analyse --json --confidence 0.9 pulls.csv > results.json
  griptrial analyse --bootstrap --spread by-facing pulls.csv`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usageError{errors.New("analyse takes a readings file or a study folder; see `griptrial analyse --help`")}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := f.check(cmd); err != nil {
				return err
			}
			return runAnalyse(a, f, args)
		},
	}
	cmd.Flags().BoolVar(&f.json, "json", false, "print the results as one JSON document")
	cmd.Flags().BoolVar(&f.pulls, "pulls", false, "with --json: add every pull, with what the model expects of it")
	cmd.Flags().StringVar(&f.options.Control, "control", "", "facing to compare with (default: the study's, or the first in the file)")
	cmd.Flags().Float64Var(&f.options.Confidence, "confidence", 0.95, "confidence of intervals")
	cmd.Flags().IntVar(&f.options.Faces, "faces", 2, "faces that rub on the part")
	cmd.Flags().Float64Var(&f.options.GripFactor, "grip-factor", 1, "share of the friction that a twisting or offset pull can use; the contact command works it out")
	cmd.Flags().StringVar(&f.usual, "usual", "", `weight on the handle that the shop uses today, as "5 kg" (default: the study's usual level, or the greatest tried)`)
	cmd.Flags().StringVar(&f.need, "need", "", `grip that wear must not fall below, as "400 N": says how many clampings each facing lasts`)
	cmd.Flags().StringVar(&f.spread, "spread", "auto", "scatter of the facings: auto, common or by-facing")
	cmd.Flags().BoolVar(&f.options.Bootstrap, "bootstrap", false, "also give the ratios' intervals by resampling")
	cmd.Flags().Uint64Var(&f.options.Seed, "seed", 0, "seed of the resampling and of the permutation test")
	return cmd
}

// check turns flag texts into options; flags that were not given leave the
// choice to the study.
func (f *analyseFlags) check(cmd *cobra.Command) error {
	if c := f.options.Confidence; !(c > 0 && c < 1) {
		return usageError{fmt.Errorf("--confidence %v: give a share between 0 and 1, such as 0.95", c)}
	}
	if f.options.Faces < 1 {
		return usageError{fmt.Errorf("--faces %d: at least one face rubs; a vise has 2", f.options.Faces)}
	}
	if g := f.options.GripFactor; !(g > 0 && g <= 1) {
		return usageError{fmt.Errorf("--grip-factor %v: give a share above 0 and up to 1", g)}
	}
	spreads := map[string]analysis.Spreads{"auto": analysis.SpreadsAuto, "common": analysis.SpreadsCommon, "by-facing": analysis.SpreadsByFacing}
	var known bool
	if f.options.Spreads, known = spreads[f.spread]; !known {
		return usageError{fmt.Errorf("--spread %q: say auto, common or by-facing", f.spread)}
	}
	if !cmd.Flags().Changed("faces") {
		f.options.Faces = 0
	}
	if !cmd.Flags().Changed("grip-factor") {
		f.options.GripFactor = 0
	}
	if f.need != "" {
		need, _, err := unit.Parse(unit.Force, f.need)
		if err == nil && need <= 0 {
			err = fmt.Errorf("%q is not above zero", f.need)
		}
		if err != nil {
			return usageError{fmt.Errorf("--need: %w", err)}
		}
		f.options.Need = analysis.Number(need)
	}
	if f.usual != "" {
		kg, _, err := unit.Parse(unit.Mass, f.usual)
		if err == nil && kg <= 0 {
			err = fmt.Errorf("%q is not above zero", f.usual)
		}
		if err != nil {
			return usageError{fmt.Errorf("--usual: %w", err)}
		}
		f.options.Usual = analysis.Number(kg)
	}
	return nil
}

// gathered is what the files on the command line hold.
type gathered struct {
	readings []trial.Reading
	study    trial.Study
	force    unit.Unit // to show forces in
}

// analyse is analysis.Analyse with a bar for those who wait.
func (a *app) analyse(readings []trial.Reading, s trial.Study, o analysis.Options) (analysis.Results, error) {
	bar := newProgress(a, "analysing", analysis.Steps())
	defer bar.done()
	o.Step = bar.step
	return analysis.Analyse(readings, s, o)
}

// runAnalyse reads, analyses and prints.
func runAnalyse(a *app, f analyseFlags, names []string) error {
	g, err := gather(a, names)
	if err != nil {
		return err
	}
	res, err := a.analyse(g.readings, g.study, f.options)
	if errors.Is(err, analysis.ErrNoPulls) {
		return cannotError{fmt.Errorf("%s: %w; log some with `griptrial log` or `griptrial bench`", strings.Join(names, ", "), err)}
	}
	if err != nil {
		return fmt.Errorf("%s: %w", strings.Join(names, ", "), err)
	}
	if f.json {
		if !f.pulls {
			res.Pulls = nil
		}
		err = printJSON(a.stdout, res)
	} else {
		err = printResults(a.stdout, res, g.force)
	}
	if err != nil {
		return err
	}
	if !res.Anything() {
		return cannotError{fmt.Errorf("%s: nothing can be estimated from these pulls; the warnings say what to add", strings.Join(names, ", "))}
	}
	return nil
}

// gather reads files and study folders; the first study describes the rig, and
// the others must be rigged alike.
func gather(a *app, names []string) (gathered, error) {
	var g gathered
	rig := ""
	labels := blockLabels(names)
	for i, name := range names {
		one, isStudy, err := readTrial(a, name)
		if err != nil {
			return g, err
		}
		if g.force.Name == "" || isStudy && rig == "" {
			g.force = one.force
		}
		switch s := one.study; {
		case isStudy && rig == "":
			g.study, rig = s, name
		case isStudy && (s.Pull != g.study.Pull || s.Handle != g.study.Handle || s.Screw != g.study.Screw):
			return g, fmt.Errorf("%s is rigged differently from %s (handle, screw or pull in study.toml); analyse them apart", name, rig)
		}
		for _, r := range one.readings {
			if len(names) > 1 {
				r.Study = labels[i]
			}
			g.readings = append(g.readings, r)
		}
	}
	return g, nil
}

// blockLabels names the files as blocks: by their last element, or in full
// where two share it.
func blockLabels(names []string) []string {
	count := map[string]int{}
	for _, n := range names {
		count[filepath.Base(n)]++
	}
	labels := make([]string, len(names))
	for i, n := range names {
		if labels[i] = filepath.Base(n); count[labels[i]] > 1 {
			labels[i] = n
		}
	}
	return labels
}

// readTrial reads one file or study folder.
func readTrial(a *app, name string) (g gathered, isStudy bool, err error) {
	if dir, ok := ledgerOf(name); ok {
		name = dir
	}
	if name != "-" {
		info, err := statInput(name)
		if err != nil {
			return g, false, err
		}
		if info.IsDir() {
			g, err = readStudy(name)
			return g, true, err
		}
	}
	var in io.Reader = a.stdin
	if name != "-" {
		file, err := os.Open(name)
		if err != nil {
			return g, false, err
		}
		defer file.Close()
		in = file
	}
	t, err := table.ReadReadings(name, in)
	if err != nil {
		return g, false, err
	}
	for i := range t.Readings {
		if t.Text(i, "supersedes") != "" {
			return g, false, fmt.Errorf("%s:%d: supersedes: this is a ledger with corrections, in which a row takes the place of an earlier one; analyse its study folder, or what `griptrial export` writes", name, t.Line[i])
		}
	}
	return gathered{readings: t.Readings, force: t.Force}, false, nil
}

// statInput looks at a study folder or a file that must be there.
func statInput(name string) (fs.FileInfo, error) {
	info, err := os.Stat(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: there is no such file or folder; give a table of readings or a study folder, and `griptrial new` makes a study", name)
	}
	return info, err
}

// ledgerOf gives the study folder when a file is the ledger of one: only the
// folder knows which rows stand.
func ledgerOf(name string) (dir string, ok bool) {
	if filepath.Base(name) != study.LedgerFile {
		return "", false
	}
	dir = filepath.Dir(name)
	_, err := os.Stat(filepath.Join(dir, study.SetupFile))
	return dir, err == nil
}

// readStudy reads a study folder.
func readStudy(dir string) (gathered, error) {
	folder, err := study.Open(dir)
	if err != nil {
		return gathered{}, err
	}
	defer folder.Close()
	readings, err := folder.Readings()
	if err != nil {
		return gathered{}, err
	}
	s := folder.Setup()
	u, err := unit.Lookup(unit.Force, s.Unit)
	if err != nil {
		return gathered{}, fmt.Errorf("%s: display unit of force: %w", dir, err)
	}
	cal, err := calibrationOf(folder)
	if err != nil {
		return gathered{}, err
	}
	if cal != nil {
		cal.state(&s.Scale)
	}
	return gathered{readings: readings, study: s, force: u}, nil
}
