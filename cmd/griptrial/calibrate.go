package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"

	"github.com/spf13/cobra"

	"griptrial/acquire/disk"
	"griptrial/acquire/loadcell"
	"griptrial/acquire/port"
	"griptrial/analysis/clamp"
	"griptrial/analysis/unit"
	"griptrial/report/figure"
)

// calibrateFlags are the settings of `calibrate`.
type calibrateFlags struct {
	port, from, average, check string
	figure                     string
	latitude                   float64
	altitude, gravity, rated   string
	density, weights           float64
	baud                       int
	json, force, latitudeGiven bool
}

func calibrateCommand(a *app) *cobra.Command {
	var f calibrateFlags
	cmd := &cobra.Command{
		Use:   "calibrate (--port PORT | --from WEIGHTS.csv) [flags] [OUT.csv]\n  griptrial calibrate --check WEIGHT --port PORT (STUDY | CELL.csv)",
		Short: "Calibrate a load cell with hung weights",
		Long: `calibrate fits the counts of a load cell on the force of known weights, and
says how far the fit can be trusted: residuals, span with its standard
uncertainty, repeatability between runs, hysteresis, return to zero, and the
classes of ISO 376 (the cell) and ISO 7500-1 (the rig as a testing machine) that
the points would meet (an indication, not a certificate).

With --port it asks for each weight and reads the cell: type what hangs on it
("2 kg", "10 lbf", or 0 when nothing hangs), and it averages the counts. "run"
begins the next run, "undo" takes the last reading back, an empty line ends.
Load the cell to its working maximum three times first; then five weights or
more, up and down, in two runs, each after the same wait. With --from it takes
readings from a file with the columns weight [kg] (or force [N]), counts and
optionally run and direction.

The readings stand in OUT.csv.part while they are taken, so that a cable or a
power cut costs nothing: --from OUT.csv.part fits them.

With --check one known weight is hung on a cell that is calibrated, once a day
and before each series of pulls. It takes a study, which keeps what was read in
bench.csv, or a calibration file. A weight that reads more than 0.5 % off stops
"bench" until the cell is calibrated again or the weight reads true.

The force of a weight is m g (1 - 1.2/density). Give --latitude (and --altitude)
or --gravity: standard gravity is wrong by up to 0.27 %. That cancels in
ratios between facings.

OUT.csv is the calibration file for "record", "bench" and a study's folder
calibrations; without it nothing is saved.

Exit status: 0 done; 1 a file or the port failed, or the weight of --check is
off; 2 the command line is wrong; 3 the readings do not determine the span.`,
		Example: `  griptrial calibrate --port /dev/ttyACM0 --latitude 51.5 --altitude "50 m" blanks/calibrations/2026-11-25.csv
  griptrial calibrate --from weights.csv
  griptrial calibrate --check "2 kg" --port /dev/ttyACM0 blanks
  griptrial calibrate --from weights.csv --gravity 9.8119 --json cell.csv`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usageError{errors.New("calibrate takes at most one file to write; see `griptrial calibrate --help`")}
			}
			if f.check != "" && len(args) == 0 {
				return usageError{errors.New("calibrate --check takes a study or a calibration file")}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			f.latitudeGiven = cmd.Flags().Changed("latitude")
			out := ""
			if len(args) == 1 {
				out = args[0]
			}
			if f.check != "" {
				return runWeigh(cmd.Context(), a, f, out)
			}
			return runCalibrate(cmd.Context(), a, f, out)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.port, "port", "", "read the cell on this port, weight by weight")
	flags.StringVar(&f.check, "check", "", `hang this known weight, as "2 kg", on a calibrated cell and say how far it is off`)
	flags.StringVar(&f.from, "from", "", "take the readings from this CSV file")
	flags.IntVar(&f.baud, "baud", port.DefaultBaud, "speed of the port; devices with USB of their own ignore it")
	flags.StringVar(&f.average, "average", "1 s", "how long each reading is averaged")
	flags.Float64Var(&f.latitude, "latitude", 0, "latitude in degrees where the weights hang")
	flags.StringVar(&f.altitude, "altitude", "0 m", "height above the sea")
	flags.StringVar(&f.gravity, "gravity", "", "local gravity in m/s², in place of latitude and altitude")
	flags.Float64Var(&f.density, "density", 0, "density of the weights in kg/m³ (default: weights marked with conventional mass)")
	flags.Float64Var(&f.weights, "weights-percent", 0, "standard uncertainty that all weights share, in percent")
	flags.StringVar(&f.rated, "rated", "", `rated load of the cell, as "500 N"`)
	flags.StringVar(&f.figure, "figure", "", "draw the residuals to this file, as calibration.svg (or .png, .pdf)")
	flags.BoolVar(&f.json, "json", false, "print the result as JSON")
	flags.BoolVar(&f.force, "force", false, "overwrite OUT.csv")
	return cmd
}

func runCalibrate(ctx context.Context, a *app, f calibrateFlags, out string) error {
	if (f.port == "") == (f.from == "") {
		return usageError{errors.New("calibrate needs either --port or --from")}
	}
	if out != "" && !f.force {
		if _, err := os.Lstat(out); err == nil {
			return fmt.Errorf("%s exists; give another name, or --force to overwrite it", out)
		} else if !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	if f.port != "" && out != "" && !f.force {
		if _, err := os.Lstat(partOf(out)); err == nil {
			return fmt.Errorf("%s is left from a calibration that was cut short: `griptrial calibrate --from` fits it; move it away, or --force to begin again", partOf(out))
		}
	}
	var set loadcell.Calibration
	if err := f.settings(&set); err != nil {
		return err
	}
	cal := &set
	if f.from != "" {
		var err error
		if cal, err = readCalibration(f.from); err != nil {
			return err
		}
		keep(&cal.Gravity, set.Gravity)
		keep(&cal.Density, set.Density)
		keep(&cal.Rated, set.Rated)
		keep(&cal.WeightsRel, set.WeightsRel)
	} else {
		cal.Date = a.now().Format("2006-01-02")
		if err := guide(ctx, a, f, cal, out); err != nil {
			return err
		}
	}
	fit, err := cal.Fit()
	if err != nil {
		return cannotError{err}
	}
	if err := printCalibration(a, f.json, *cal, fit); err != nil {
		return err
	}
	if f.figure != "" {
		points, err := cal.Points()
		if err != nil {
			return err
		}
		picture, ok := figure.Calibration(cal.Cell, points, fit)
		if !ok {
			return cannotError{errors.New("--figure: two loads lie on their line whatever was hung; hang more")}
		}
		if err := writeFigure(f.figure, picture); err != nil {
			return err
		}
	}
	if out == "" {
		return nil
	}
	if err := disk.Replace(a.files(), out, cal.Append(nil)); err != nil {
		if f.port != "" {
			err = fmt.Errorf("%w; the readings are kept in %s, and `griptrial calibrate --from` fits them", err, partOf(out))
		}
		return err
	}
	fmt.Fprintf(a.stderr, "saved %s\n", out)
	if f.port == "" {
		return nil
	}
	if err := a.files().Remove(partOf(out)); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

func keep(to *float64, v float64) {
	if v != 0 {
		*to = v
	}
}

// settings puts the flags about place and weights into a calibration.
func (f calibrateFlags) settings(c *loadcell.Calibration) error {
	var err error
	if c.Rated, err = positiveForce("rated", f.rated); err != nil {
		return err
	}
	if f.density < 0 || f.weights < 0 || math.IsNaN(f.density+f.weights) {
		return usageError{errors.New("--density and --weights-percent: must not be below zero")}
	}
	c.Density, c.WeightsRel = f.density, f.weights/100
	if f.gravity != "" {
		if f.latitudeGiven {
			return usageError{errors.New("give --gravity or --latitude, not both")}
		}
		if _, err := fmt.Sscanf(f.gravity, "%g", &c.Gravity); err != nil || !(c.Gravity > 9.7 && c.Gravity < 9.9) {
			return usageError{fmt.Errorf("--gravity: %q is not a gravity on Earth; write it in m/s², like 9.8119", f.gravity)}
		}
	}
	if f.latitudeGiven {
		altitude, _, err := unit.Parse(unit.Length, f.altitude)
		if err != nil {
			return usageError{fmt.Errorf("--altitude: %w", err)}
		}
		if c.Gravity, err = clamp.Gravity(f.latitude*math.Pi/180, altitude); err != nil {
			return usageError{err}
		}
	}
	return nil
}
