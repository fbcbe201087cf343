package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"griptrial/acquire/bench"
	"griptrial/acquire/bench/practice"
	"griptrial/acquire/loadcell"
	"griptrial/acquire/simrig"
	"griptrial/acquire/study"
	"griptrial/acquire/wire"
	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
	"griptrial/report"
	"griptrial/report/post"
)

// demoFlags are the settings of `demo`.
type demoFlags struct {
	live  bool
	seed  uint64
	speed float64
	rest  string
}

func demoCommand(a *app) *cobra.Command {
	var f demoFlags
	cmd := &cobra.Command{
		Use:   "demo [FOLDER]",
		Short: "Make a complete trial with a simulated vise, and report it",
		Long: `demo makes a whole trial without hardware or questions: a study in a new folder,
pulled by a simulated vise and load cell through the same code as a real
session, analysed and reported. It prints the verdict and where the report is.
The facings' grips are invented; nothing about real facings can be learnt.

With --live it makes the study, draws its run order, and serves the simulated
load cell on a pseudo-terminal until Ctrl-C, making pull after pull with a rest
between, so that bench can be tried without hardware.

FOLDER must not exist yet. Without it griptrial-demo is taken, or
griptrial-demo-2 and so on.`,
		Example: `  griptrial demo
  griptrial demo --seed 7 try-7
  griptrial demo --live`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usageError{fmt.Errorf("demo takes at most one folder; see `%s --help`", cmd.CommandPath())}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			dir, err := newDir(args)
			if err != nil {
				return err
			}
			if f.live {
				return liveDemo(cmd.Context(), a, f, dir)
			}
			if cmd.Flags().Changed("speed") || cmd.Flags().Changed("rest") {
				return usageError{errors.New("--speed and --rest are for --live")}
			}
			return runDemo(cmd.Context(), a, f, dir)
		},
	}
	cmd.Flags().BoolVar(&f.live, "live", false, "serve the simulated load cell, to try bench with")
	cmd.Flags().Uint64Var(&f.seed, "seed", 1, "of everything that chance decides in the simulated shop")
	cmd.Flags().Float64Var(&f.speed, "speed", 1, "with --live: 4 is four times as fast as life")
	cmd.Flags().StringVar(&f.rest, "rest", "8 s", "with --live: from one pull to the next")
	return cmd
}

// newDir is the folder that was asked for, or the first free one.
func newDir(args []string) (string, error) {
	if len(args) == 1 {
		if _, err := os.Lstat(args[0]); !errors.Is(err, os.ErrNotExist) {
			return "", fmt.Errorf("%s exists already; name a folder that does not, or none", args[0])
		}
		return args[0], nil
	}
	for i := 1; ; i++ {
		dir := "griptrial-demo"
		if i > 1 {
			dir = fmt.Sprintf("griptrial-demo-%d", i)
		}
		if _, err := os.Lstat(dir); errors.Is(err, os.ErrNotExist) {
			return dir, nil
		} else if err != nil {
			return "", err
		}
	}
}

// demoSetup is the study of the simulated shop.
func demoSetup(shop simrig.Shop) trial.Study {
	const mm, deg = 1e-3, 0.017453292519943295
	s := trial.Study{
		Format:   study.Format,
		Name:     "Acrylic blanks",
		Question: "Which facing holds a cast-acrylic blank with the least squeeze?",
		Unit:     "N",
		Plan:     trial.Plan{Blocks: 2, Repeats: 1},
		Handle:   trial.Handle{Arm: 150 * mm, Mass: 0.2, MassArm: 70 * mm},
		Screw: trial.Screw{PitchDiameter: 18 * mm, Lead: 4 * mm, HalfFlank: 15 * deg, CollarDiameter: 24 * mm,
			ThreadLow: 0.10, ThreadHigh: 0.20, CollarLow: 0.10, CollarHigh: 0.14},
		Pull:   shop.Setup,
		Scale:  trial.Scale{Kind: "cell", Capacity: shop.Cell.Capacity, Calibration: "simulated.csv"},
		Claims: []trial.Claim{{Kind: "ratio", Facing: shop.Facings[1].Name, Ratio: 2}},
		// Cast acrylic: yield and modulus from a data sheet's typical values;
		// the cutting force is an order of magnitude from memory.
		Part: []trial.Part{{Material: "cast acrylic", Yield: 100e6, Modulus: 3.2e9, Length: 60 * mm, Width: 30 * mm, Height: 10 * mm,
			Grip: 3 * mm, Floor: 3 * mm}},
		Cut: []trial.Cut{{Kc11: 120e6, Mc: 0.25, Diameter: 4 * mm, Teeth: 2, FeedTooth: 0.02 * mm, Depth: 1 * mm, Width: 4 * mm, Mode: "slot",
			X: 10 * mm, Z: 8 * mm, Radial: 0.45, Axial: 0.3, Dullness: [2]float64{1, 1.3}, Dynamic: [2]float64{1.2, 1.5}, Safety: 1.5}},
	}
	for i, f := range shop.Facings {
		s.Facings = append(s.Facings, trial.Facing{Name: f.Name, Control: i == 0, Samples: f.Samples})
	}
	for i, l := range shop.Levels {
		s.Levels = append(s.Levels, trial.Level{Name: l.Name, Weight: l.Weight, Usual: i == 1})
	}
	return s
}

// demoStudy makes the folder: setup, calibration and run order.
func demoStudy(a *app, dir string, shop simrig.Shop, seed uint64) (*study.Folder, error) {
	folder, err := study.Create(dir, demoSetup(shop), "griptrial demo")
	if err != nil {
		return nil, err
	}
	cal := practice.Calibration(shop)
	cal.Date = a.now().Format(time.DateOnly)
	err = replaceFile(filepath.Join(dir, study.CalibrationDir, folder.Setup().Scale.Calibration), cal.Append(nil))
	if err == nil {
		err = folder.Draw(seed)
	}
	if err != nil {
		return nil, errors.Join(err, folder.Close())
	}
	return folder, nil
}

// runDemo makes, pulls, analyses and reports a study.
func runDemo(ctx context.Context, a *app, f demoFlags, dir string) (err error) {
	shop := simrig.DefaultShop()
	shop.Seed = f.seed
	folder, err := demoStudy(a, dir, shop, f.seed)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, folder.Close()) }()
	fmt.Fprintf(a.stderr, "Pulling %d times at a simulated vise ...\n", len(folder.Plan()))
	sum, err := pullAll(ctx, a, folder, simrig.NewDevice(shop, f.seed), practice.Calibration(shop))
	if err != nil {
		return err
	}
	fmt.Fprintf(a.stderr, "%d pulls saved: %d slipped, %d held, %d void.\n\n", sum.Saved(), sum.Slipped, sum.Held, sum.Void)
	in, err := reportFromStudy(a, folder, analysis.Options{})
	if err != nil {
		return err
	}
	remarked(&in, "A simulated trial: the facings' grips are invented.")
	paths, err := writeReport(in, filepath.Join(dir, "reports"), reportFormats, post.Options{})
	if err != nil {
		return err
	}
	printDemo(a, in, dir, paths[0])
	return nil
}

// printDemo says what came out and where it is.
func printDemo(a *app, in report.Input, dir, page string) {
	for _, line := range in.Verdict().Lines() {
		fmt.Fprintln(a.stdout, line)
	}
	fmt.Fprintf(a.stdout, "\nreport   %s\nstudy    %s\n", page, dir)
	fmt.Fprintf(a.stderr, "\nOpen the report in a browser. Simulated: nothing about real facings follows.\n")
}

// pullAll makes every planned pull. The steady hand at the simulated vise sees
// when the tie lets go and calls such a pull void, as a person would; for the
// rest it takes what the program proposes.
func pullAll(ctx context.Context, a *app, folder *study.Folder, device *simrig.Device, cal loadcell.Calibration) (bench.Summary, error) {
	line := &simulatedLine{device: device}
	start := a.now()
	now := func() time.Time { return start.Add(line.at) }
	answer := func(v bench.View) (bench.Command, bool) {
		switch v.Phase {
		case bench.Checks:
			return bench.Command{Verb: bench.Begin}, true
		case bench.Mounting:
			return bench.Command{Verb: bench.Tare}, true
		case bench.Judging:
			return watched(device.Last(), v.Proposal), true
		}
		return bench.Command{}, false
	}
	return bench.Drive(ctx, bench.Config{
		Folder: folder, Calibration: cal, Now: now,
		Source: func(context.Context) bench.Source { return wire.NewReader(line, wire.ReaderOptions{Now: now}) },
		Ready: func(p trial.PlannedPull) {
			// The names come from the shop itself, so the order is always known.
			_ = device.Order(simrig.Order{Facing: p.Facing, Sample: p.Sample, Level: p.Level})
		},
	}, answer)
}

// watched is what a person who watched the pull says to the proposal.
func watched(p simrig.ShopPull, proposed *bench.Proposal) bench.Command {
	switch {
	case p.TieLost:
		return bench.Command{Verb: bench.Void, Text: "the tie let go"}
	case proposed.Outcome != trial.Unclear:
		return bench.Command{Verb: bench.Accept}
	case p.Truth.Outcome == trial.Slipped:
		return bench.Command{Verb: bench.Slipped, Text: "seen to move"}
	}
	return bench.Command{Verb: bench.Held, Text: "seen to stay"}
}

// simulatedLine reads a device as fast as the reader takes it. Its clock is
// the device's.
type simulatedLine struct {
	device *simrig.Device
	rest   []byte
	at     time.Duration
}

func (l *simulatedLine) Read(p []byte) (int, error) {
	if len(l.rest) == 0 {
		l.rest, l.at = l.device.Next(l.rest[:0])
	}
	n := copy(p, l.rest)
	l.rest = l.rest[n:]
	return n, nil
}

// liveDemo serves the simulated cell beside a study that is ready to pull.
func liveDemo(ctx context.Context, a *app, f demoFlags, dir string) (err error) {
	if !(f.speed > 0 && f.speed <= 100) {
		return usageError{fmt.Errorf("--speed: %g is not above 0 and at most 100", f.speed)}
	}
	rest, _, err := unit.Parse(unit.Time, f.rest)
	if err != nil || rest <= 0 {
		return usageError{errors.Join(fmt.Errorf("--rest %q: give a time above zero, as \"8 s\"", f.rest), err)}
	}
	shop := simrig.DefaultShop()
	shop.Seed = f.seed
	folder, err := demoStudy(a, dir, shop, f.seed)
	if err != nil {
		return err
	}
	var orders []simrig.Order
	for _, p := range folder.Plan() {
		orders = append(orders, simrig.Order{Facing: p.Facing, Sample: p.Sample, Level: p.Level})
	}
	if err := folder.Close(); err != nil { // the study is for bench to write
		return err
	}
	device := simrig.NewDevice(shop, f.seed)
	if err := device.Repeat(orders, time.Duration(rest*float64(time.Second))); err != nil {
		return err
	}
	path, wait, err := simrig.Serve(ctx, device, practice.Clock(a.now, f.speed))
	if err != nil {
		return err
	}
	link := dir + ".cell"
	if err := os.Symlink(path, link); err != nil {
		link = path // a file of that name, or a file system without links: the path does as well
	} else {
		defer func() { err = errors.Join(err, os.Remove(link)) }()
	}
	fmt.Fprintf(a.stdout, "port     %s\nstudy    %s\n", link, dir)
	fmt.Fprintf(a.stderr, "\nA simulated load cell pulls about every %s. In another terminal:\n\n  griptrial bench %s --port %s\n\nCtrl-C ends it.\n", f.rest, dir, link)
	return wait()
}
