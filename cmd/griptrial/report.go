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
)

// reportFormats lists what `report` writes, in the order of its help.
var reportFormats = []string{"page", "card", "document", "post", "figures"}

// reportFlags are the settings of `report`.
type reportFlags struct {
	out     string
	formats []string
	remark  string
	options analysis.Options
}

func reportCommand(a *app) *cobra.Command {
	var f reportFlags
	cmd := &cobra.Command{
		Use:   "report [flags] STUDY|READINGS.csv",
		Short: "Write the report: page with shop card, document, post, figures",
		Long: `report analyses a study, or a CSV of readings, and writes what it found.

  page      report.html: one file that needs no other, with the shop card first
  card      card.html: the shop card alone, to print and hang at the vise
  document  validation.pdf: for the engineer who will check the claim
  post      post.md: a first draft of an article, with its pictures
  figures   figures/*.svg, *.png and *.pdf: each figure alone

A study's report goes to its folder reports/, that of a file to a folder
NAME-report beside it, unless --out names another. Earlier reports there are
replaced. The same study gives the same bytes. The places of the files are
printed, one a line. Without --format it writes page, card and figures.

Exit status: 0 done; 1 a file is not as it should be; 2 the command line is
wrong; 3 the report is written, but nothing can be estimated from these pulls.`,
		Example: `  griptrial report acrylic-blanks
  griptrial report acrylic-blanks --format document,post --out for-the-customer
  griptrial report pulls.csv`,
		Args: exactly(1, "a study folder or a file of readings"),
		RunE: func(_ *cobra.Command, args []string) error {
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
	cmd.Flags().StringSliceVar(&f.formats, "format", []string{"page", "card", "figures"}, "what to write: "+strings.Join(reportFormats, ", "))
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
	out := f.out
	if out == "" {
		out = defaultOut(name)
	}
	paths, err := writeReport(in, out, f.formats)
	if err != nil {
		return err
	}
	for _, p := range paths {
		fmt.Fprintln(a.stdout, p)
	}
	fmt.Fprintln(a.stderr, report.Sentence(in.Verdict().Headline))
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
func writeReport(in report.Input, out string, formats []string) ([]string, error) {
	files, err := reportFiles(in, formats)
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
