package loadcell

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"griptrial/analysis/calibration"
	"griptrial/analysis/unit"
)

const (
	maxLine = 1 << 16 // bytes
	maxRows = 10_000
)

// Read reads a calibration file: comment lines "# key: value" with cell, name,
// gain, sps, date, g [m/s²], density, rated and weights (all optional, and any
// other is kept), then a header with "weight [kg]" (or "force [N]"), "counts",
// and optionally "run" and "direction" (up or down; where it is absent it
// follows from the load before). Fields are parted by commas, semicolons or
// tabs; with the last two the decimal mark may be a comma.
//
// Every bad line is reported as NAME:LINE: column: what is wrong; errors.Join
// holds them together.
func Read(name string, r io.Reader) (Calibration, error) {
	f := fileReader{name: name}
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, maxLine)
	for lines.Scan() {
		f.line++
		text := lines.Text()
		if f.line == 1 {
			text = strings.TrimPrefix(text, "\uFEFF")
		}
		f.take(strings.TrimSpace(text))
	}
	err := lines.Err()
	switch {
	case errors.Is(err, bufio.ErrTooLong):
		f.line++
		f.fail("row", "longer than %d bytes; this is not a calibration file", maxLine)
	case err != nil:
		f.line++
		f.fail("row", "%v", err)
	case f.columns == nil:
		f.line = max(f.line, 1)
		f.fail("header", "no header; a calibration file has the columns weight [kg], counts, run, direction")
	case len(f.c.Rows) == 0 && len(f.errs) == 0:
		f.fail("row", "no row follows the header")
	}
	return f.c, errors.Join(f.errs...)
}

type fileReader struct {
	name    string
	line    int
	c       Calibration
	sep     string
	columns map[string]int // place by name
	width   int
	load    unit.Unit
	errs    []error
	before  float64 // load of the row before, kg or N
}

func (f *fileReader) fail(column, format string, args ...any) {
	const enough = 1000
	if len(f.errs) < enough {
		f.errs = append(f.errs, fmt.Errorf("%s:%d: %s: %s", f.name, f.line, column, fmt.Sprintf(format, args...)))
	}
}

func (f *fileReader) take(text string) {
	switch {
	case strings.HasPrefix(text, "#") && f.columns == nil:
		f.meta(strings.TrimSpace(text[1:]))
	case text == "" || strings.HasPrefix(text, "#"):
	case f.columns == nil:
		f.header(text)
	case len(f.c.Rows) == maxRows:
		f.fail("row", "more than %d rows", maxRows)
	default:
		f.row(text)
	}
}

// meta reads a comment line.
func (f *fileReader) meta(text string) {
	key, value, _ := strings.Cut(text, ":")
	key, value = strings.TrimSpace(key), strings.TrimSpace(value)
	if key == "" || !strings.Contains(text, ":") {
		f.c.Notes = append(f.c.Notes, Note{"", text})
		return
	}
	number := func(to *float64, suffixes ...string) {
		v := value
		for _, s := range suffixes {
			v = strings.TrimSpace(strings.TrimSuffix(v, s))
		}
		x, err := strconv.ParseFloat(v, 64)
		if err != nil || !(x > 0) || math.IsInf(x, 0) {
			f.fail(key, "%q is not a number above zero", value)
			return
		}
		*to = x
	}
	switch key {
	case "cell":
		f.c.Cell = value
	case "name":
		f.c.Name = value
	case "date":
		f.c.Date = value
	case "gain":
		number(&f.c.Gain)
	case "sps":
		number(&f.c.SPS)
	case "g":
		number(&f.c.Gravity, "m/s2", "m/s²")
	case "density":
		number(&f.c.Density, "kg/m3", "kg/m³")
	case "weights":
		number(&f.c.WeightsRel)
	case "rated":
		v, _, err := unit.Parse(unit.Force, value)
		if err != nil || !(v > 0) {
			f.fail(key, "%q is not a force above zero; write it like \"500 N\"", value)
			return
		}
		f.c.Rated = v
	default:
		f.c.Notes = append(f.c.Notes, Note{key, value})
	}
}

func (f *fileReader) header(text string) {
	f.sep = ","
	for _, sep := range []string{";", "\t"} {
		if strings.Contains(text, sep) {
			f.sep = sep
		}
	}
	f.columns = map[string]int{}
	fields := strings.Split(text, f.sep)
	f.width = len(fields)
	for i, title := range fields {
		name, unitText := unit.SplitHeader(strings.Trim(strings.TrimSpace(title), `"`))
		name = strings.ToLower(name)
		if _, twice := f.columns[name]; twice {
			f.fail(name, "the column stands twice")
		}
		f.columns[name] = i
		kind, isLoad := map[string]unit.Kind{"weight": unit.Mass, "force": unit.Force}[name]
		if !isLoad {
			continue
		}
		u, err := unit.Lookup(kind, unitText)
		if err != nil {
			f.fail(name, "%v", err)
			continue
		}
		f.load = u
	}
	_, weight := f.columns["weight"]
	_, force := f.columns["force"]
	if weight == force {
		f.fail("header", "needs one column weight [kg] or force [N]")
	}
	if _, ok := f.columns["counts"]; !ok {
		f.fail("header", "needs a column counts")
	}
}

func (f *fileReader) row(text string) {
	if f.load.Name == "" {
		return // the header is at fault and was reported
	}
	fields := strings.Split(text, f.sep)
	if len(fields) != f.width {
		f.fail("row", "%d fields where the header has %d", len(fields), f.width)
		return
	}
	good := true
	field := func(column string) (string, bool) {
		i, ok := f.columns[column]
		if !ok {
			return "", false
		}
		s := strings.Trim(strings.TrimSpace(fields[i]), `"`)
		return s, s != ""
	}
	number := func(column string) float64 {
		s, ok := field(column)
		if f.sep != "," {
			s = strings.Replace(s, ",", ".", 1)
		}
		v, err := strconv.ParseFloat(s, 64)
		if !ok || err != nil || math.IsNaN(v) || math.IsInf(v, 0) || strings.ContainsAny(s, "xX_") {
			f.fail(column, "%q is not a number", s)
			good = false
		}
		return v
	}
	column := "weight"
	if f.load.Kind == unit.Force {
		column = "force"
	}
	load := f.load.ToSI(number(column))
	row := Row{Mass: load, Force: math.NaN(), Run: 1}
	if f.load.Kind == unit.Force {
		row = Row{Force: load, Run: 1}
	}
	if good && load < 0 {
		f.fail(column, "must be zero or more")
		good = false
	}
	if _, ok := f.columns["counts"]; ok {
		row.Counts = number("counts")
	}
	if s, ok := field("run"); ok {
		n, err := strconv.Atoi(s)
		if err != nil || n < 1 {
			f.fail("run", "%q is not a number of a run (1, 2, ...)", s)
			good = false
		}
		row.Run = n
	}
	s, ok := field("direction")
	switch {
	case s == "down":
		row.Direction = calibration.Down
	case s == "up":
	case ok:
		f.fail("direction", "%q is neither up nor down", s)
		good = false
	default:
		row.Direction = f.follow(load, row.Run)
	}
	if good {
		f.c.Rows = append(f.c.Rows, row)
		f.before = load
	}
}

// follow is the direction in which a load was reached, by the load before it in
// the same run.
func (f *fileReader) follow(load float64, run int) calibration.Direction {
	if n := len(f.c.Rows); n > 0 && f.c.Rows[n-1].Run == run && load < f.before {
		return calibration.Down
	}
	return calibration.Up
}

// Append appends the calibration as a file that Read reads back.
func (c Calibration) Append(dst []byte) []byte {
	b := bytes.NewBuffer(dst)
	text := func(key, value string) {
		if value != "" {
			fmt.Fprintf(b, "# %s: %s\n", key, oneLine(value))
		}
	}
	number := func(key string, v float64, suffix string) {
		if v != 0 {
			text(key, shortest(v)+suffix)
		}
	}
	text("cell", c.Cell)
	text("name", c.Name)
	number("gain", c.Gain, "")
	number("sps", c.SPS, "")
	text("date", c.Date)
	number("g", c.Gravity, " m/s2")
	number("density", c.Density, " kg/m3")
	number("rated", c.Rated, " N")
	number("weights", c.WeightsRel, "")
	for _, n := range c.Notes {
		if n.Key == "" {
			fmt.Fprintf(b, "# %s\n", oneLine(n.Value))
		} else {
			text(n.Key, n.Value)
		}
	}
	forces := len(c.Rows) > 0 && !math.IsNaN(c.Rows[0].Force)
	if forces {
		b.WriteString("force [N],counts,run,direction\n")
	} else {
		b.WriteString("weight [kg],counts,run,direction\n")
	}
	for _, r := range c.Rows {
		load := r.Mass
		if forces {
			load = r.Force
		}
		fmt.Fprintf(b, "%s,%s,%d,%s\n", shortest(load), shortest(r.Counts), r.Run, r.Direction)
	}
	return b.Bytes()
}

func shortest(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
