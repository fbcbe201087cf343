package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"griptrial/acquire/disk"
	"griptrial/acquire/loadcell"
	"griptrial/acquire/port"
	"griptrial/acquire/wire"
	"griptrial/analysis/calibration"
	"griptrial/analysis/unit"
)

// guide asks for each weight and reads the cell.
func guide(ctx context.Context, a *app, f calibrateFlags, c *loadcell.Calibration, out string) error {
	average, err := flagTime("average", f.average)
	if err != nil {
		return err
	}
	p, err := port.Open(f.port, port.Options{Baud: f.baud})
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(ctx)
	reader := wire.NewReader(p.Reader(ctx), wire.ReaderOptions{Now: a.now, Joined: true, Ask: p})
	g := guided{a: a, c: c, average: max(average, time.Millisecond), run: 1, out: out}
	err = g.converse(ctx, events(ctx, reader), lines(ctx, a))
	cancel()
	return errors.Join(err, p.Close())
}

// heard is an event of the cell or the end of the stream.
type heard struct {
	wire.Event
	err error
}

// events reads the cell all the time, also while a person types: what waited
// in the driver meanwhile would be old.
func events(ctx context.Context, r *wire.Reader) <-chan heard {
	out := make(chan heard)
	go func() {
		for {
			e, err := r.Next()
			select {
			case out <- heard{e, err}:
			case <-ctx.Done():
				return
			}
			if err != nil {
				return
			}
		}
	}()
	return out
}

// lines reads what is typed. A read of standard input cannot be broken off: the
// goroutine may stay until the program ends.
func lines(ctx context.Context, a *app) <-chan string {
	out := make(chan string)
	go func() {
		defer close(out)
		in := bufio.NewScanner(a.stdin)
		for in.Scan() {
			select {
			case out <- in.Text():
			case <-ctx.Done():
				return
			}
		}
	}()
	return out
}

// guided is the state of a calibration at the port.
type guided struct {
	a       *app
	c       *loadcell.Calibration
	average time.Duration
	run     int

	out     string // file to be written at the end; "": none
	facts   map[string]string
	row     *loadcell.Row // being read; nil: a weight is asked for
	counts  []int32
	segment int
	start   int64 // us, of the first sample after the line was typed
}

// inFlight is the stretch of device time that is left out after a weight was
// typed: what drivers still held back was converted before.
const inFlight = 100 * time.Millisecond

func (g *guided) prompt() {
	fmt.Fprintf(g.a.stderr, "run %d, reading %d: what hangs on the cell? (\"2 kg\", 0, run, undo; empty line ends) ", g.run, len(g.c.Rows)+1)
}

func (g *guided) converse(ctx context.Context, events <-chan heard, typed <-chan string) error {
	g.facts = map[string]string{}
	g.prompt()
	for {
		lines := typed
		if g.row != nil {
			lines = nil // the next line waits until this reading is done
		}
		select {
		case <-ctx.Done():
			return errors.New("interrupted; nothing was saved")
		case e := <-events:
			if e.err != nil {
				return fmt.Errorf("reading the cell: %w", e.err)
			}
			g.event(e.Event)
		case line, ok := <-lines:
			line = strings.TrimSpace(line)
			if !ok || line == "" {
				fmt.Fprintln(g.a.stderr)
				g.c.Identify(g.facts)
				_, err := g.c.Check(g.facts) // of its own facts only the code of counts can be amiss
				return err
			}
			g.typed(line)
		}
	}
}

// typed takes one line.
func (g *guided) typed(line string) {
	switch line {
	case "run":
		g.run++
		g.prompt()
		return
	case "undo":
		if n := len(g.c.Rows); n > 0 {
			g.c.Rows = g.c.Rows[:n-1]
			g.keep()
		}
		g.prompt()
		return
	}
	row, err := g.parse(line)
	if err != nil {
		fmt.Fprintf(g.a.stderr, "%v\n", err)
		g.prompt()
		return
	}
	g.row, g.counts, g.segment = &row, nil, -1
}

// parse reads a load: a mass, a force, or 0.
func (g *guided) parse(line string) (loadcell.Row, error) {
	row := loadcell.Row{Force: math.NaN(), Run: g.run}
	mass, _, massErr := unit.Parse(unit.Mass, line)
	force, _, forceErr := unit.Parse(unit.Force, line)
	asForce := len(g.c.Rows) > 0 && !math.IsNaN(g.c.Rows[0].Force)
	switch {
	case line == "0" && asForce:
		row.Force = 0
	case line == "0":
	case massErr == nil && mass >= 0 && !asForce:
		row.Mass = mass
	case forceErr == nil && force >= 0 && (asForce || len(g.c.Rows) == 0):
		row.Force = force
	case massErr == nil || forceErr == nil:
		return row, fmt.Errorf("%q: must be zero or more, and either all loads are weights or all are forces", line)
	default:
		return row, fmt.Errorf("%w; write what hangs like \"2 kg\"", massErr)
	}
	if n := len(g.c.Rows); n > 0 {
		before := g.c.Rows[n-1]
		if before.Run == g.run && (row.Mass < before.Mass || row.Force < before.Force) {
			row.Direction = calibration.Down
		}
	}
	return row, nil
}

// event takes what the cell sends.
func (g *guided) event(e wire.Event) {
	switch e.Kind {
	case wire.KindFact:
		g.facts[e.Fact.Key] = e.Fact.Value
	case wire.KindNoFacts:
		fmt.Fprintf(g.a.stderr, "\nthe device does not state its facts: %s\n", e.Seen)
	case wire.KindStalled:
		if e.Again {
			fmt.Fprintln(g.a.stderr, "\nnothing has come for 3 s: look at the cable and the device")
		}
	case wire.KindSample:
		if g.row != nil {
			g.sample(e.Sample)
		}
	}
}

// sample adds to the reading and ends it when its time is over.
func (g *guided) sample(s wire.Sample) {
	if s.Segment != g.segment {
		g.counts, g.segment, g.start = nil, s.Segment, s.T
	}
	if s.T-g.start < inFlight.Microseconds() {
		return
	}
	if s.Saturated {
		fmt.Fprintln(g.a.stderr, "the converter is at the end of its range: this load is too large for the cell and gain")
		g.row = nil
		g.prompt()
		return
	}
	g.counts = append(g.counts, s.Counts)
	if s.T-g.start < (inFlight + g.average).Microseconds() {
		return
	}
	mean, sd, _ := loadcell.Tare(g.counts) // never empty here
	g.row.Counts = mean
	fmt.Fprintf(g.a.stderr, "  %.1f counts, scatter %.2g, %d samples\n", mean, sd, len(g.counts))
	half := len(g.counts) / 2
	if half >= 5 {
		first, _, _ := loadcell.Tare(g.counts[:half])
		second, _, _ := loadcell.Tare(g.counts[half:])
		if math.Abs(second-first) > 4*sd/math.Sqrt(float64(half))+1 {
			fmt.Fprintf(g.a.stderr, "  still moving by %.1f counts: undo, wait, and read it again if the weight swung\n", second-first)
		}
	}
	g.c.Rows = append(g.c.Rows, *g.row)
	g.row = nil
	g.keep()
	g.prompt()
}

// partOf is where the readings of a calibration stand while they are taken.
func partOf(out string) string { return out + ".part" }

// keep writes the readings so far, in the form of a calibration file.
func (g *guided) keep() {
	if g.out == "" || len(g.c.Rows) == 0 {
		return
	}
	g.c.Identify(g.facts)
	if err := disk.Replace(g.a.files(), partOf(g.out), g.c.Append(nil)); err != nil {
		fmt.Fprintf(g.a.stderr, "the readings so far cannot be written: %v; make room before you end\n", err)
	}
}
