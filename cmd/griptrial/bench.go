package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"griptrial/acquire/bench"
	"griptrial/acquire/bench/practice"
	"griptrial/acquire/loadcell"
	"griptrial/acquire/port"
	"griptrial/acquire/simrig"
	"griptrial/acquire/study"
	"griptrial/acquire/wire"
	"griptrial/analysis/trial"
)

// benchFlags are the settings of `bench`.
type benchFlags struct {
	port, calibration, length     string
	listen                        string
	baud, pulls                   int
	practice, noBrowser, terminal bool
	speed                         float64
}

func benchCommand(a *app) *cobra.Command {
	var f benchFlags
	cmd := &cobra.Command{
		Use:   "bench STUDY [--port PORT] [flags]",
		Short: "Run the pulls of a study at the vise",
		Long: `bench opens a page in the browser, made to be read from across the vise. It asks
for a look at the set-up, says what to mount and which weight to hang, takes the
tare, starts by itself when the load rises, shows the force and the trace, and
when the load is gone proposes what happened: slipped, held, or unclear. One key
or one big button confirms or overrules it.

PORT is a path or a USB identity as "griptrial devices" shows it. The calibration
is the one that study.toml names, or --calibration. A study with a hand scale
needs no port: its readings are typed on the page. With --practice a simulated
load cell and vise take the place of yours: the study is left as it is, and what
is pulled is thrown away at the end.

Only this computer can reach the page. With --listen ADDRESS a phone or tablet
on the same network can: the terminal shows its address, which opens once, and a
code to scan; and another address for those who only look on. One screen has
the say at a time. The line is not encrypted: use it on a network that you trust.

Every sample is on disk as it comes. If the browser goes, the session waits for
it. If the cable comes out in mid-pull, the pull is saved as void with its trace,
and the session goes on when the same device is back. If the program is stopped,
the page shows next time what was recorded of the pull, to judge, and goes on.

With --terminal there is no page: the session is at the terminal, and answers may
be piped, one a line.

  Enter        as proposed (an unclear record always asks)
  s            slipped          h            held
  x tie let go void, and why; the pull is asked for again
  10  35+      slipped at 10, held at 35, in the study's unit
  ; crept      a note, after any of these

Between pulls: Enter takes the tare, undo takes the pull before back, skip REASON
leaves the next one out, q ends the session. While pulling, e ends the pull.

Exit status: 0 the session ended as it should, done or not; 1 the load cell, the
study or a file failed; 2 the command line is wrong.`,
		Example: `  griptrial bench blanks --port /dev/ttyACM0
  griptrial bench blanks --port usb:2341:0043 --listen 192.168.1.20
  griptrial bench blanks --practice
  griptrial bench blanks --terminal --port usb:2341:0043 --for "40 s"`,
		Args: exactly(1, "a study folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runBench(cmd.Context(), a, f, args[0])
		},
	}
	cmd.Flags().StringVar(&f.port, "port", "", "path or USB identity of the load cell")
	cmd.Flags().IntVar(&f.baud, "baud", port.DefaultBaud, "speed of the port; devices with USB of their own ignore it")
	cmd.Flags().StringVar(&f.calibration, "calibration", "", "calibration file (default: the one that study.toml names)")
	cmd.Flags().StringVar(&f.length, "for", "", `begin no pull after this time, as "1800 s" (default: no limit)`)
	cmd.Flags().IntVar(&f.pulls, "pulls", 0, "end after so many pulls (default: when the plan is done)")
	cmd.Flags().BoolVar(&f.practice, "practice", false, "use a simulated vise and load cell, and leave the study as it is")
	cmd.Flags().Float64Var(&f.speed, "speed", 1, "of the simulated vise: 4 is four times as fast as life")
	cmd.Flags().StringVar(&f.listen, "listen", "", "address for other devices, as 192.168.1.20 or :7420 (default: this computer only)")
	cmd.Flags().BoolVar(&f.noBrowser, "no-browser", false, "open no browser; the terminal shows the address")
	cmd.Flags().BoolVar(&f.terminal, "terminal", false, "no page: questions and answers at the terminal")
	return cmd
}

func (f benchFlags) check() error {
	switch {
	case f.practice && f.port != "":
		return errors.New("--practice brings its own load cell; leave --port out")
	case f.practice && f.calibration != "":
		return errors.New("--practice brings its own calibration; leave --calibration out")
	case f.terminal && (f.listen != "" || f.noBrowser):
		return errors.New("--terminal shows no page; leave --listen and --no-browser out")
	case !(f.speed > 0 && f.speed <= 100):
		return fmt.Errorf("--speed: %g is not above 0 and at most 100", f.speed)
	case f.speed != 1 && !f.practice:
		return errors.New("--speed is for --practice")
	case f.pulls < 0:
		return fmt.Errorf("--pulls: %d is below zero", f.pulls)
	}
	return nil
}

func runBench(ctx context.Context, a *app, f benchFlags, dir string) (err error) {
	if err := f.check(); err != nil {
		return usageError{err}
	}
	length, err := flagTime("for", f.length)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	c := bench.Config{Now: a.now, Pulls: f.pulls}
	if length > 0 {
		c.Until = a.now().Add(length)
	}
	path := f.port
	if f.practice {
		end, at, err := practiceBench(ctx, a, f, dir, &c)
		if err != nil {
			return err
		}
		path = at
		defer func() { cancel(); err = errors.Join(err, end()) }()
	} else {
		if err := realBench(a, f, dir, &c); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, c.Folder.Close()) }()
	}
	if !c.Folder.HasPlan() {
		return fmt.Errorf("%s: %w", dir, bench.ErrNoPlan)
	}
	if path != "" {
		cell, err := openCell(a, path, f)
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, cell.port.Close()) }()
		c.Source = cell.source
		if !f.terminal || terminal(a.stdin) { // a script cannot put a cable back
			c.Regain = cell.regain
		}
	}
	sum, err := runSession(ctx, a, f, c)
	printBenchEnd(a, f, dir, sum, err)
	if errors.Is(err, context.Canceled) {
		return nil // Ctrl-C ends a session like any other
	}
	return err
}

// runSession runs a session on the page or at the terminal.
func runSession(ctx context.Context, a *app, f benchFlags, c bench.Config) (bench.Summary, error) {
	if !f.terminal {
		return runPage(ctx, a, f, c.Folder.Setup(), c)
	}
	t := bench.NewTerminal(a.stdin, a.stdout, a.stderr, terminal(a.stderr), !terminal(a.stdin))
	defer t.Close()
	c.Operator = t
	return bench.Run(ctx, c)
}

// cell is the load cell on its port.
type cell struct {
	app    *app
	port   *port.Port
	reader *wire.Reader
}

func openCell(a *app, path string, f benchFlags) (*cell, error) {
	p, err := port.Open(path, port.Options{Baud: f.baud})
	return &cell{app: a, port: p}, err
}

func (c *cell) source(ctx context.Context) bench.Source {
	c.reader = wire.NewReader(c.port.Reader(ctx), wire.ReaderOptions{Now: c.app.now, Joined: true, Ask: c.port})
	return c.reader
}

// regain waits until the same device is plugged in again.
func (c *cell) regain(ctx context.Context) (bench.Source, error) {
	p, err := port.Regain(ctx, c.port, func(err error) { fmt.Fprintf(c.app.stderr, "  %v\n", err) })
	if err != nil {
		return nil, err
	}
	c.port = p
	c.reader.Rejoin(p.Reader(ctx), p)
	return c.reader, nil
}

// realBench opens the study and its calibration.
func realBench(a *app, f benchFlags, dir string, c *bench.Config) error {
	folder, err := study.OpenForWritingOn(a.files(), dir, "griptrial bench")
	if err != nil {
		return err
	}
	if f.port == "" {
		if folder.Setup().Scale.Kind == "hand" && !f.terminal {
			c.Folder = folder
			return nil
		}
		err = usageError{errors.New("bench needs --port; `griptrial devices` lists the ports, and --practice needs none")}
		if f.terminal && folder.Setup().Scale.Kind == "hand" {
			err = usageError{fmt.Errorf("bench needs --port; readings of a hand scale are typed with `griptrial log %s`, or on the page, without --terminal", dir)}
		}
		return errors.Join(err, folder.Close())
	}
	name := f.calibration
	if name == "" {
		name = folder.CalibrationPath()
	}
	var cal *loadcell.Calibration
	if name == "" {
		err = fmt.Errorf("%s names no calibration: `griptrial calibrate` makes one, or give --calibration FILE", dir)
	} else {
		cal, err = readCalibration(name)
	}
	if err != nil {
		return errors.Join(err, folder.Close())
	}
	c.Folder, c.Calibration = folder, *cal
	return nil
}

// practiceBench starts the simulated shop on a copy of the study. end stops it
// and throws the copy away, once ctx has ended.
func practiceBench(ctx context.Context, a *app, f benchFlags, dir string, c *bench.Config) (end func() error, path string, err error) {
	real, err := study.Open(dir)
	if err != nil {
		return nil, "", err
	}
	if !real.HasPlan() {
		return nil, "", fmt.Errorf("%s: %w", dir, bench.ErrNoPlan)
	}
	folder, remove, err := practice.Scratch(real.Setup(), a.now())
	if err != nil {
		return nil, "", err
	}
	c.Folder = folder
	if real.Setup().Scale.Kind == "hand" && !f.terminal {
		fmt.Fprintln(a.stderr, "Practice: type what you like; nothing is written to the study.")
		return remove, "", nil
	}
	shop := practice.Shop(real.Setup())
	device := simrig.NewDevice(shop, real.Setup().Plan.Seed)
	path, wait, err := simrig.Serve(ctx, device, practice.Clock(a.now, f.speed))
	if err != nil {
		return nil, "", errors.Join(err, remove())
	}
	c.Calibration = practice.Calibration(shop)
	c.Ready = func(p trial.PlannedPull) {
		if err := device.Order(simrig.Order{Facing: p.Facing, Sample: p.Sample, Level: p.Level}); err != nil {
			fmt.Fprintf(a.stderr, "griptrial: the simulated vise: %v\n", err)
		}
	}
	fmt.Fprintln(a.stderr, "Practice: a simulated vise pulls; nothing is written to the study.")
	return func() error { return errors.Join(wait(), remove()) }, path, nil
}

// printBenchEnd says what was done and what comes next.
func printBenchEnd(a *app, f benchFlags, dir string, sum bench.Summary, err error) {
	fmt.Fprintf(a.stderr, "\n%d pulls saved: %d slipped, %d held, %d void; %d left in the plan\n", sum.Saved(), sum.Slipped, sum.Held, sum.Void, sum.Left)
	switch {
	case f.practice:
		fmt.Fprintf(a.stderr, "That was practice: %s is as it was.\n", dir)
	case err != nil && sum.Left > 0:
		fmt.Fprintf(a.stderr, "What was saved is safe. `griptrial bench %s` goes on with the next pull.\n", dir)
	case sum.Left == 0:
		fmt.Fprintf(a.stderr, "Next: griptrial report %s\n", dir)
	}
}
