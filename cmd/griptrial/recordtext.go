package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"time"

	"griptrial/acquire/port"
	"griptrial/acquire/table"
	"griptrial/acquire/wire"
	"griptrial/analysis/unit"
)

// textUnits are the forces that instruments print with the sign of a mass.
// They are forces in kgf and its like by standard gravity.
var textUnits = map[string]string{"kg": "kgf", "g": "gf", "lb": "lbf", "oz": "ozf"}

const (
	trialLines = 20 // lines on which a pattern is tried
	trialGood  = 18 // of which so many must be read
)

// textSummary is what `record --pattern --json` prints. Such an instrument
// does not number its lines: what was lost is not known.
type textSummary struct {
	Samples  int64  `json:"samples"`
	Lost     *int64 `json:"lost"`
	Rejected int64  `json:"rejected"`
	Moving   int64  `json:"moving"` // readings that the instrument marked as not stable
	Unit     string `json:"unit"`
	Ended    string `json:"ended"`
	Damaged  string `json:"damaged,omitempty"` // file of the rejected lines
}

// textRecording is a recording of a general instrument.
type textRecording struct {
	a       *app
	reader  *wire.TextReader
	unit    unit.Unit
	sum     textSummary
	seen    int64 // lines that came
	trial   []string
	first   time.Time
	before  time.Time // arrival of the reading before
	last    int64     // us, of the last row
	file    *recording
	row     []byte
	pattern *wire.Pattern
}

func runRecordText(ctx context.Context, a *app, f recordFlags, length time.Duration, out string) error {
	if f.calibration != "" {
		return usageError{errors.New("--calibration is for counts of a load cell; a pattern reads forces")}
	}
	pattern, err := wire.ParsePattern(f.pattern, f.comma)
	if err != nil {
		return usageError{fmt.Errorf("--pattern: %w", err)}
	}
	name := f.unit
	if alias, ok := textUnits[name]; ok {
		name = alias
	}
	u, err := unit.Lookup(unit.Force, name)
	if err != nil {
		return usageError{fmt.Errorf("--unit: %w; it is what the instrument shows, and kg, g, lb, oz stand for kgf, gf, lbf, ozf", err)}
	}
	file, err := newRecording(a.files(), out, fmt.Sprintf("t [s],force [%s]\n", u.Name), f.force)
	if err != nil {
		return err
	}
	if length > 0 {
		var stop context.CancelFunc
		ctx, stop = context.WithTimeoutCause(ctx, length, errTime)
		defer stop()
	}
	source, closePort, err := textSource(ctx, a, f)
	if err != nil {
		return errors.Join(err, file.drop())
	}
	r := &textRecording{a: a, reader: wire.NewTextReader(source, pattern, f.unit, a.now), unit: u, pattern: pattern, file: file}
	r.sum.Unit = u.Name
	err = errors.Join(r.run(ctx), closePort())
	switch {
	case errors.As(err, new(patternError)):
		return errors.Join(err, file.drop())
	case err != nil:
		file.close()
		return err
	}
	return r.finish(f)
}

// textSource opens what is read.
func textSource(ctx context.Context, a *app, f recordFlags) (io.Reader, func() error, error) {
	if f.port == "-" {
		return port.Stream(ctx, a.stdin), func() error { return nil }, nil
	}
	p, err := f.open()
	if err != nil {
		return nil, nil, err
	}
	fmt.Fprintf(a.stderr, "listening on %s; Ctrl-C ends and keeps what came\n", p.Path())
	return p.Reader(ctx), p.Close, nil
}

// run reads until the end.
func (r *textRecording) run(ctx context.Context) error {
	for {
		reading, err := r.reader.Next()
		switch {
		case err == nil:
			if err := r.take(reading); err != nil {
				return err
			}
			continue
		case errors.Is(err, os.ErrDeadlineExceeded):
			if err := r.file.flush(); err != nil {
				return err
			}
			continue
		case errors.Is(err, io.EOF), errors.Is(err, port.ErrHangUp):
			r.sum.Ended = endedHangUp
		case ctx.Err() != nil && errors.Is(context.Cause(ctx), errTime):
			r.sum.Ended = endedTime
		case ctx.Err() != nil:
			r.sum.Ended = endedInterrupted
		default:
			return err
		}
		return r.judgePattern(min(r.seen, trialLines))
	}
}

// take adds one line.
func (r *textRecording) take(reading wire.Reading) error {
	if reading.Why != "" {
		if err := r.file.reject(reading.Why, reading.Raw, reading.Part); err != nil || reading.Part {
			return err
		}
		r.sum.Rejected++
	} else {
		if !reading.Stable {
			r.sum.Moving++
		}
		if err := r.add(reading); err != nil {
			return err
		}
	}
	if r.seen++; r.seen <= trialLines {
		r.show(reading)
	}
	if r.seen == trialLines {
		return r.judgePattern(trialLines)
	}
	return nil
}

// show tells how a line is read, while the pattern is on trial.
func (r *textRecording) show(reading wire.Reading) {
	if reading.Why != "" {
		if !reading.Alone {
			r.trial = append(r.trial, fmt.Sprintf("%q", reading.Raw))
		}
		fmt.Fprintf(r.a.stderr, "%q: %s\n", reading.Raw, reading.Why)
		return
	}
	moving := ""
	if !reading.Stable {
		moving = ", moving"
	}
	fmt.Fprintf(r.a.stderr, "%q: %g %s%s\n", reading.Raw, reading.Value, r.unit.Name, moving)
}

// judgePattern refuses a pattern that does not fit the first lines.
func (r *textRecording) judgePattern(lines int64) error {
	bad := int64(len(r.trial))
	if lines == 0 || bad*trialLines <= (trialLines-trialGood)*lines {
		return nil
	}
	return patternError{fmt.Errorf("the pattern %q does not fit: %d of the first %d lines were rejected, as %s", r.pattern, bad, lines, r.trial[0])}
}

// patternError tells that a pattern does not fit what comes.
type patternError struct{ error }

// add adds a reading. Its time is that of arrival; readings that came in one
// piece are parted by the least step that a trace knows.
func (r *textRecording) add(reading wire.Reading) error {
	if r.sum.Samples == 0 {
		r.first, r.last = reading.Arrival, -1
	} else if off := clockJump(r.before, reading.Arrival); off.Abs() > time.Second {
		return fmt.Errorf("the clock of this machine jumped by %v: it slept, or was set. The times after it would be wrong; what came before is kept in %s, which is a trace by itself. Record again",
			off.Round(time.Second), r.file.part)
	}
	r.before = reading.Arrival
	r.sum.Samples++
	r.last = max(r.last+1, reading.Arrival.Sub(r.first).Microseconds())
	r.row = strconv.AppendFloat(r.row[:0], float64(r.last)/1e6, 'f', 6, 64)
	r.row = append(r.row, ',')
	r.row = strconv.AppendFloat(r.row, reading.Value, 'f', -1, 64)
	return r.file.add(append(r.row, '\n'), reading.Arrival)
}

// clockJump is by how much the wall clock went on more than the clock that
// measures time, which stands still while the machine sleeps.
func clockJump(before, after time.Time) time.Duration {
	return after.Round(0).Sub(before.Round(0)) - after.Sub(before)
}

// finish writes the trace and prints the summary.
func (r *textRecording) finish(f recordFlags) error {
	if r.sum.Rejected > 0 && r.sum.Samples > 0 {
		r.sum.Damaged = r.file.damaged.name
	}
	if f.json {
		if err := printJSON(r.a.stdout, r.sum); err != nil {
			return err
		}
	} else {
		fmt.Fprintf(r.a.stdout, "%d readings in %s, %d of them moving, ended by %s; %d lines rejected; what was lost is not known\n",
			r.sum.Samples, r.unit.Name, r.sum.Moving, r.sum.Ended, r.sum.Rejected)
	}
	if r.sum.Damaged != "" && !f.json {
		fmt.Fprintf(r.a.stderr, "the rejected lines are kept in %s\n", r.sum.Damaged)
	}
	if r.sum.Samples == 0 {
		return errors.Join(fmt.Errorf("no reading came from %s", f.port), r.file.drop())
	}
	var b []byte
	for _, m := range []table.Meta{
		{Key: "started", Value: r.first.UTC().Format(time.RFC3339)},
		{Key: "pattern", Value: r.pattern.String()},
		{Key: "time", Value: "of arrival; low quality"},
	} {
		b = table.AppendMeta(b, m)
	}
	return r.file.finish(append(b, r.file.header...), asItIs)
}
