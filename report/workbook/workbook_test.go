package workbook

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"griptrial/report/datapackage"
	"griptrial/report/internal/example"
)

// hostile are names that a spreadsheet could take for something else.
var hostile = []string{
	"=1+1", "@SUM(A1)", "+1", "-1", "=HYPERLINK(\"http://x\")", "\tTab first", "'quoted", "1e5", "007", "TRUE", "14.3.2026", "#N/A",
	"<b>&amp;</b>", "two\nlines", "carriage\r\nreturn", "_x0041_ and _x005F_x0042_x0043_", "\x1b[31mred\x00\ufffe", "مطاط مصبوب", "pad 👩‍🔧🔥", "Τραχύ – Шлифовальная", " blanks ",
	strings.Repeat("long ", 2000),
}

func hostileBook() Book {
	t := datapackage.Table{Name: "readings", Fields: datapackage.Described([]string{"pull", "facing", "force [N]"})}
	for i, name := range hostile {
		t.Rows = append(t.Rows, []string{strconv.Itoa(i + 1), name, "97.3868399691686" + strconv.Itoa(i%10)})
	}
	t.Fields = append(t.Fields, datapackage.Field{Name: "control", Type: "boolean"})
	for i := range t.Rows {
		t.Rows[i] = append(t.Rows[i], strconv.FormatBool(i == 0))
	}
	t.Rows[3][2] = ""
	return Book{Title: "=cmd|calc", Made: time.Date(2026, 3, 14, 15, 26, 0, 0, time.UTC), Sheets: []datapackage.Table{t, {Name: "plan", Fields: t.Fields}}}
}

func write(t *testing.T, b Book) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, Write(&out, b))
	return out.Bytes()
}

// TestTyped: a name is text whatever it looks like, a number keeps its last
// digit, and no cell is a formula.
func TestTyped(t *testing.T) {
	b := hostileBook()
	f, err := excelize.OpenReader(bytes.NewReader(write(t, b)))
	require.NoError(t, err)
	defer f.Close()
	assert.Equal(t, []string{"readings", "plan"}, f.GetSheetList())
	for i, row := range b.Sheets[0].Rows {
		at := strconv.Itoa(i + 2)
		name, err := f.GetCellValue("readings", "B"+at)
		require.NoError(t, err)
		assert.Equal(t, row[1], name)
		kind, err := f.GetCellType("readings", "B"+at)
		require.NoError(t, err)
		assert.Equal(t, excelize.CellTypeSharedString, kind, "%q", row[1])
		formula, err := f.GetCellFormula("readings", "B"+at)
		require.NoError(t, err)
		assert.Empty(t, formula)
		style, err := f.GetCellStyle("readings", "B"+at)
		require.NoError(t, err)
		look, err := f.GetStyle(style)
		require.NoError(t, err)
		assert.Equal(t, 49, look.NumFmt, "text stays text when the cell is edited")
		number, err := f.GetCellValue("readings", "C"+at, excelize.Options{RawCellValue: true})
		require.NoError(t, err)
		assert.Equal(t, row[2], number)
		kind, err = f.GetCellType("readings", "C"+at)
		require.NoError(t, err)
		assert.Equal(t, excelize.CellTypeUnset, kind, "a number")
	}
}

func TestSameBytes(t *testing.T) {
	first := write(t, hostileBook())
	for range 5 {
		require.Equal(t, first, write(t, hostileBook()))
	}
	undated := hostileBook()
	undated.Made = time.Time{}
	assert.Equal(t, write(t, undated), write(t, undated))
	assert.NotEqual(t, first, write(t, undated))
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestErrors(t *testing.T) {
	assert.ErrorContains(t, Write(broken{}, hostileBook()), "disk full")
	b := hostileBook()
	b.Sheets[0].Rows[1][1] = strings.Repeat("🔥", 20000)
	assert.ErrorContains(t, Write(&bytes.Buffer{}, b), `sheet "readings": cell B3 (facing): a text of 40000 letters, and a cell has room for 32767`)
	b = hostileBook()
	b.Sheets[0].Rows[1][2] = "many"
	assert.ErrorContains(t, Write(&bytes.Buffer{}, b), `cell C3 (force [N]): "many" is no number`)
}

// python gives an interpreter that has openpyxl.
func python(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(name, "-c", "import openpyxl").Run() == nil {
			return name
		}
	}
	const what = "no Python with openpyxl (Debian: python3-openpyxl)"
	if os.Getenv("GRIPTRIAL_REQUIRE_TOOLS") != "" {
		t.Fatal(what)
	}
	t.Skip(what)
	return ""
}

// TestReadByAnotherLibrary reads a workbook with Python's openpyxl: sheets,
// types, names and every digit, and the headline numbers of a study.
func TestReadByAnotherLibrary(t *testing.T) {
	py := python(t)
	b := hostileBook()
	in := example.Input()
	results := datapackage.Facings(in)
	results.Name = "results"
	b.Sheets = append(b.Sheets, results)
	path := filepath.Join(t.TempDir(), "book.xlsx")
	require.NoError(t, os.WriteFile(path, write(t, b), 0o666))
	out, err := exec.Command(py, "-c", `
import json, sys, openpyxl
book = openpyxl.load_workbook(sys.argv[1])
print(json.dumps({
    "sheets": [[s.title, s.dimensions] for s in book],
    "types": ["".join(c.data_type for c in r) for r in book["readings"].iter_rows(min_row=2)],
    "names": [r[1] for r in book["readings"].iter_rows(min_row=2, values_only=True)],
    "forces": [None if r[2] is None else repr(r[2]) for r in book["readings"].iter_rows(min_row=2, values_only=True)],
    "ratios": [r[12] for r in book["results"].iter_rows(min_row=2, values_only=True)],
    "head": [c.value for c in book["results"][1]],
    "frozen": book["readings"].freeze_panes,
    "created": str(book.properties.created), "title": book.properties.title,
}))`, path).Output()
	require.NoError(t, err)
	var got struct {
		Sheets             [][2]string
		Types, Names, Head []string
		Forces             []*string
		Ratios             []*float64
		Frozen, Created    string
		Title              string
	}
	require.NoError(t, json.Unmarshal(out, &got))
	assert.Equal(t, [][2]string{{"readings", "A1:D23"}, {"plan", "A1:D1"}, {"results", "A1:W5"}}, got.Sheets)
	for i, row := range b.Sheets[0].Rows {
		assert.Equal(t, "nsnb", got.Types[i], "%q", row[1])
		if name := row[1]; fit(name) == name { // it undoes only some of the escapes
			assert.Equal(t, name, got.Names[i])
		}
		if row[2] == "" {
			assert.Nil(t, got.Forces[i])
			continue
		}
		want, err := strconv.ParseFloat(row[2], 64)
		require.NoError(t, err)
		have, err := strconv.ParseFloat(*got.Forces[i], 64)
		require.NoError(t, err)
		assert.Equal(t, want, have)
	}
	assert.Equal(t, results.Heads(), got.Head)
	assert.Equal(t, "A2", got.Frozen)
	assert.Equal(t, "2026-03-14 15:26:00", got.Created)
	assert.Equal(t, "=cmd|calc", got.Title)
	for i, r := range in.Results.AgainstControl {
		require.NotNil(t, got.Ratios[i+1])
		assert.Equal(t, float64(r.Ratio), *got.Ratios[i+1])
	}
}
