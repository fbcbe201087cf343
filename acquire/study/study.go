package study

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"

	"github.com/gofrs/flock"

	"griptrial/acquire/disk"
	"griptrial/analysis/trial"
)

// Folder is an open study. It is not safe for use by several goroutines.
type Folder struct {
	dir        string
	disk       disk.FS
	setup      trial.Study
	plan       []trial.PlannedPull
	seed       uint64
	ledger     *ledger
	lock       *flock.Flock // nil: opened for reading
	recovered  []Problem
	unfinished string // the recording set aside last when it was opened; "": none
	broken     error  // set when the end of the ledger is no longer known
}

// Create makes a study in a new or empty folder and opens it for writing. who
// names the program for the message that a second writer gets.
func Create(dir string, s trial.Study, who string) (*Folder, error) {
	return CreateOn(disk.OS{}, dir, s, who)
}

// CreateOn is Create on a given disk.
func CreateOn(d disk.FS, dir string, s trial.Study, who string) (*Folder, error) {
	s.Format = Format
	setup := WriteSetup(s)
	if _, err := ParseSetup(join(dir, SetupFile), setup); err != nil {
		return nil, fmt.Errorf("new study: %w", err)
	}
	names, err := d.ReadDir(dir)
	created := errors.Is(err, fs.ErrNotExist)
	switch {
	case created:
		if err := d.Mkdir(dir); err != nil {
			return nil, fmt.Errorf("new study: %w", err)
		}
	case err != nil:
		return nil, fmt.Errorf("new study: %w", err)
	}
	for _, n := range names {
		if !strings.HasPrefix(n.Name(), ".") {
			return nil, fmt.Errorf("%s: the folder is not empty (it holds %s); name a new one, nothing is overwritten", dir, n.Name())
		}
	}
	l, err := lock(dir, who)
	if err != nil {
		return nil, err
	}
	err = func() error {
		for _, sub := range []string{TraceDir, CalibrationDir, ReportDir} {
			if err := d.Mkdir(join(dir, sub)); err != nil {
				return err
			}
		}
		if err := disk.Create(d, join(dir, LedgerFile), newLedger(s.Unit)); err != nil {
			return err
		}
		// study.toml comes last: a folder without it is no study yet.
		return disk.Create(d, join(dir, SetupFile), setup)
	}()
	if err != nil {
		err = errors.Join(fmt.Errorf("new study: %w", err), l.Unlock())
		// Nothing of the folder was used yet: leave it as it was found, as far
		// as the disk lets us.
		for _, name := range []string{SetupFile, LedgerFile, TraceDir, CalibrationDir, ReportDir, lockFile, holderFile} {
			_ = d.Remove(join(dir, name))
		}
		if created {
			_ = d.Remove(dir)
		}
		return nil, err
	}
	f, err := open(d, dir)
	if err != nil {
		return nil, errors.Join(err, l.Unlock())
	}
	f.lock = l
	return f, nil
}

// Open opens a study for reading. It never changes a file.
func Open(dir string) (*Folder, error) { return open(disk.OS{}, dir) }

// OpenOn is Open on a given disk.
func OpenOn(d disk.FS, dir string) (*Folder, error) { return open(d, dir) }

func open(d disk.FS, dir string) (*Folder, error) {
	name := join(dir, SetupFile)
	doc, err := readText(d, name, maxSetup)
	if errors.Is(err, fs.ErrNotExist) {
		if _, statErr := d.Stat(dir); errors.Is(statErr, fs.ErrNotExist) {
			return nil, fmt.Errorf("%s: there is no such folder; `griptrial new %s` makes a study", dir, dir)
		}
		return nil, fmt.Errorf("%s: not a study: there is no %s in it", dir, SetupFile)
	}
	if err != nil {
		return nil, err
	}
	f := &Folder{dir: dir, disk: d}
	if f.setup, err = ParseSetup(name, doc); err != nil {
		return nil, err
	}
	if err := f.readPlan(); err != nil {
		return nil, err
	}
	return f, f.readLedger()
}

func (f *Folder) readLedger() error {
	name := f.path(LedgerFile)
	b, err := readFile(f.disk, name, maxTable) // a torn end may be no text: readLedger tells
	switch {
	case errors.Is(err, fs.ErrNotExist):
		f.ledger = &ledger{name: name, problems: []Problem{{File: name, What: "the ledger is missing"}}}
		return nil
	case err != nil:
		return err
	}
	f.ledger = readLedger(name, b)
	return nil
}

// Close lets the study go.
func (f *Folder) Close() error {
	if f.lock == nil {
		return nil
	}
	l := f.lock
	f.lock = nil
	return l.Unlock()
}

func (f *Folder) path(names ...string) string {
	p := f.dir
	for _, n := range names {
		p = join(p, n)
	}
	return p
}

// Dir is the folder as it was named.
func (f *Folder) Dir() string { return f.dir }

// Setup is study.toml, with the seed of the plan where one was drawn.
func (f *Folder) Setup() trial.Study {
	s := f.setup
	if f.HasPlan() {
		s.Plan.Seed = f.seed
	}
	return s
}

// HasPlan reports whether a run order was drawn.
func (f *Folder) HasPlan() bool { return f.plan != nil }

// Plan is the run order as drawn; nil where there is none.
func (f *Folder) Plan() []trial.PlannedPull { return slices.Clone(f.plan) }

// Next is the first planned pull that is still to do. A void pull is to be
// tried again unless it was skipped. ok is false when all is done and where
// there is no plan.
func (f *Folder) Next() (p trial.PlannedPull, ok bool) {
	done := f.done()
	for _, p := range f.plan {
		if !done[p.Order] {
			return p, true
		}
	}
	return trial.PlannedPull{}, false
}

// Left counts the planned pulls that are still to do.
func (f *Folder) Left() int {
	done, n := f.done(), 0
	for _, p := range f.plan {
		if !done[p.Order] {
			n++
		}
	}
	return n
}

func (f *Folder) done() map[int]bool {
	done := map[int]bool{}
	for _, r := range f.current() {
		if r.Order.Known && (r.Outcome != trial.Void || r.Skipped()) {
			done[r.Order.N] = true
		}
	}
	return done
}

// current lists the rows that stand: neither superseded nor withdrawing.
func (f *Folder) current() []Row {
	gone := map[int]bool{}
	for _, r := range f.ledger.rows {
		if r.Supersedes > 0 {
			gone[r.Supersedes] = true
		}
	}
	rows := make([]Row, 0, len(f.ledger.rows))
	for _, r := range f.ledger.rows {
		if !gone[r.Row] && r.Judged != undone {
			rows = append(rows, r)
		}
	}
	return rows
}

// Current lists the rows that stand, in the order of the file.
func (f *Folder) Current() []Row { return f.current() }

// History lists every row ever written, corrections and what they superseded.
func (f *Folder) History() []Row { return slices.Clone(f.ledger.rows) }

// Readings gives the pulls as the analysis takes them: what was superseded or
// undone is left out, void pulls are kept. A ledger with a row that cannot be
// read is refused, all such rows named; a row cut off at the end is not a pull
// that was saved, and Check tells of it.
func (f *Folder) Readings() ([]trial.Reading, error) {
	if err := f.Sound(); err != nil {
		return nil, err
	}
	var out []trial.Reading
	for _, r := range f.current() {
		out = append(out, r.Reading)
	}
	return out, nil
}

// Sound joins what is wrong with the ledger, notes left out; nil where every
// row can be read. What is left to do is not known before that is put right.
func (f *Folder) Sound() error {
	var errs []error
	for _, p := range f.ledger.problems {
		if !p.Note {
			errs = append(errs, p)
		}
	}
	return errors.Join(errs...)
}

// Row finds the row of a pull that stands.
func (f *Folder) Row(pull int) (Row, bool) {
	for _, r := range f.current() {
		if r.Pull == pull {
			return r, true
		}
	}
	return Row{}, false
}

// TracePath is the file of a pull's trace; "" where the pull has none.
func (f *Folder) TracePath(pull int) string {
	if r, ok := f.Row(pull); ok && r.Trace != "" {
		return f.path(TraceDir, r.Trace)
	}
	return ""
}

// CalibrationPath is the file of the cell's calibration; "" where none is named.
func (f *Folder) CalibrationPath() string {
	if f.setup.Scale.Calibration == "" {
		return ""
	}
	return f.path(CalibrationDir, f.setup.Scale.Calibration)
}

// Recovered tells what OpenForWriting found unfinished and set aside.
func (f *Folder) Recovered() []Problem { return slices.Clone(f.recovered) }

// Unfinished gives the whole lines of the recording that OpenForWriting found
// unfinished and set aside; nil where there was none.
func (f *Folder) Unfinished() ([]byte, error) {
	if f.unfinished == "" {
		return nil, nil
	}
	text, err := readFile(f.disk, f.unfinished, maxTable)
	if err != nil {
		return nil, err
	}
	return text[:bytes.LastIndexByte(text, '\n')+1], nil
}

// traceName is the file name of a pull's trace.
func traceName(pull int) string { return fmt.Sprintf("%04d.csv", pull) }

// traceNumber is the pull of a file under traces/; ok is false for any other file.
func traceNumber(name string) (int, bool) {
	digits, _, _ := strings.Cut(name, ".")
	n, err := strconv.Atoi(digits)
	return n, err == nil && n > 0 && len(digits) >= 4
}
