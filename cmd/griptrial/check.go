package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"griptrial/acquire/study"
	"griptrial/analysis/trial"
)

// checkResult is what `check --json` prints.
type checkResult struct {
	Study    string         `json:"study"`
	Whole    bool           `json:"whole"`
	Rows     int            `json:"rows"`
	Pulls    int            `json:"pulls"`
	Void     int            `json:"void"`
	Traces   int            `json:"traces"`
	Left     int            `json:"left"` // planned pulls still to do
	Problems []checkProblem `json:"problems"`
}

type checkProblem struct {
	File   string `json:"file"`
	Line   int    `json:"line"`
	Column string `json:"column"`
	What   string `json:"what"`
	Note   bool   `json:"note"` // nothing that was saved is harmed
}

func checkCommand(a *app) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "check [flags] DIR",
		Short: "Prove a study whole, or list what is not",
		Long: `check reads everything in a study: study.toml, the plan against its seed, every
row of the ledger with its checksum, every correction, and every trace against
the SHA-256 that was saved with its pull. It changes nothing.

Lines that begin with "note:" tell of something worth knowing by which nothing
that was saved is harmed.

Exit status: 0 the study is whole; 1 something is not as it was saved.`,
		Example: `  griptrial check blanks
  griptrial check --json blanks`,
		Args: exactly(1, "a study folder"),
		RunE: func(_ *cobra.Command, args []string) error { return runCheck(a, args[0], asJSON) },
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the result as JSON")
	return cmd
}

func runCheck(a *app, dir string, asJSON bool) error {
	r := checkResult{Study: dir, Whole: true, Problems: []checkProblem{}}
	f, err := study.Open(dir)
	if err != nil {
		if !asJSON {
			return err
		}
		r.Whole = false
		for _, e := range parts(err) {
			r.Problems = append(r.Problems, problemOf(e))
		}
	} else {
		r.Rows, r.Left = len(f.History()), f.Left()
		for _, row := range f.Current() {
			r.Pulls++
			if row.Outcome == trial.Void {
				r.Void++
			}
			if row.Trace != "" {
				r.Traces++
			}
		}
		for _, p := range f.Check() {
			r.Whole = r.Whole && p.Note
			r.Problems = append(r.Problems, problemOf(p))
		}
	}
	if asJSON {
		if err := printJSON(a.stdout, r); err != nil {
			return err
		}
	} else {
		printCheck(a, r)
	}
	if !r.Whole {
		return errReported
	}
	return nil
}

func printCheck(a *app, r checkResult) {
	for _, p := range r.Problems {
		mark := ""
		if p.Note {
			mark = "note: "
		}
		fmt.Fprintf(a.stdout, "%s%s\n", mark, harmless(study.Problem{File: p.File, Line: p.Line, Column: p.Column, What: p.What}.Error()))
	}
	if !r.Whole {
		fmt.Fprintf(a.stdout, "%s is not whole\n", r.Study)
		return
	}
	fmt.Fprintf(a.stdout, "%s is whole: %s in %s (%d void), %s", r.Study, counted(r.Pulls, "pull"), counted(r.Rows, "row"), r.Void, counted(r.Traces, "trace"))
	if r.Left > 0 {
		fmt.Fprintf(a.stdout, "; %s still to do", counted(r.Left, "planned pull"))
	}
	fmt.Fprintln(a.stdout)
}

// parts takes a joined error apart.
func parts(err error) []error {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		var all []error
		for _, e := range many.Unwrap() {
			all = append(all, parts(e)...)
		}
		return all
	}
	return []error{err}
}

func problemOf(err error) checkProblem {
	var p study.Problem
	var s *study.SetupError
	switch {
	case errors.As(err, &p):
		return checkProblem{p.File, p.Line, p.Column, p.What, p.Note}
	case errors.As(err, &s):
		return checkProblem{File: s.File, Line: s.Line, Column: s.Key, What: s.What}
	}
	return checkProblem{What: err.Error()}
}
