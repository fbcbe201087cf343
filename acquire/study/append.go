package study

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"time"

	"griptrial/analysis/trial"
)

// Entry is a pull to be saved. What the plan and study.toml know is filled in
// where it is left zero.
type Entry struct {
	Order   int    // of the planned pull; 0: outside a plan
	Facing  string // "": as planned; likewise Sample, Level, Block
	Sample  string
	Level   string
	Block   string
	Outcome trial.Outcome
	Force   float64 // N; for a void pull 0, or what was seen
	Digits  string  // the force as typed, a number in the study's display unit; "": not typed
	Typed   string  // all that was typed; "": nothing

	Division  float64 // N; 0: the scale's, unless Low and High are known
	Low, High float64 // N; 95 % interval of a slip force found in a trace; 0, 0: none
	Clamp     float64 // N; 0: the level's
	Weight    float64 // kg; 0: the level's
	Note      string
	Judged    string // ByTool or ByPerson; "": ByPerson
	Skip      bool   // a void pull that is not to be tried again
	Moved     *Move  // the slip point was moved by a person; nil: it was not
	Time      time.Time
}

// Move is a slip point that a person put elsewhere than the tool. It is noted in
// bench.csv beside the pull, which a Journal saves.
type Move struct{ Tool, Person Mark }

// writable refuses a study that was opened for reading, or whose last write
// ended in an unknown state that still cannot be put right.
func (f *Folder) writable() error {
	if f.lock == nil {
		return fmt.Errorf("%s: the study was opened for reading", f.dir)
	}
	if f.broken != nil && f.cutLedger(nil) == nil {
		f.broken = nil
	}
	return f.broken
}

// Append saves a pull without a trace and returns its number.
func (f *Folder) Append(e Entry) (pull int, err error) {
	if err := f.writable(); err != nil {
		return 0, err
	}
	r, err := f.row(e)
	if err != nil {
		return 0, err
	}
	if r.Pull, err = f.nextPull(); err != nil {
		return 0, err
	}
	return r.Pull, f.appendRow(r)
}

// AppendWithTrace saves a pull together with its trace, which write gives.
func (f *Folder) AppendWithTrace(e Entry, write func(io.Writer) error) (pull int, err error) {
	if _, err := f.row(e); err != nil {
		return 0, err
	}
	j, err := f.Begin()
	if err != nil {
		return 0, err
	}
	if err := write(j); err != nil {
		return 0, errors.Join(err, j.Drop())
	}
	return j.Save(e)
}

// Undo withdraws the last pull that stands, and says why. The planned pull is
// then the next one again.
func (f *Folder) Undo(reason string, now time.Time) (Row, error) {
	if err := f.writable(); err != nil {
		return Row{}, err
	}
	rows := f.current()
	if len(rows) == 0 {
		return Row{}, fmt.Errorf("%s: there is no pull to undo", f.dir)
	}
	last := rows[len(rows)-1]
	for _, r := range rows {
		if r.Pull > last.Pull {
			last = r
		}
	}
	r := last
	r.Outcome, r.Judged, r.Typed, r.Note = trial.Void, undone, "", ""
	r.Supersedes, r.Reason, r.Time = last.Row, reasonOr(reason, "undone"), now
	return last, f.appendRow(r)
}

// Correct takes the place of what was said of a pull: the outcome, force,
// interval and note of e. Its trace stays.
func (f *Folder) Correct(pull int, e Entry, reason string) error {
	if err := f.writable(); err != nil {
		return err
	}
	old, ok := f.Row(pull)
	if !ok {
		return fmt.Errorf("%s: there is no pull %d to correct", f.dir, pull)
	}
	e.Order, e.Facing, e.Sample, e.Level, e.Block = 0, old.Facing, old.Sample, old.Level, old.Block
	if e.Division == 0 {
		e.Division = old.Division
	}
	r, err := f.row(e)
	if err != nil {
		return err
	}
	r.Pull, r.Order, r.Clampings, r.Clamp, r.Weight = old.Pull, old.Order, old.Clampings, old.Clamp, old.Weight
	r.Trace, r.SHA256 = old.Trace, old.SHA256
	r.Supersedes, r.Reason = old.Row, reasonOr(reason, "corrected")
	return f.appendRow(r)
}

func reasonOr(reason, otherwise string) string {
	if strings.TrimSpace(reason) == "" {
		return otherwise
	}
	return reason
}

// row completes an entry from the plan and study.toml, and refuses what cannot
// be true.
func (f *Folder) row(e Entry) (Row, error) {
	r := Row{Typed: e.Typed, Judged: e.Judged, Time: e.Time, digits: e.Digits}
	if r.Judged == "" {
		r.Judged = ByPerson
	}
	r.Reading = trial.Reading{Facing: e.Facing, Sample: e.Sample, Level: e.Level, Block: e.Block, Force: e.Force, Outcome: e.Outcome,
		Division: e.Division, Low: e.Low, High: e.High, Clamp: e.Clamp, Weight: e.Weight, Note: e.Note}
	if e.Order != 0 {
		if e.Order < 1 || e.Order > len(f.plan) {
			return r, fmt.Errorf("%s: the plan has no pull of order %d", f.path(PlanFile), e.Order)
		}
		p := f.plan[e.Order-1]
		r.Order = trial.Count{N: p.Order, Known: true}
		for _, x := range []struct {
			field  *string
			filled string
		}{{&r.Facing, p.Facing}, {&r.Sample, p.Sample}, {&r.Level, p.Level}, {&r.Block, p.Block}} {
			if *x.field == "" {
				*x.field = x.filled
			}
		}
	} else {
		r.Order = trial.Count{N: len(f.current()) + 1, Known: !f.HasPlan()}
	}
	if what, column := f.unknown(r.Facing, r.Sample, r.Level); what != "" {
		return r, fmt.Errorf("%s: %s", column, what)
	}
	for _, l := range f.setup.Levels {
		if l.Name == r.Level {
			if r.Clamp == 0 {
				r.Clamp = l.Clamp
			}
			if r.Weight == 0 {
				r.Weight = l.Weight
			}
		}
	}
	if r.Division == 0 && r.High == 0 {
		r.Division = f.setup.Scale.Division
	}
	switch {
	case r.Outcome == trial.Unclear:
		return r, errors.New("outcome: a pull is saved as slipped, held or void; somebody must judge it first")
	case math.IsNaN(r.Force) || math.IsInf(r.Force, 0) || r.Force < 0:
		return r, fmt.Errorf("force: %v is not a force", r.Force)
	case r.Outcome == trial.Held && r.Force == 0, r.Outcome == trial.Slipped && r.Force == 0 && r.Division == 0:
		return r, errors.New("force: zero says nothing about the grip, unless it is less than the first step of the scale (division in study.toml)")
	case r.Outcome == trial.Void && strings.TrimSpace(r.Note) == "":
		return r, errors.New("note: a void pull needs a reason")
	}
	if e.Skip {
		if r.Outcome != trial.Void {
			return r, errors.New("outcome: only a void pull can be skipped")
		}
		r.Judged = skipped
	}
	earlier := 0
	for _, c := range f.current() {
		if c.Facing == r.Facing && c.Sample == r.Sample {
			earlier++
		}
	}
	r.Clampings = trial.Count{N: earlier, Known: true}
	return r, nil
}

// nextPull is a number that neither a row nor a trace has used.
func (f *Folder) nextPull() (int, error) {
	last := 0
	for _, r := range f.ledger.rows {
		last = max(last, r.Pull)
	}
	names, err := f.disk.ReadDir(f.path(TraceDir))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return 0, err
	}
	for _, n := range names {
		if i, ok := traceNumber(n.Name()); ok {
			last = max(last, i)
		}
	}
	return last + 1, nil
}

// appendRow writes one row at the end of the ledger and syncs it. If that
// fails, what was written of the row is taken back, so that the ledger is as it
// was and the same pull can be saved again.
func (f *Folder) appendRow(r Row) error {
	l := f.ledger
	r.Row = len(l.rows) + 1
	for _, old := range l.rows {
		r.Row = max(r.Row, old.Row+1)
	}
	line, err := l.write(r)
	if err != nil {
		return err
	}
	info, err := f.disk.Stat(l.name)
	if err != nil {
		return fmt.Errorf("pull not saved: %w", err)
	}
	if info.Size() != l.end {
		return fmt.Errorf("%s: pull not saved: another program has changed the ledger since it was opened; open the study again", l.name)
	}
	h, err := f.disk.Open(l.name, os.O_WRONLY, 0)
	if err != nil {
		return fmt.Errorf("pull not saved: %w", err)
	}
	_, err = h.Seek(l.end, io.SeekStart)
	if err == nil {
		_, err = h.Write(line)
	}
	if err == nil {
		err = h.Sync()
	}
	if err != nil {
		if back := errors.Join(h.Truncate(l.end), h.Sync()); back != nil {
			f.broken = fmt.Errorf("%s: the end of the ledger could not be put back (%w); close the study and open it again", l.name, back)
		}
		return errors.Join(fmt.Errorf("pull not saved: %w", err), h.Close())
	}
	r.Line = 0
	l.rows = append(l.rows, r)
	l.end += int64(len(line))
	if err := h.Close(); err != nil {
		return fmt.Errorf("pull saved, but: %w", err)
	}
	return nil
}
