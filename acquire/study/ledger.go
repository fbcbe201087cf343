package study

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"hash/crc32"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"griptrial/acquire/table"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// Who judged a pull, as column `judged` says it.
const (
	ByTool   = "tool"   // the tool's proposal, confirmed
	ByPerson = "person" // typed, or the proposal overruled
	undone   = "undo"   // the row withdraws the one that it supersedes
	skipped  = "skip"   // a void pull that is not to be tried again
)

// Row is one row of the ledger.
type Row struct {
	Row           int // 1, 2, ... in the file
	trial.Reading     // Pull is the number of the pull, shared by its corrections
	Typed         string
	Judged        string
	Time          time.Time
	Trace         string // file under traces/; "": none
	SHA256        string // of the trace, in hex
	Supersedes    int    // the row that this one takes the place of; 0: none
	Reason        string // why it does
	Line          int    // in pulls.csv
	digits        string // the force as typed, in the ledger's unit; "": not typed
}

// Skipped reports whether the row says that its planned pull is not to be tried
// again.
func (r Row) Skipped() bool { return r.Judged == skipped }

// columns of layout 1, in the order of a new ledger. The checksum stands last
// and covers the row up to and with the comma before it; columns that later
// versions add stand before it and are kept.
var columns = []string{"row", "pull", "block", "order", "facing", "sample", "level", "clampings", "force", "outcome", "division", "low", "high",
	"clamp", "weight", "typed", "note", "judged", "time", "trace", "sha256", "supersedes", "reason", "check"}

// newLedger is an empty ledger in a display unit of force.
func newLedger(forceUnit string) []byte {
	units := map[string]string{"force": forceUnit, "division": forceUnit, "low": forceUnit, "high": forceUnit, "clamp": "N", "weight": "kg"}
	head := make([]string, len(columns))
	for i, c := range columns {
		head[i] = c
		if u := units[c]; u != "" {
			head[i] += " [" + u + "]"
		}
	}
	return []byte("# griptrial pulls: one row a pull, only ever appended to; a correction is a new row that supersedes an earlier one\n" +
		strings.Join(head, ",") + "\n")
}

// ledger is pulls.csv as it was read.
type ledger struct {
	name     string
	header   []string             // as spelled
	at       map[string]int       // where each known column stands
	units    map[string]unit.Unit // of the quantities
	rows     []Row
	sealed   bool   // the last column is the checksum
	end      int64  // length of what is whole
	torn     []byte // what stands after it
	bare     bool   // the last whole row lacks its line end
	refused  []int  // lines that are no rows
	problems []Problem
}

// refusedBetween counts the refused lines after one line and before another.
func (l *ledger) refusedBetween(after, before int) (n int) {
	for _, line := range l.refused {
		if line > after && line < before {
			n++
		}
	}
	return n
}

// readLedger reads pulls.csv. Rows that cannot be read are problems and the
// rest go on; a last row that was cut off is kept apart in torn.
func readLedger(name string, b []byte) *ledger {
	l := &ledger{name: name, at: map[string]int{}, units: map[string]unit.Unit{}}
	if head, _, _ := bytes.Cut(b, []byte("\n")); bytes.IndexByte(head, 0) >= 0 || !utf8.Valid(head) {
		l.problem(1, "", "this is a binary file and not a ledger; put the saved %s back", LedgerFile)
		return l
	}
	rest, line := b, 0
	var admitted bytes.Buffer // the rows to read; what is not admitted is a blank line
	taken := 0
	for len(rest) > 0 {
		text, after, whole := bytes.Cut(rest, []byte("\n"))
		line++
		row := bytes.TrimSuffix(text, []byte("\r"))
		if line == 1 {
			row = bytes.TrimPrefix(row, []byte("\ufeff"))
		}
		last := len(after) == 0
		switch {
		case len(bytes.TrimSpace(row)) == 0 && whole, l.header == nil && bytes.HasPrefix(row, []byte("#")):
		case l.header == nil:
			l.readHeader(line, row)
			if l.header == nil {
				return l
			}
			admitted.Write(row)
		case last && (!whole && !l.verified(row) || bytes.IndexByte(row, 0) >= 0):
			// The writer was stopped within the row, or the machine lost
			// power before the row's bytes reached the disk.
			l.torn = rest
			rest = nil
			continue
		default:
			if l.admit(line, row) {
				taken++
				admitted.Write(row)
			} else {
				l.refused = append(l.refused, line)
			}
			l.bare = !whole
		}
		admitted.WriteByte('\n')
		l.end += int64(len(rest) - len(after))
		rest = after
	}
	if l.header == nil {
		l.problem(1, "", "no header row; the file is empty or was cut off")
	}
	if taken > 0 {
		l.readRows(admitted.Bytes())
	}
	return l
}

func (l *ledger) problem(line int, column, format string, args ...any) {
	l.problems = append(l.problems, Problem{File: l.name, Line: line, Column: column, What: fmt.Sprintf(format, args...)})
}

func (l *ledger) readHeader(line int, text []byte) {
	cells, err := splitRow(text)
	if err != nil {
		l.problem(line, "header", "%v", err)
		return
	}
	kinds := map[string]unit.Kind{"force": unit.Force, "division": unit.Force, "low": unit.Force, "high": unit.Force, "clamp": unit.Force, "weight": unit.Mass}
	for i, cell := range cells {
		name, unitText := unit.SplitHeader(cell)
		if _, twice := l.at[name]; twice {
			l.problem(line, name, "the column stands there twice")
			return
		}
		l.at[name] = i
		if k, ok := kinds[name]; ok {
			u, err := unit.Lookup(k, unitText)
			if err != nil {
				l.problem(line, name, "%v", err)
				return
			}
			l.units[name] = u
		}
	}
	for _, need := range []string{"facing", "force"} {
		if _, ok := l.at[need]; !ok {
			l.problem(line, need, "the column is missing; if a spreadsheet saved the file, save it with commas between the columns")
			return
		}
	}
	l.header = cells
	l.sealed = cells[len(cells)-1] == "check"
}

// splitRow takes one line of comma-separated cells apart.
func splitRow(text []byte) ([]string, error) {
	r := csv.NewReader(bytes.NewReader(text))
	r.FieldsPerRecord = -1
	cells, err := r.Read()
	if err != nil {
		return nil, fmt.Errorf("not a row of comma-separated cells: %w", err)
	}
	return cells, nil
}

// seal is the checksum of a row: CRC-32 (IEEE 802.3) of the text up to and
// with the last comma, as eight hexadecimal digits.
func seal(upToComma []byte) string { return fmt.Sprintf("%08x", crc32.ChecksumIEEE(upToComma)) }

// verified reports whether a row carries a checksum that fits it.
func (l *ledger) verified(row []byte) bool {
	comma := bytes.LastIndexByte(row, ',')
	return l.sealed && comma >= 0 && seal(row[:comma+1]) == string(row[comma+1:])
}

// admit decides whether a line is taken as a row: it has as many cells as the
// header, and its checksum fits or was emptied by a person.
func (l *ledger) admit(line int, text []byte) bool {
	cells, err := splitRow(text)
	switch {
	case err != nil:
		l.problem(line, "", "%v", err)
		return false
	case len(cells) != len(l.header):
		l.problem(line, "", "%d cells where the header names %d", len(cells), len(l.header))
		return false
	case !l.sealed || l.verified(text):
		return true
	case cells[len(cells)-1] != "":
		l.problem(line, "check", "the row is not as it was saved; put it back, or empty this cell to say that the change is meant")
		return false
	}
	l.problems = append(l.problems, Problem{File: l.name, Line: line, Column: "check", What: "the row carries no checksum: it was written or changed by hand", Note: true})
	return true
}

// readRows reads the admitted rows as any file of readings is read, and then
// what the ledger keeps beside a reading. Lines that were not admitted are
// blank in text, so that the numbers of the others hold.
func (l *ledger) readRows(text []byte) {
	f, err := table.ReadReadings(l.name, bytes.NewReader(text))
	var many *table.Problems
	switch {
	case errors.As(err, &many):
		for _, p := range many.First {
			l.problem(p.Line, p.Column, "%s", p.What)
		}
		if more := many.Total - len(many.First); more > 0 {
			l.problem(0, "", "and %d problems more", more)
		}
	case err != nil:
		l.problem(0, "", "%v", err)
	}
	for i, reading := range f.Readings {
		r := Row{Reading: reading, Line: f.Line[i], Typed: f.Text(i, "typed"), Judged: f.Text(i, "judged"),
			Trace: f.Text(i, "trace"), SHA256: f.Text(i, "sha256"), Reason: f.Text(i, "reason")}
		ok := true
		number := func(column string, otherwise int) int {
			s := f.Text(i, column)
			if s == "" {
				return otherwise
			}
			n, err := strconv.Atoi(s)
			if err != nil || n < 1 {
				ok = false
				l.problem(r.Line, column, "%q is not a number from 1 on", s)
			}
			return n
		}
		r.Row = number("row", i+1)
		r.Pull = number("pull", r.Row)
		r.Supersedes = number("supersedes", 0)
		if t := f.Text(i, "time"); t != "" {
			if r.Time, err = time.Parse(time.RFC3339, t); err != nil {
				ok = false
				l.problem(r.Line, "time", "%q is not a time such as 2026-05-04T10:15:00Z", t)
			}
		}
		if ok {
			l.rows = append(l.rows, r)
		}
	}
}

// write gives the bytes of a new row in the order of this ledger's header.
func (l *ledger) write(r Row) ([]byte, error) {
	number := func(column string, si float64) string {
		if si == 0 {
			return ""
		}
		return strconv.FormatFloat(l.units[column].FromSI(si), 'g', -1, 64)
	}
	count := func(c trial.Count) string {
		if !c.Known {
			return ""
		}
		return strconv.Itoa(c.N)
	}
	when, supersedes := "", ""
	if !r.Time.IsZero() {
		when = r.Time.Format(time.RFC3339)
	}
	if r.Supersedes > 0 {
		supersedes = strconv.Itoa(r.Supersedes)
	}
	force := number("force", r.Force)
	if n, ok := l.asTyped(r); ok {
		force = n
	}
	if r.Outcome == trial.Slipped && force == "" {
		force = "0"
	}
	cells := make([]string, len(l.header))
	for column, text := range map[string]string{
		"row": strconv.Itoa(r.Row), "pull": strconv.Itoa(r.Pull), "block": r.Block, "order": count(r.Order), "facing": r.Facing,
		"sample": r.Sample, "level": r.Level, "clampings": count(r.Clampings), "force": force, "outcome": r.Outcome.String(),
		"division": number("division", r.Division), "low": number("low", r.Low), "high": number("high", r.High),
		"clamp": number("clamp", r.Clamp), "weight": number("weight", r.Weight), "typed": r.Typed, "note": r.Note, "judged": r.Judged,
		"time": when, "trace": r.Trace, "sha256": r.SHA256, "supersedes": supersedes, "reason": r.Reason,
	} {
		i, ok := l.at[column]
		if !ok {
			return nil, fmt.Errorf("%s: the header lacks the column %s that a new row needs; add it before the last column", l.name, column)
		}
		cells[i] = oneLine(text)
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.Write(cells); err != nil {
		return nil, err
	}
	w.Flush()
	line := bytes.TrimSuffix(b.Bytes(), []byte("\n"))
	if l.sealed {
		line = append(line, seal(line)...)
	}
	return append(line, '\n'), nil
}

// asTyped gives the digits that a person typed, where they are in the ledger's
// own unit.
func (l *ledger) asTyped(r Row) (string, bool) {
	v, err := strconv.ParseFloat(r.digits, 64)
	return r.digits, err == nil && l.units["force"].ToSI(v) == r.Force
}

// oneLine keeps a text within one row.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == '\ufffd' {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, " "))
}
