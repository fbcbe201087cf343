package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"griptrial/acquire/disk"
)

// Exit statuses, as `griptrial help` lists them.
const (
	exitOK     = 0
	exitFailed = 1 // a file, a device or a study is not as it should be
	exitUsage  = 2 // the command line is wrong
	exitCannot = 3 // the data cannot answer the question
)

// app is what a command may touch of the outside world.
type app struct {
	stdin  io.Reader
	stdout io.Writer // results
	stderr io.Writer // talk
	now    func() time.Time
	disk   disk.FS                // what must survive is written to it; nil: the machine's
	browse func(url string) error // opens a browser; nil: none is opened
}

// files is the file system that what must survive is written to.
func (a *app) files() disk.FS {
	if a.disk == nil {
		return disk.OS{}
	}
	return a.disk
}

// usageError is a mistake on the command line.
type usageError struct{ error }

// cannotError says that the data cannot answer what was asked.
type cannotError struct{ error }

// errReported is an error that was already shown; only the status remains.
var errReported = errors.New("")

// run executes one command line and returns the exit status.
func run(ctx context.Context, args []string, a *app) int {
	root := newRoot(a)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var usage usageError
	var cannot cannotError
	switch {
	case err == nil:
		return exitOK
	case errors.Is(err, errReported):
		return exitFailed
	}
	fmt.Fprintf(a.stderr, "griptrial: %s\n", harmless(err.Error()))
	switch {
	case errors.As(err, &usage):
		return exitUsage
	case errors.As(err, &cannot):
		return exitCannot
	}
	return exitFailed
}

// newRoot builds the command tree.
func newRoot(a *app) *cobra.Command {
	root := &cobra.Command{
		Use:   "griptrial",
		Short: "Find out how well a part is held, and how little squeeze will do",
		Long: `griptrial makes an experiment of the question "will the vise hold this part?"
It plans pulls in random order, logs them, finds where the part slipped,
compares what faced the jaws, and says how little squeeze will do.

Exit status: 0 done; 1 a file, device or study is not as it should be;
2 the command line is wrong; 3 the data cannot answer the question.`,
		Example: `  griptrial demo
  griptrial new blanks
  griptrial plan blanks`,
		SilenceUsage:  true,
		SilenceErrors: true,
		// Letters that a mistyped command may have wrong; by itself cobra
		// suggests only what starts alike.
		SuggestionsMinimumDistance: 2,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usageError{fmt.Errorf("unknown command %q; see `griptrial help`%s", args[0], nearCommand(cmd, args[0]))}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetIn(a.stdin)
	root.SetOut(a.stdout)
	root.SetErr(a.stderr)
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return usageError{fmt.Errorf("%w; see `%s --help`", err, cmd.CommandPath())}
	})
	root.CompletionOptions.HiddenDefaultCmd = true
	for _, c := range commands {
		root.AddCommand(c(a))
	}
	return root
}

// commands lists the constructors in the order in which help shows them.
var commands = []func(*app) *cobra.Command{
	slipCommand,
	newCommand,
	planCommand,
	logCommand,
	checkCommand,
	analyseCommand,
	reportCommand,
	exportCommand,
	recordCommand,
	devicesCommand,
	calibrateCommand,
	benchCommand,
	demoCommand,
	contactCommand,
	clampCommand,
	windowCommand,
	// each command stands in a file of its own name
}

func nearCommand(cmd *cobra.Command, name string) string {
	near := cmd.SuggestionsFor(name)
	if len(near) == 0 {
		return ""
	}
	return ", or did you mean " + strings.Join(near, " or ") + "?"
}

// exactly wants n arguments and says what they are.
func exactly(n int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) != n {
			return usageError{fmt.Errorf("%s takes %s; see `%s --help`", cmd.Name(), what, cmd.CommandPath())}
		}
		return nil
	}
}

// printJSON writes one value as indented JSON.
func printJSON(w io.Writer, v any) error {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return err
	}
	_, err := w.Write(harmlessJSON(b.Bytes()))
	return err
}
