package study

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"strconv"
	"strings"
	"time"

	"griptrial/acquire/disk"
)

// BenchFile holds what was looked at and done at the vise beside the pulls, one
// row a fact, only ever appended to. A study without it is whole.
const BenchFile = "bench.csv"

// What a Fact tells, as column `what` says it.
const (
	Looked     = "check"    // Text, one of the checks of the set-up, was looked at and ticked
	Weighed    = "weight"   // a known weight was hung on the cell; Text says what it read
	Overloaded = "overload" // Pull loaded the cell beyond its rated load; Text says how far
	Moved      = "mark"     // a person moved the slip point of Pull from Tool to Person
	Peeked     = "results"  // the results so far were asked for in the middle of the trial
)

// Fact is one row of bench.csv.
type Fact struct {
	Row          int // 1, 2, ... in the file; given by Note
	Time         time.Time
	What         string
	Pull         int // 0: of no pull
	Text         string
	Tool, Person Mark // of Moved
	Line         int  // in bench.csv; 0: not read from there
}

// Mark is a slip point in the record of a pull, on the clock of its trace. NaN
// stands for a tool that found none.
type Mark struct {
	T     float64 // s
	Force float64 // N
}

// benchHeader is the header of layout 1. The checksum stands last and is made
// as in the ledger.
const benchHeader = "row,time,what,pull,text,tool t [s],tool force [N],person t [s],person force [N],check"

// Note appends facts and syncs them.
func (f *Folder) Note(facts ...Fact) error {
	if err := f.writable(); err != nil {
		return err
	}
	b, err := f.readBench()
	if err != nil {
		return err
	}
	if b.foreign {
		return fmt.Errorf("not noted: %w", b.problems[0])
	}
	if len(b.torn) > 0 {
		name, err := f.freeName("", "bench.torn-%d.txt")
		if err == nil {
			err = disk.Create(f.disk, join(f.dir, name), b.torn)
		}
		if err != nil {
			return fmt.Errorf("the torn last row of %s could not be set aside: %w", b.name, err)
		}
	}
	var text []byte
	if b.end == 0 {
		text = []byte("# griptrial bench: what was looked at and done at the vise beside the pulls, one row a fact\n")
	}
	if !b.headed { // new, or cut off before its header was whole
		text = append(text, benchHeader+"\n"...)
	}
	row := 0
	for _, fact := range b.facts {
		row = max(row, fact.Row)
	}
	for _, fact := range facts {
		row++
		fact.Row = row
		if text, err = fact.append(text); err != nil {
			return err
		}
	}
	h, err := f.disk.Open(b.name, os.O_CREATE|os.O_WRONLY, 0o666)
	if err != nil {
		return fmt.Errorf("not noted: %w", err)
	}
	err = h.Truncate(b.end) // what was torn is kept aside
	if err == nil {
		_, err = h.Seek(b.end, io.SeekStart)
	}
	if err == nil {
		_, err = h.Write(text)
	}
	if err == nil {
		err = h.Sync()
	}
	if err != nil { // as it was, so that the same can be noted again
		err = errors.Join(err, h.Truncate(b.end))
	}
	if err = errors.Join(err, h.Close()); err == nil && b.end == 0 {
		err = f.disk.SyncDir(f.dir)
	}
	if err != nil {
		return fmt.Errorf("not noted: %w", err)
	}
	return nil
}

// Facts reads bench.csv. Rows that cannot be read are left out; Check tells of
// them. A study without the file has no facts.
func (f *Folder) Facts() ([]Fact, error) {
	b, err := f.readBench()
	return b.facts, err
}

// append writes the row of a fact.
func (fact Fact) append(text []byte) ([]byte, error) {
	number := func(v float64) string {
		if math.IsNaN(v) || fact.What != Moved {
			return ""
		}
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	pull := ""
	if fact.Pull > 0 {
		pull = strconv.Itoa(fact.Pull)
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	err := w.Write([]string{strconv.Itoa(fact.Row), fact.Time.Format(time.RFC3339), fact.What, pull, oneLine(fact.Text),
		number(fact.Tool.T), number(fact.Tool.Force), number(fact.Person.T), number(fact.Person.Force), ""})
	if err != nil {
		return text, err
	}
	w.Flush()
	line := bytes.TrimSuffix(b.Bytes(), []byte("\n"))
	return append(append(text, line...), seal(line)+"\n"...), nil
}

// benchBook is bench.csv as it was read.
type benchBook struct {
	name     string
	facts    []Fact
	end      int64  // length of what is whole
	torn     []byte // what stands after it
	headed   bool
	foreign  bool // the header is another: what follows is not ours to change
	problems []Problem
}

func (f *Folder) readBench() (benchBook, error) {
	b := benchBook{name: f.path(BenchFile)}
	text, err := readFile(f.disk, b.name, maxTable)
	if errors.Is(err, fs.ErrNotExist) {
		return b, nil
	}
	if err != nil {
		return b, err
	}
	for line := 1; len(text) > 0; line++ {
		row, after, whole := bytes.Cut(text, []byte("\n"))
		if !whole || len(after) == 0 && bytes.IndexByte(row, 0) >= 0 {
			b.torn = text // the writer was stopped within the row
			break
		}
		b.end += int64(len(row) + 1)
		text = after
		row = bytes.TrimSuffix(row, []byte("\r"))
		switch {
		case len(bytes.TrimSpace(row)) == 0, !b.headed && bytes.HasPrefix(row, []byte("#")):
		case !b.headed:
			if b.headed = true; string(bytes.TrimPrefix(row, []byte("\ufeff"))) != benchHeader {
				b.problem(line, "header", "not the header %s", benchHeader)
				b.foreign = true
				return b, nil
			}
		default:
			b.read(line, row)
		}
	}
	return b, nil
}

func (b *benchBook) problem(line int, column, format string, args ...any) {
	b.problems = append(b.problems, Problem{File: b.name, Line: line, Column: column, What: fmt.Sprintf(format, args...)})
}

// read takes one row.
func (b *benchBook) read(line int, text []byte) {
	cells, err := splitRow(text)
	if err != nil {
		b.problem(line, "", "%v", err)
		return
	}
	if want := strings.Count(benchHeader, ",") + 1; len(cells) != want {
		b.problem(line, "", "%d cells where the header names %d", len(cells), want)
		return
	}
	comma := bytes.LastIndexByte(text, ',')
	switch cells[9] {
	case seal(text[:comma+1]):
	case "":
		b.problems = append(b.problems, Problem{File: b.name, Line: line, Column: "check", What: "the row carries no checksum: it was written or changed by hand", Note: true})
	default:
		b.problem(line, "check", "the row is not as it was written; put it back, or empty this cell to say that the change is meant")
		return
	}
	fact, ok := Fact{What: cells[2], Text: cells[4], Line: line}, true
	whole := func(i int, column string) int {
		if cells[i] == "" && i != 0 {
			return 0
		}
		n, err := strconv.Atoi(cells[i])
		if err != nil || n < 1 {
			ok = false
			b.problem(line, column, "%q is not a number from 1 on", cells[i])
		}
		return n
	}
	number := func(i int, column string) float64 {
		if cells[i] == "" {
			return math.NaN()
		}
		v, err := strconv.ParseFloat(cells[i], 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			ok = false
			b.problem(line, column, "%q is not a number", cells[i])
		}
		return v
	}
	fact.Row, fact.Pull = whole(0, "row"), whole(3, "pull")
	if fact.Time, err = time.Parse(time.RFC3339, cells[1]); err != nil {
		ok = false
		b.problem(line, "time", "%q is not a time such as 2026-05-04T10:15:00Z", cells[1])
	}
	fact.Tool = Mark{number(5, "tool t"), number(6, "tool force")}
	fact.Person = Mark{number(7, "person t"), number(8, "person force")}
	if ok {
		b.facts = append(b.facts, fact)
	}
}
