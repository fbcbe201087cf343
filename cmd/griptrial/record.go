package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"

	"griptrial/acquire/loadcell"
	"griptrial/acquire/port"
	"griptrial/acquire/table"
	"griptrial/acquire/wire"
	"griptrial/analysis/unit"
)

// recordFlags are the settings of `record`.
type recordFlags struct {
	port, calibration string
	framing           string
	length, tare      string
	pattern, unit     string
	baud              int
	json, force       bool
	comma             bool
}

func recordCommand(a *app) *cobra.Command {
	var f recordFlags
	cmd := &cobra.Command{
		Use:   "record --port PORT [flags] OUT.csv",
		Short: "Record one trace from a load cell, without a study",
		Long: `record writes what a load cell sends to OUT.csv: the columns seq, t [us],
counts and segment, and force [N] with a calibration. It ends after --for (by
the device's clock), with Ctrl-C, or when the device hangs up, and prints what
became of every line: samples + lost is what the device sent.

PORT is a path, a USB identity as "griptrial devices" shows it, or "-" for
standard input (a recorded stream). With --calibration the zero is the mean of
the first half second, so start with the link hanging free, or say --tare "0 s"
to take the zero of the calibration. Where the load was moving just then, every
force is off by an unknown amount, and a warning says so. A calibration of
another cell, gain or sample rate is refused.

Another instrument that prints a number and a unit a line is read with
--pattern and --unit: write a line as the instrument prints it, with {number}
for the value, {unit} for the unit, {stable:ST,US} for a word that tells
standing from moving readings, {unstable:?} for a mark that is there only while
they move, and {skip} for any other word. It is shown and tried on the first 20
lines. A line of a length that the lines beside it have not is rejected: it may
have lost a digit. The trace then has t [s] by the time of arrival, and force.
Some instruments need another --framing, as 7E2: seven bits, even parity, two
stop bits.

While it records, the samples stand in OUT.csv.part; OUT.csv appears when all
is written. Lines that were rejected are kept as they came in
OUT.csv.damaged.csv. An existing file is kept unless --force is given.

Exit status: 0 something was recorded, however it ended; 1 nothing came, or the
port or the file failed; 2 the command line is wrong.`,
		Example: `  griptrial record --port /dev/ttyACM0 --for "10 s" p240-pull.csv
  griptrial record --port usb:2341:0043 --calibration blanks/calibrations/2026-11-25.csv pull.csv
  griptrial record --port - --json replay.csv < stream.txt
  griptrial record --port /dev/ttyUSB0 --baud 4800 --framing 7E2 --pattern "{stable:ST,US},GS,{number} {unit}" --unit kg steel-pull.csv`,
		Args: exactly(1, "one file to write"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runRecord(cmd.Context(), a, f, args[0])
		},
	}
	cmd.Flags().StringVar(&f.port, "port", "", `path, USB identity, or "-" for standard input`)
	cmd.Flags().IntVar(&f.baud, "baud", port.DefaultBaud, "speed of the port; devices with USB of their own ignore it")
	cmd.Flags().StringVar(&f.framing, "framing", "8N1", "data bits, parity (N, E or O) and stop bits of the port")
	cmd.Flags().StringVar(&f.length, "for", "", `how long to record, as "10 s" (default: until Ctrl-C or hang-up)`)
	cmd.Flags().StringVar(&f.calibration, "calibration", "", "calibration file; adds the column force [N]")
	cmd.Flags().StringVar(&f.tare, "tare", "0.5 s", "rest at the start whose mean is the zero")
	cmd.Flags().StringVar(&f.pattern, "pattern", "", "how another instrument prints its lines")
	cmd.Flags().StringVar(&f.unit, "unit", "", "unit that the instrument shows, with --pattern")
	cmd.Flags().BoolVar(&f.comma, "decimal-comma", false, "its decimal mark is a comma, with --pattern")
	cmd.Flags().BoolVar(&f.json, "json", false, "print the summary as JSON")
	cmd.Flags().BoolVar(&f.force, "force", false, "overwrite OUT.csv")
	return cmd
}

// Why a recording ended.
const (
	endedTime        = "time"
	endedInterrupted = "interrupted"
	endedHangUp      = "hang-up"
)

// recordSummary is what `record --json` prints.
type recordSummary struct {
	wire.Account
	Ended   string      `json:"ended"`
	Damaged string      `json:"damaged,omitempty"` // file of the rejected lines
	Zero    *recordZero `json:"zero,omitempty"`    // taken from the start; nil: it was not
}

func runRecord(ctx context.Context, a *app, f recordFlags, out string) error {
	if f.port == "" {
		return usageError{errors.New("record needs --port; `griptrial devices` lists the ports")}
	}
	length, err := flagTime("for", f.length)
	if err != nil {
		return err
	}
	tare, err := flagTime("tare", f.tare)
	if err != nil {
		return err
	}
	if f.pattern != "" {
		return runRecordText(ctx, a, f, length, out)
	}
	var cal *loadcell.Calibration
	if f.calibration != "" {
		if cal, err = readCalibration(f.calibration); err != nil {
			return err
		}
		if _, err := cal.Fit(); err != nil {
			return cannotError{fmt.Errorf("%s: %w", f.calibration, err)}
		}
	}
	file, err := newRecording(a.files(), out, table.SampleHeader, f.force)
	if err != nil {
		return err
	}
	s := session{a: a, file: file, calibration: cal, length: length}
	if err := s.open(ctx, f); err != nil {
		return errors.Join(err, file.drop())
	}
	defer s.close()
	ended, err := s.run()
	if err != nil {
		file.close()
		return err
	}
	account := s.reader.Account()
	if !s.checked {
		s.check(account.Facts)
	}
	if s.mismatch != nil && account.Samples == 0 {
		return errors.Join(s.mismatch, file.drop())
	}
	summary := recordSummary{Account: account, Ended: ended}
	if account.Rejected > 0 && account.Samples > 0 {
		summary.Damaged = file.damaged.name
	}
	var scale *loadcell.Scale
	var noZero error
	if cal != nil && s.mismatch == nil && account.Samples > 0 {
		scale, summary.Zero, noZero = s.scale(tare)
	}
	if err := printRecordSummary(a, f.json, summary); err != nil {
		return err
	}
	if account.Samples == 0 {
		return errors.Join(fmt.Errorf("no sample came from %s: %s", f.port, s.nothing(account)), file.drop())
	}
	if noZero != nil {
		return noZero
	}
	summary.Zero.print(a.stderr)
	return s.finish(account, scale, summary.Zero, f.calibration)
}

// flagTime parses a flag that is a time; "" is 0.
func flagTime(name, text string) (time.Duration, error) {
	if text == "" {
		return 0, nil
	}
	v, _, err := unit.Parse(unit.Time, text)
	if err != nil {
		return 0, usageError{fmt.Errorf("--%s: %w", name, err)}
	}
	const longest = 30 * 24 * 3600 // s
	if v < 0 || v > longest || name == "for" && v == 0 {
		return 0, usageError{fmt.Errorf("--%s: %q is not a time above zero and below 30 days", name, text)}
	}
	return time.Duration(v * float64(time.Second)), nil
}

// open opens the port as the flags say.
func (f recordFlags) open() (*port.Port, error) {
	o, err := port.ParseFraming(f.framing)
	if err != nil {
		return nil, usageError{fmt.Errorf("--framing: %w", err)}
	}
	o.Baud = f.baud
	return port.Open(f.port, o)
}

// session is one recording.
type session struct {
	a           *app
	file        *recording
	calibration *loadcell.Calibration
	length      time.Duration // by the device's clock; 0: no limit
	ctx         context.Context
	cancel      context.CancelCauseFunc
	timer       *time.Timer // host's limit, for a device that falls silent
	port        *port.Port  // nil: standard input
	reader      *wire.Reader
	checked     bool   // the calibration was held against the facts
	mismatch    error  // it does not belong to them
	strange     string // the first rejected line; "": none came before a sample
	mute        string // what was seen instead of facts; "": facts came, or were not due
	elapsed     int64  // us of the device's clock, over all segments
	last        wire.Sample
	started     time.Time // wall clock of the first sample
	row         []byte
}

// errTime ends a recording whose time is up.
var errTime = errors.New("time is up")

// What is added to the host's limit: the device's clock decides, drivers deliver
// late, and a busy machine reads late. From a pipe it counts from the start, so
// that one that stays silent ends too.
const (
	grace     = time.Second
	pipeGrace = 3 * time.Second
)

func (s *session) open(ctx context.Context, f recordFlags) error {
	s.ctx, s.cancel = context.WithCancelCause(ctx)
	options := wire.ReaderOptions{Now: s.a.now}
	source := io.Reader(nil)
	if f.port == "-" {
		source = port.Stream(s.ctx, s.a.stdin)
	} else {
		p, err := f.open()
		if err != nil {
			s.cancel(nil)
			return err
		}
		s.port = p
		source = p.Reader(s.ctx)
		options.Joined, options.Ask = true, p
		fmt.Fprintf(s.a.stderr, "listening on %s; Ctrl-C ends and keeps what came\n", p.Path())
	}
	s.reader = wire.NewReader(source, options)
	if s.length > 0 && s.port == nil {
		s.limit(pipeGrace)
	}
	return nil
}

// limit starts the host's time limit.
func (s *session) limit(more time.Duration) {
	s.timer = time.AfterFunc(s.length+more, func() { s.cancel(errTime) })
}

func (s *session) close() {
	if s.timer != nil {
		s.timer.Stop()
	}
	s.cancel(nil)
	if s.port != nil {
		if err := s.port.Close(); err != nil {
			fmt.Fprintf(s.a.stderr, "griptrial: %v\n", err)
		}
	}
}

// run records until the end and says why it ended. On an error of the port or
// the file what came stays in the .part file.
func (s *session) run() (ended string, err error) {
	for {
		e, err := s.reader.Next()
		switch {
		case errors.Is(err, io.EOF), errors.Is(err, port.ErrHangUp):
			return endedHangUp, nil
		case err != nil && errors.Is(context.Cause(s.ctx), errTime):
			return endedTime, nil
		case err != nil && s.ctx.Err() != nil:
			return endedInterrupted, nil
		case err != nil:
			return "", fmt.Errorf("%w; what came is kept in %s", err, s.file.part)
		}
		done, err := s.take(e)
		if done || err != nil {
			return endedTime, err
		}
	}
}

// take handles one event; done tells that the time is up.
func (s *session) take(e wire.Event) (done bool, err error) {
	switch e.Kind {
	case wire.KindSample:
		if s.length > 0 && s.timer == nil {
			s.limit(grace)
		}
		if s.file.rows == 0 {
			s.started = e.Sample.Arrival
		}
		x := e.Sample
		s.row = table.AppendSample(s.row[:0], x.Seq, x.T, int64(x.Counts), int64(x.Segment))
		if err := s.file.add(s.row, s.a.now()); err != nil {
			return false, err
		}
		if s.last.Segment == e.Sample.Segment && s.file.rows > 1 {
			s.elapsed += e.Sample.T - s.last.T
		}
		s.last = e.Sample
		return s.length > 0 && s.elapsed >= s.length.Microseconds(), nil
	case wire.KindFact:
		if e.Fact.Key == "ready" {
			s.check(s.reader.Account().Facts)
			return s.mismatch != nil, nil
		}
	case wire.KindSegment:
		if e.Segment.Why != wire.WhyStart {
			fmt.Fprintf(s.a.stderr, "segment %d begins: %s\n", e.Segment.Segment, e.Segment.Why)
		}
	case wire.KindDamaged:
		if s.strange == "" && s.file.rows == 0 && !e.Damaged.Part {
			s.strange = fmt.Sprintf(", as %.60q", e.Damaged.Raw)
		}
		return false, s.file.reject(e.Damaged.Why, e.Damaged.Raw, e.Damaged.Part)
	case wire.KindStalled:
		if e.Again {
			fmt.Fprintln(s.a.stderr, "nothing has come for 3 s: look at the cable and the device")
		}
		return false, s.file.flush()
	case wire.KindNoFacts:
		s.mute = e.Seen
		if s.file.rows == 0 {
			s.cancel(errTime)
			return true, nil
		}
		fmt.Fprintf(s.a.stderr, "the device does not state its facts: %s\n", e.Seen)
	}
	return false, nil
}

// check finds out whether the calibration belongs to the device as it is. A
// device that is reset may come back set otherwise, so that every statement of
// its facts is looked at.
func (s *session) check(facts map[string]string) {
	if s.calibration == nil || s.mismatch != nil {
		return
	}
	var unverified []string
	unverified, s.mismatch = s.calibration.Check(facts)
	if s.mismatch != nil || s.checked {
		return
	}
	s.checked = true
	for _, key := range unverified {
		fmt.Fprintf(s.a.stderr, "warning: whether the calibration fits could not be checked by %q: not stated on both sides\n", key)
	}
}

// nothing says why no sample came.
func (s *session) nothing(account wire.Account) string {
	switch {
	case s.mute != "":
		return s.mute
	case account.Rejected > 0:
		return fmt.Sprintf("%d lines were damaged or are not of this protocol%s", account.Rejected, s.strange)
	}
	return "it sent nothing"
}

func printRecordSummary(a *app, asJSON bool, s recordSummary) error {
	if asJSON {
		return printJSON(a.stdout, s)
	}
	rate := "unknown rate"
	if s.RateHz != nil {
		rate = fmt.Sprintf("%.4g/s", *s.RateHz)
	}
	_, err := fmt.Fprintf(a.stdout, "%d samples at %s in %d segments, ended by %s\n%d lost, %d lines rejected, %d duplicates, %d stalls, %d saturated\n",
		s.Samples, rate, s.Segments, s.Ended, s.Lost, s.Rejected, s.Duplicates, s.Stalls, s.Saturated)
	if s.Damaged != "" {
		fmt.Fprintf(a.stderr, "the rejected lines are kept in %s\n", s.Damaged)
	}
	for _, w := range s.Warnings {
		fmt.Fprintf(a.stderr, "warning: %s\n", w.Text)
	}
	return err
}

// readCalibration reads a calibration file.
func readCalibration(name string) (*loadcell.Calibration, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	c, err := loadcell.Read(name, f)
	if err != nil {
		return nil, err
	}
	return &c, nil
}
