package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"griptrial/analysis"
	"griptrial/report"
	"griptrial/report/post"
)

// reportFormats lists what `report` writes, in the order of its help.
var reportFormats = []string{"page", "card", "document", "post", "svg", "figures"}

// reportFlags are the settings of `report`.
type reportFlags struct {
	out     string
	formats []string
	remark  string
	post    post.Options
	compare bool // two states or trials, not one
	json    bool // of a comparison
	options analysis.Options
}

func reportCommand(a *app) *cobra.Command {
	var f reportFlags
	cmd := &cobra.Command{
		Use:   "report [flags] STUDY|READINGS",
		Short: "Write the report: page with shop card, document, post, figures",
		Long: `report analyses a study, or a table of readings (CSV or workbook), and writes
what it found.

  page      report.html: one file that needs no other, with the shop card first
  card      card.html: the shop card alone, to print and hang at the vise
  document  validation.pdf, and the same as validation.html: for the engineer
            who will check the claim
  post      post.md: a first draft of an article, with its pictures
  svg       figures/*.svg: each figure alone
  figures   figures/*.svg, *.png and *.pdf

A study's report goes to its folder reports/, that of a file to a folder
NAME-report beside it, unless --out names another. Earlier reports there are
replaced. The same study gives the same bytes. The places of the files are
printed, one a line. Without --format it writes page, card and svg.

With --compare it takes two, OLD and NEW, and says what changed between two
states of one study, or between two trials: verdict, ratios and whether their
change is more than chance, pulls, set-up, calibration. It prints that, or JSON
with --json, and writes compare.html to the folder of the new one's reports, or
to --out. Where the two have different controls, --control names one for both.

Exit status: 0 done; 1 a file is not as it should be; 2 the command line is
wrong; 3 the report is written, but nothing can be estimated from these pulls.`,
		Example: `  griptrial report acrylic-blanks
  griptrial report acrylic-blanks --format document,post --out for-the-customer
  griptrial report pulls.csv
  griptrial report --compare march-blanks november-blanks`,
		Args: func(cmd *cobra.Command, args []string) error {
			if f.compare {
				return exactly(2, "with --compare an old and a new study or file of readings")(cmd, args)
			}
			return exactly(1, "a study folder or a file of readings")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case f.compare && cmd.Flags().Changed("format"):
				return usageError{errors.New("--format and --compare do not go together: a comparison is one page")}
			case f.compare:
				return runCompare(a, f.out, f.json, f.options, args[0], args[1])
			case f.post.FrontMatter && !slices.Contains(f.formats, "post"):
				return usageError{errors.New("--front-matter goes with --format post")}
			case f.json:
				return usageError{errors.New("--json goes with --compare; for results in JSON see `griptrial analyse --json`")}
			}
			for _, name := range f.formats {
				if !slices.Contains(reportFormats, name) {
					return usageError{fmt.Errorf("--format %q: choose among %s", name, strings.Join(reportFormats, ", "))}
				}
			}
			if len(f.formats) == 0 {
				return usageError{fmt.Errorf("--format is empty: choose among %s", strings.Join(reportFormats, ", "))}
			}
			return runReport(a, f, args[0])
		},
	}
	cmd.Flags().StringVar(&f.out, "out", "", "folder to write to (default: STUDY/reports)")
	cmd.Flags().StringSliceVar(&f.formats, "format", []string{"page", "card", "svg"}, "what to write: "+strings.Join(reportFormats, ", "))
	cmd.Flags().BoolVar(&f.post.FrontMatter, "front-matter", false, "start the post with its title and date as YAML, for a program that makes a site")
	cmd.Flags().BoolVar(&f.compare, "compare", false, "say what changed between two: report --compare OLD NEW")
	cmd.Flags().StringVar(&f.options.Control, "control", "", "facing to compare with (default: the study's, or the first in the file)")
	cmd.Flags().BoolVar(&f.json, "json", false, "with --compare: print JSON, and write a page only to --out")
	cmd.Flags().StringVar(&f.remark, "remark", "", `a line on top of every report, as "Pilot run, oiled jaws."`)
	return cmd
}

// runReport reads, analyses, writes and says where the report is.
func runReport(a *app, f reportFlags, name string) error {
	in, err := reportInput(a, name, f.options)
	if err != nil {
		return err
	}
	remarked(&in, f.remark)
	controlled(&in, f.options.Control)
	out := f.out
	if out == "" {
		out = defaultOut(name)
	}
	paths, err := writeReport(in, out, f.formats, f.post)
	if err != nil {
		return err
	}
	for _, p := range paths {
		fmt.Fprintln(a.stdout, p)
	}
	for _, line := range in.Verdict().Lines() {
		fmt.Fprintln(a.stderr, line)
	}
	if !in.Results.Anything() {
		return cannotError{fmt.Errorf("%s: the report is written, but nothing can be estimated from these pulls; its remarks say what to add", name)}
	}
	return nil
}

// defaultOut is where a report goes unless told otherwise.
func defaultOut(name string) string {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return filepath.Join(name, "reports")
	}
	if name == "-" {
		return "readings-report"
	}
	return strings.TrimSuffix(name, filepath.Ext(name)) + "-report"
}

// writeReport makes every file in memory first, so that a failure leaves the
// earlier report as it was; then it writes each beside its old self and
// renames it.
func writeReport(in report.Input, out string, formats []string, o post.Options) ([]string, error) {
	files, err := reportFiles(in, formats, o)
	if err != nil {
		return nil, err
	}
	var paths []string
	for _, f := range files {
		path := filepath.Join(out, filepath.FromSlash(f.name))
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			return nil, fmt.Errorf("write the report: %w", err)
		}
		if err := replaceFile(path, f.content); err != nil {
			return nil, fmt.Errorf("write the report: %w", err)
		}
		paths = append(paths, path)
	}
	return paths, nil
}

// replaceFile puts content under a name at once or not at all.
func replaceFile(path string, content []byte) error {
	temp, err := os.OpenFile(path+".tmp", os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o666)
	if err != nil {
		return err
	}
	_, err = temp.Write(content)
	if err = errors.Join(err, temp.Close()); err == nil {
		err = os.Rename(temp.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(temp.Name()))
	}
	return nil
}
