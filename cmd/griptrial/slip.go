package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/spf13/cobra"

	"griptrial/acquire/bench"
	"griptrial/acquire/table"
	"griptrial/analysis"
	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
	"griptrial/report/figure"
)

// slipFlags are the settings of `slip`.
type slipFlags struct {
	json, why          bool
	division, capacity string
	figure             string
	options            slip.Options
}

func slipCommand(a *app) *cobra.Command {
	var f slipFlags
	cmd := &cobra.Command{
		Use:   "slip [flags] FILE...",
		Short: "Find the slip point in recorded pulls, or say why there is none",
		Long: `slip reads the record of one pull from each FILE (CSV with the columns
"t [s]" and "force [N]", in any accepted units; "-" is standard input) and says
whether the part slipped, at what force, with a 95 % interval, or held, or that
the record alone cannot tell.

The slip force is the greatest force the part carried before gross motion: the
first peak that motion follows, or the knee where it gives way gradually. The
sign and the rest offset of the force may be anything. A file may state the
scale's reading step and end in comment lines, "# division: 0.5 N" and
"# capacity: 500 N"; the flags stand above them. Times are those of the file; in
a trace of "griptrial bench", whose screen counts from the start of the pull,
--why gives that time too.

Remarks in the column "flags":
` + flagHelp() + `
Results come in the order of the files. A file that cannot be read is reported
and the others go on; the exit status is then 1.`,
		Example: `  griptrial slip traces/0007.csv
  griptrial slip --why p240-usual-weight.csv
  griptrial slip --figure p240.svg traces/0007.csv
  griptrial slip --json --division "0.5 N" traces/*.csv > slips.ndjson`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usageError{errors.New("slip takes one or more trace files; see `griptrial slip --help`")}
			}
			return nil
		},
		RunE: func(_ *cobra.Command, files []string) error {
			var err error
			if f.options.Division, err = positiveForce("division", f.division); err != nil {
				return err
			}
			if f.options.Capacity, err = positiveForce("capacity", f.capacity); err != nil {
				return err
			}
			switch ext := strings.TrimPrefix(filepath.Ext(f.figure), "."); {
			case f.figure == "":
			case len(files) != 1:
				return usageError{errors.New("--figure draws one file; give one")}
			case !slices.Contains(figure.Formats, ext):
				return usageError{fmt.Errorf("--figure: %q does not end in one of .%s", f.figure, strings.Join(figure.Formats, ", ."))}
			case samePath(f.figure, files[0]):
				return usageError{fmt.Errorf("--figure: %q is the trace itself", f.figure)}
			}
			return runSlip(a, f, files)
		},
	}
	cmd.Flags().BoolVar(&f.json, "json", false, "print one JSON object a line")
	cmd.Flags().BoolVar(&f.why, "why", false, "add the evidence in words")
	cmd.Flags().StringVar(&f.division, "division", "", `reading step of the scale, as "0.5 N" (default: found from the data)`)
	cmd.Flags().StringVar(&f.figure, "figure", "", "draw the record with what was considered and chosen: OUT.svg, .png or .pdf")
	cmd.Flags().StringVar(&f.capacity, "capacity", "", `scale's end, as "500 N" (default: found from the data)`)
	return cmd
}

// flagHelp lists the remarks that a result may carry.
func flagHelp() string {
	var b strings.Builder
	for _, f := range slip.Flags {
		fmt.Fprintf(&b, "  %-12s %s\n", f, f.About())
	}
	return b.String()
}

// positiveForce parses a flag that is a force above zero; "" is 0.
func positiveForce(name, text string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	v, _, err := unit.Parse(unit.Force, text)
	if err != nil {
		return 0, usageError{fmt.Errorf("--%s: %w", name, err)}
	}
	if v <= 0 {
		return 0, usageError{fmt.Errorf("--%s: %q is not above zero", name, text)}
	}
	return v, nil
}

// judged is what one file gave.
type judged struct {
	file   string
	force  unit.Unit
	trace  trial.Trace // only where a figure is wanted
	result slip.Result
	seen   *float64 // s of the record's clock at which bench saw the load begin; nil: no trace of bench
	warn   []string // of the file: comments that say nothing
	err    error
}

// runSlip judges the files on all cores and prints them in their order.
func runSlip(a *app, f slipFlags, files []string) error {
	out := slipTable()
	failed, fromBench := false, false
	var writeErr error
	inOrder(len(files), func() func(int) judged {
		var room table.TraceFile // one for each core, used again for each file
		return func(i int) judged {
			j := judgeFile(a, files[i], f.options, &room)
			if f.figure != "" {
				j.trace = room.Trace // one file, so the room is not used again
			}
			return j
		}
	}, func(j judged) {
		failed = failed || j.err != nil
		fromBench = fromBench || j.seen != nil && j.err == nil
		for _, w := range j.warn {
			fmt.Fprintf(a.stderr, "griptrial: warning: %s\n", w)
		}
		var err error
		if f.figure != "" && j.err == nil {
			err = drawEvidence(f.figure, j)
			writeErr = errors.Join(writeErr, err)
		}
		switch {
		case f.json:
			err = printSlipJSON(a.stdout, j, f.why)
		case j.err != nil:
			fmt.Fprintf(a.stderr, "griptrial: %s\n", harmless(j.err.Error()))
		case f.why:
			err = printWhy(a.stdout, j)
		default:
			addSlip(&out, j)
		}
		writeErr = errors.Join(writeErr, err)
	})
	if !f.json {
		_, err := io.WriteString(a.stdout, out.text(lookOf(a.stdout), 0))
		writeErr = errors.Join(writeErr, err)
		if fromBench && !f.why {
			fmt.Fprintln(a.stderr, "at: on the record's clock; bench counts from the start of the pull, and --why gives both")
		}
	}
	switch {
	case writeErr != nil:
		return fmt.Errorf("writing the results: %w", writeErr)
	case failed:
		return errReported
	}
	return nil
}

// inOrder runs jobs 0..n-1 on all cores, each core with a worker of its own,
// and hands the results to use one at a time in order.
func inOrder[T any](n int, worker func() func(int) T, use func(T)) {
	next := make(chan int)
	go func() {
		for i := range n {
			next <- i
		}
		close(next)
	}()
	results := make([]chan T, n)
	for i := range results {
		results[i] = make(chan T, 1)
	}
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			work := worker()
			for i := range next {
				results[i] <- work(i)
			}
		})
	}
	for i := range results {
		use(<-results[i])
		results[i] = nil
	}
	wg.Wait()
}

// judgeFile reads and judges one file; room is used again by the next.
func judgeFile(a *app, file string, o slip.Options, room *table.TraceFile) judged {
	j := judged{file: file}
	in := a.stdin
	if file != "-" {
		f, err := os.Open(file)
		if err != nil {
			j.err = err
			return j
		}
		defer f.Close()
		in = f
	}
	if j.err = room.Read(file, in); j.err != nil {
		return j
	}
	if room.Trace.Force == nil {
		j.err = fmt.Errorf("%s: %w", file, table.ErrNoForce)
		return j
	}
	j.force = room.Force
	o.Breaks = len(room.Breaks)
	for i, m := range room.Meta {
		if micros, err := strconv.ParseInt(m.Value, 10, 64); m.Key == bench.LoadSeen && err == nil {
			seen := float64(micros) / 1e6
			j.seen = &seen
		}
		into := map[string]*float64{"division": &o.Division, "capacity": &o.Capacity}[m.Key]
		if into == nil {
			continue // an ordinary comment
		}
		v, _, err := unit.Parse(unit.Force, m.Value)
		if err == nil && !(v > 0) {
			err = fmt.Errorf("%q is not above zero", m.Value)
		}
		switch {
		case err != nil:
			j.warn = append(j.warn, fmt.Sprintf("%s:%d: %s: %v; the comment is passed over", file, room.Lines[i], m.Key, err))
		case *into == 0: // a flag stands above it
			*into = v
		}
	}
	if j.result, j.err = slip.Detect(room.Trace, o); j.err != nil {
		j.err = fmt.Errorf("%s: %w", file, j.err)
	}
	return j
}

// samePath tells whether two names stand for one file.
func samePath(a, b string) bool {
	x, errA := os.Stat(a)
	y, errB := os.Stat(b)
	return errA == nil && errB == nil && os.SameFile(x, y)
}

// drawEvidence writes the figure of one judged file.
func drawEvidence(name string, j judged) error {
	f := figure.Evidence(j.trace, j.result, j.force, j.file)
	var b bytes.Buffer
	if err := f.Write(&b, strings.TrimPrefix(filepath.Ext(name), ".")); err != nil {
		return err
	}
	return os.WriteFile(name, b.Bytes(), 0o666)
}

// slipLine is one line of `slip --json`.
type slipLine struct {
	File      string            `json:"file"`
	Outcome   string            `json:"outcome"`
	Force     analysis.Number   `json:"slip_force_N"`
	Time      analysis.Number   `json:"slip_time_s"`
	Interval  []analysis.Number `json:"force_interval_N"`
	Peak      analysis.Number   `json:"peak_force_N"`
	PeakTime  analysis.Number   `json:"peak_time_s"`
	Kind      *slip.Kind        `json:"kind"`
	Flags     []slip.Flag       `json:"flags"`
	RestForce analysis.Number   `json:"rest_force_N"`
	Seen      *float64          `json:"load_seen_s,omitempty"` // where bench counts from
	Why       []string          `json:"why,omitempty"`
}

func printSlipJSON(w io.Writer, j judged, why bool) error {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	var v any
	if j.err != nil {
		v = struct {
			File  string `json:"file"`
			Error string `json:"error"`
		}{j.file, j.err.Error()}
	} else {
		r := j.result
		line := slipLine{
			File: j.file, Outcome: r.Outcome.String(), Flags: r.Flags,
			Force: analysis.Number(r.SlipForce), Time: analysis.Number(r.SlipTime),
			Peak: analysis.Number(r.PeakForce), PeakTime: analysis.Number(r.PeakTime),
			RestForce: analysis.Number(r.Evidence.Rest), Seen: j.seen,
		}
		if line.Flags == nil {
			line.Flags = []slip.Flag{}
		}
		if r.Outcome == trial.Slipped {
			line.Interval = []analysis.Number{analysis.Number(r.Low), analysis.Number(r.High)}
			line.Kind = &r.Kind
		}
		if why {
			line.Why = r.Why(j.force)
		}
		v = line
	}
	if err := enc.Encode(v); err != nil {
		return err
	}
	_, err := w.Write(harmlessJSON(b.Bytes()))
	return err
}

// slipTexts are the fields of a result for people, in the unit of its file; ""
// where one does not apply.
func slipTexts(j judged) (force, interval, at, flags string) {
	r, u := j.result, j.force
	switch r.Outcome {
	case trial.Slipped:
		force, at = u.Format(r.SlipForce, 4), fmt.Sprintf("%.3f s", r.SlipTime)
		interval = u.Number(r.Low, 4) + " to " + u.Format(r.High, 4)
	case trial.Held:
		force, at = "at least "+u.Format(r.PeakForce, 4), fmt.Sprintf("%.3f s", r.PeakTime)
	}
	words := make([]string, len(r.Flags))
	for i, f := range r.Flags {
		words[i] = string(f)
	}
	return force, interval, at, strings.Join(words, " ")
}

// slipTable is the table of judged files.
func slipTable() textTable {
	return textTable{columns: []textColumn{{head: "file", breaks: true}, {head: "outcome"}, {head: "force"}, {head: "95 % interval", stays: true},
		{head: "at", right: true, stays: true}, {head: "kind", stays: true}, {head: "flags", breaks: true, stays: true}}}
}

func addSlip(t *textTable, j judged) {
	force, interval, at, flags := slipTexts(j)
	t.add(j.file, j.result.Outcome.String(), force, interval, at, string(j.result.Kind), flags)
}

// benchTime says how the times of the record's clock and those of bench go together.
func benchTime(j judged) string {
	s := fmt.Sprintf("times are of the record's clock; bench counts from %.3f s, where the load was seen", *j.seen)
	since := j.result.Since(*j.seen)
	switch since.Outcome {
	case trial.Slipped:
		s += fmt.Sprintf(": the slip at %.3f s of the pull", since.SlipTime)
	case trial.Held:
		s += fmt.Sprintf(": the greatest force at %.3f s of the pull", since.PeakTime)
	}
	return s
}

// printWhy prints a result with the evidence in words.
func printWhy(w io.Writer, j judged) error {
	force, interval, at, flags := slipTexts(j)
	line := j.file + ": " + j.result.Outcome.String()
	for _, add := range []struct{ before, text, after string }{
		{", ", force, ""}, {" (95 %: ", interval, ")"}, {" at ", at, ""}, {", ", string(j.result.Kind), ""}, {" [", flags, "]"},
	} {
		if add.text != "" {
			line += add.before + add.text + add.after
		}
	}
	for _, reason := range j.result.Why(j.force) {
		line += "\n  " + reason
	}
	if j.seen != nil {
		line += "\n  " + benchTime(j)
	}
	_, err := fmt.Fprintln(w, harmless(line))
	return err
}
