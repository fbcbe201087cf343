package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"griptrial/acquire/loadcell"
	"griptrial/acquire/port"
	"griptrial/acquire/study"
	"griptrial/acquire/wire"
	"griptrial/analysis"
)

// weighingJSON is what `calibrate --check --json` prints.
type weighingJSON struct {
	Hung         string          `json:"hung"`
	Force        analysis.Number `json:"force_N"`
	Read         analysis.Number `json:"read_N"`
	ReadU        analysis.Number `json:"read_standard_uncertainty_N"`
	DriftPercent analysis.Number `json:"drift_percent"`
	Off          bool            `json:"off"`
}

// runWeigh hangs one known weight on a calibrated cell. of is a study or a
// calibration file; a study keeps what was read.
func runWeigh(ctx context.Context, a *app, f calibrateFlags, of string) (err error) {
	if f.port == "" {
		return usageError{errors.New("--check reads the cell: give --port")}
	}
	average, err := flagTime("average", f.average)
	if err != nil {
		return err
	}
	var folder *study.Folder
	file := of
	if info, statErr := os.Stat(of); statErr == nil && info.IsDir() {
		if folder, err = study.OpenForWritingOn(a.files(), of, "griptrial calibrate"); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, folder.Close()) }()
		if file = folder.CalibrationPath(); file == "" {
			return fmt.Errorf("%s names no calibration to check: `griptrial calibrate` makes one", of)
		}
	}
	cal, err := readCalibration(file)
	if err != nil {
		return err
	}
	if _, err := cal.Fit(); err != nil {
		return cannotError{fmt.Errorf("%s: %w", file, err)}
	}
	w, err := weigh(ctx, a, f, cal, max(average, time.Millisecond))
	if err != nil {
		return err
	}
	if folder != nil {
		if err := folder.Note(study.Fact{Time: a.now(), What: study.Weighed, Text: w.String()}); err != nil {
			return err
		}
	}
	return printWeighing(a, f.json, w)
}

// weigh reads the empty cell and then the weight.
func weigh(ctx context.Context, a *app, f calibrateFlags, cal *loadcell.Calibration, average time.Duration) (w loadcell.Weighing, err error) {
	p, err := port.Open(f.port, port.Options{Baud: f.baud})
	if err != nil {
		return w, err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer func() { cancel(); err = errors.Join(err, p.Close()) }()
	reader := wire.NewReader(p.Reader(ctx), wire.ReaderOptions{Now: a.now, Joined: true, Ask: p})
	s := scale{a: a, events: events(ctx, reader), typed: lines(ctx, a), cal: cal, facts: map[string]string{}, average: average}
	empty, err := s.counts(ctx, "Let the link hang free and press Enter.")
	if err != nil {
		return w, err
	}
	loaded, err := s.counts(ctx, fmt.Sprintf("Hang %s on the cell, let it come to rest and press Enter.", f.check))
	if err != nil {
		return w, err
	}
	return cal.Weigh(f.check, empty, loaded)
}

// scale reads means from a cell whose calibration is checked.
type scale struct {
	a       *app
	events  <-chan heard
	typed   <-chan string
	cal     *loadcell.Calibration
	facts   map[string]string
	average time.Duration
}

// counts asks for something, waits for Enter, and reads the cell for a while.
func (s *scale) counts(ctx context.Context, ask string) ([]int32, error) {
	fmt.Fprintln(s.a.stderr, ask)
	typed, began, segment := s.typed, int64(-1), 0
	var counts []int32
	for {
		select {
		case <-ctx.Done():
			return nil, errors.New("interrupted; nothing was kept")
		case line, ok := <-typed:
			if !ok || strings.TrimSpace(line) != "" {
				return nil, errors.New("no weight was read; nothing was kept")
			}
			typed = nil // what is typed next waits
		case e := <-s.events:
			if e.err != nil {
				return nil, fmt.Errorf("reading the cell: %w", e.err)
			}
			if err := s.event(e.Event); err != nil {
				return nil, err
			}
			if e.Kind != wire.KindSample || typed != nil {
				continue
			}
			x := e.Sample
			if began < 0 || x.Segment != segment {
				counts, began, segment = nil, x.T, x.Segment
			}
			if x.Saturated {
				return nil, errors.New("the converter is at the end of its range: the weight is too large, or the cell is not wired")
			}
			if x.T-began < inFlight.Microseconds() {
				continue
			}
			if counts = append(counts, x.Counts); x.T-began >= (inFlight + s.average).Microseconds() {
				return counts, nil
			}
		}
	}
}

// event takes what is no sample: a calibration of another cell is refused.
func (s *scale) event(e wire.Event) error {
	switch e.Kind {
	case wire.KindFact:
		s.facts[e.Fact.Key] = e.Fact.Value
		if e.Fact.Key == "ready" {
			_, err := s.cal.Check(s.facts)
			return err
		}
	case wire.KindNoFacts:
		fmt.Fprintf(s.a.stderr, "the device does not state its facts: %s\n", e.Seen)
	case wire.KindStalled:
		if e.Again {
			fmt.Fprintln(s.a.stderr, "nothing has come for 3 s: look at the cable and the device")
		}
	}
	return nil
}

// printWeighing prints the result; a cell that is off fails.
func printWeighing(a *app, asJSON bool, w loadcell.Weighing) error {
	if asJSON {
		err := printJSON(a.stdout, weighingJSON{w.Hung, analysis.Number(w.Force), analysis.Number(w.Read), analysis.Number(w.U), analysis.Number(100 * w.Drift()), w.Off()})
		if err != nil {
			return err
		}
	} else if _, err := fmt.Fprintf(a.stdout, "%s hung: %.4f N read (standard uncertainty %.2g N), %.4f N expected, drift %+.2f %%\n", w.Hung, w.Read, w.U, w.Force, 100*w.Drift()); err != nil {
		return err
	}
	if w.Off() {
		return fmt.Errorf("the cell has drifted by more than %g %%: look at its mount, hang the weight again, and if it stays so calibrate before the next pull", 100*loadcell.DriftLimit)
	}
	return nil
}
