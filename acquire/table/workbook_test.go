package table

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"maps"
	"runtime"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

// parts of a workbook as spreadsheets write them: names with and without a
// prefix, shared strings with runs, a date style.
func bookParts(sheet string) map[string]string {
	return map[string]string{
		"xl/workbook.xml": `<?xml version="1.0"?><workbook xmlns="m" xmlns:r="r"><sheets><sheet name="notes" sheetId="1" r:id="rId1"/><sheet name="Readings" sheetId="2" r:id="rId2"/></sheets></workbook>`,
		"xl/_rels/workbook.xml.rels": `<Relationships><Relationship Id="rId1" Target="worksheets/sheet1.xml"/>` +
			`<Relationship Id="rId2" Target="/xl/worksheets/sheet2.xml"/></Relationships>`,
		"xl/sharedStrings.xml": `<sst><si><t>facing</t></si><si><t xml:space="preserve"> ground steel </t></si><si><r><t>P240</t></r><r><rPr><b/></rPr><t xml:space="preserve"> cloth</t></r>` +
			`<rPh sb="0" eb="1"><t>silent</t></rPh></si><si/><si><t>=1+1</t></si><si><t>a_x000D_b_x005F_x0041__xZZZZ_</t></si></sst>`,
		"xl/styles.xml": `<styleSheet><numFmts><numFmt numFmtId="164" formatCode="&quot;day&quot;\ 0.0"/><numFmt numFmtId="165" formatCode="[$-409]d. mmm"/></numFmts>` +
			`<cellStyleXfs><xf numFmtId="14"/></cellStyleXfs><cellXfs><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="164"/><xf numFmtId="165"/><xf numFmtId="22"/></cellXfs></styleSheet>`,
		"xl/worksheets/sheet1.xml": `<worksheet><sheetData/></worksheet>`,
		"xl/worksheets/sheet2.xml": sheet,
	}
}

func zipped(t testing.TB, parts map[string]string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, name := range slices.Sorted(maps.Keys(parts)) {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = io.WriteString(w, parts[name])
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

// inRows wraps rows of cells as a sheet.
func inRows(rows ...string) string {
	return `<worksheet><cols><col min="1" max="2"/></cols><sheetData>` + strings.Join(rows, "") + `</sheetData><pageMargins left="1"/></worksheet>`
}

// head is a header row "facing, force [kgf], block, outcome, extra".
const sheetHead = `<row r="1"><c r="A1" t="s"><v>0</v></c><c t="inlineStr"><is><t>force [kgf]</t></is></c><c r="C1" t="str"><v>block</v></c><c r="D1" t="inlineStr"><is><t>outcome</t></is></c><c r="F1" t="inlineStr"><is><t>extra</t></is></c></row>`

func TestWorkbook(t *testing.T) {
	content := zipped(t, bookParts(inRows(
		`<row r="2"/><row r="3"><c r="A3" t="inlineStr"><is><t># scale: hand</t></is></c></row>`,
		strings.ReplaceAll(sheetHead, `1"`, `4"`),
		`<row r="6"><c r="A6" t="s"><v>1</v></c><c r="B6"><v>0.10000000000000001</v></c><c r="C6" s="1"><v>46095</v></c><c r="D6" t="inlineStr"><is><t>slipped</t></is></c></row>`,
		`<row><c t="s"><v>2</v></c><c><f>7*5</f><v>3.5E1</v></c><c s="4"><v>46095.75</v></c><c t="str"><f>"he"&amp;"ld"</f><v>held</v></c><c/><c t="e"><v>#DIV/0!</v></c></row>`,
		`<row r="8"><c r="A8" t="s"><v>4</v></c><c r="B8"><v>5</v></c><c r="C8" s="2"><v>2</v></c><c r="D8" t="inlineStr"><is><t>slipped</t></is></c><c r="F8" t="b"><v>1</v></c></row>`,
		`<row r="9"><c r="A9" t="s"><v>5</v></c><c r="C9" s="3"><v>46095</v></c><c r="D9" t="inlineStr"><is><t>Void</t></is></c></row>`,
		`<row r="10"><c r="A10" t="s"><v>3</v></c></row>`,
	)))
	for name, r := range map[string]io.Reader{"whole": bytes.NewReader(content), "in single bytes": iotest.OneByteReader(bytes.NewReader(content))} {
		f, err := ReadReadings("book.xlsx", r)
		require.NoError(t, err, name)
		require.Len(t, f.Readings, 4)
		for i, kgf := range []float64{0.1, 35, 5, 0} {
			assert.InDelta(t, kgf*9.80665, f.Readings[i].Force, 1e-12)
			f.Readings[i].Force = 0
		}
		assert.Equal(t, trial.Reading{Facing: "ground steel", Outcome: trial.Slipped, Block: "2026-03-14"}, f.Readings[0])
		assert.Equal(t, trial.Reading{Facing: "P240 cloth", Outcome: trial.Held, Block: "2026-03-14 18:00:00"}, f.Readings[1])
		assert.Equal(t, trial.Reading{Facing: "=1+1", Outcome: trial.Slipped, Block: "2"}, f.Readings[2])
		assert.Equal(t, trial.Reading{Facing: "a\rb_x0041__xZZZZ_", Outcome: trial.Void, Block: "2026-03-14"}, f.Readings[3])
		assert.Equal(t, []int{6, 7, 8, 9}, f.Line, "rows of the sheet")
		assert.Equal(t, []Meta{{"scale", "hand"}}, f.Meta)
		assert.Equal(t, "TRUE", f.Text(2, "extra"))
		assert.Equal(t, "kgf", f.Force.Name)
	}
}

// TestWorkbookAsCSV reads the same table from a CSV and from a sheet.
func TestWorkbookAsCSV(t *testing.T) {
	fromCSV, err := ReadReadings("a.csv", strings.NewReader("facing,force [kgf],block,outcome,,extra\nP240 cloth,12.345678901234567,mon,slipped,,\n"))
	require.NoError(t, err)
	fromSheet, err := ReadReadings("a.xlsx", bytes.NewReader(zipped(t, bookParts(inRows(sheetHead,
		`<row r="2"><c r="A2" t="s"><v>2</v></c><c r="B2"><v>12.345678901234567</v></c><c r="C2" t="inlineStr"><is><t>mon</t></is></c><c r="D2" t="inlineStr"><is><t>slipped</t></is></c></row>`)))))
	require.NoError(t, err)
	assert.Equal(t, fromCSV.Readings, fromSheet.Readings)
}

func TestWorkbookDates1904(t *testing.T) {
	parts := bookParts(inRows(sheetHead, `<row r="2"><c r="A2" t="s"><v>2</v></c><c r="B2"><v>1</v></c><c r="C2" s="1"><v>44633</v></c><c r="D2" t="inlineStr"><is><t>held</t></is></c></row>`))
	parts["xl/workbook.xml"] = strings.Replace(parts["xl/workbook.xml"], "<sheets>", `<workbookPr date1904="1"/><sheets>`, 1)
	f, err := ReadReadings("book.xlsx", bytes.NewReader(zipped(t, parts)))
	require.NoError(t, err)
	assert.Equal(t, "2026-03-14", f.Readings[0].Block)
}

func TestWorkbookProblems(t *testing.T) {
	row := func(cells string) string { return `<row r="2">` + cells + `</row>` }
	good := `<c r="A2" t="s"><v>2</v></c><c r="B2"><v>1</v></c><c r="D2" t="inlineStr"><is><t>held</t></is></c>`
	for name, c := range map[string]struct {
		sheet string
		want  []string
	}{
		"text for a number": {inRows(sheetHead, row(`<c r="A2" t="s"><v>2</v></c><c r="B2" t="inlineStr"><is><t>lots</t></is></c><c r="D2" t="inlineStr"><is><t>maybe</t></is></c>`)),
			[]string{`book.xlsx: sheet "Readings", cell D2 (outcome): unknown word "maybe"; write slipped, held or void`, `book.xlsx: sheet "Readings", cell B2 (force): "lots" is not a number`}},
		"no facing":        {inRows(sheetHead, row(`<c r="B2"><v>1</v></c><c r="D2" t="inlineStr"><is><t>held</t></is></c>`)), []string{`cell A2 (facing): empty`}},
		"true for a force": {inRows(sheetHead, row(strings.Replace(good, `<c r="B2">`, `<c r="B2" t="b">`, 1))), []string{`cell B2 (force): "TRUE" is not a number`}},
		"error":            {inRows(sheetHead, row(strings.Replace(good, `<c r="B2"><v>1</v>`, `<c r="B2" t="e"><v>#REF!</v>`, 1))), []string{`cell B2 (force): the cell holds the error #REF!`}},
		"formula alone":    {inRows(sheetHead, row(strings.Replace(good, `<c r="B2"><v>1</v>`, `<c r="B2"><f>1+1</f>`, 1))), []string{`cell B2 (force): a formula without its value`}},
		"beyond":           {inRows(sheetHead, row(good+`<c r="AA2"><v>1</v></c>`)), []string{`sheet "Readings", row 2: row: something stands in cell AA2, under no heading`}},
		"no unit":          {inRows(strings.Replace(sheetHead, " [kgf]", "", 1), row(good)), []string{`sheet "Readings", cell B1 (force): `}},
		"no force":         {inRows(strings.Replace(sheetHead, "force [kgf]", "strength", 1), row(good)), []string{`sheet "Readings", row 1: force: column "force [N]" is missing`}},
		"empty":            {inRows(), []string{`sheet "Readings", row 1: header: the sheet is empty`}},
		"no rows":          {inRows(sheetHead), []string{`header: no rows of data`}},
		"lost text":        {inRows(sheetHead, row(strings.Replace(good, "<v>2</v>", "<v>99</v>", 1))), []string{`not a whole workbook`, `points to text "99", and there are 6`}},
		"breaks off":       {strings.TrimSuffix(inRows(sheetHead, row(good)), "</sheetData><pageMargins left=\"1\"/></worksheet>"), []string{`not a whole workbook`, `unexpected EOF`}},
		"rows turned":      {inRows(strings.ReplaceAll(sheetHead, `1"`, `3"`), row(good)), []string{`row 2 stands after row 3`}},
		"cells turned":     {inRows(sheetHead, row(`<c r="B2"><v>1</v></c><c r="A2" t="s"><v>2</v></c>`)), []string{`a cell called "A2" in row 2, after 2 cells`}},
		"cell elsewhere":   {inRows(sheetHead, row(`<c r="A9" t="s"><v>2</v></c>`)), []string{`a cell called "A9" in row 2`}},
		"far out":          {inRows(sheetHead, row(`<c r="ZZZ2"><v>1</v></c>`)), []string{`a cell called "ZZZ2"`}},
		"no number":        {inRows(sheetHead, row(strings.Replace(good, "<v>1</v>", "<v>1,5</v>", 1))), []string{`a cell holds "1,5" as its number`}},
		"unknown type":     {inRows(sheetHead, row(strings.Replace(good, `<c r="B2">`, `<c r="B2" t="x">`, 1))), []string{`unknown type "x"`}},
		"deep":             {inRows(sheetHead, row(good)) + strings.Repeat("<a>", 100), []string{"nested too deeply"}},
		"deep in a cell":   {inRows(sheetHead, row(`<c r="A2">`+strings.Repeat("<a>", 100))), []string{"nested too deeply"}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := ReadReadings("book.xlsx", bytes.NewReader(zipped(t, bookParts(c.sheet))))
			require.Error(t, err)
			for _, want := range c.want {
				assert.ErrorContains(t, err, want)
			}
			assert.ErrorContains(t, err, "book.xlsx")
		})
	}
}

func TestNotWorkbooks(t *testing.T) {
	whole := zipped(t, bookParts(inRows(sheetHead)))
	three := bookParts(inRows(sheetHead))
	three["xl/workbook.xml"] = strings.Replace(three["xl/workbook.xml"], "Readings", "pulls", 1)
	gone := bookParts("")
	delete(gone, "xl/worksheets/sheet2.xml")
	for name, c := range map[string]struct {
		content []byte
		want    string
	}{
		"cut":           {whole[:len(whole)/2], "not a whole workbook"},
		"another zip":   {zipped(t, map[string]string{"a.txt": "a"}), "a zip file, but not a workbook"},
		"old":           {[]byte("\xd0\xcf\x11\xe0 and so on"), "a workbook with a password, or of the old kind (.xls)"},
		"no such sheet": {zipped(t, three), `no sheet of the workbook is called "readings" (there are "notes", "pulls")`},
		"sheet gone":    {zipped(t, gone), `the sheet "Readings" is not in it`},
		"no sheets":     {zipped(t, map[string]string{"xl/workbook.xml": "<workbook/>"}), "the workbook has no sheet"},
	} {
		_, err := ReadReadings("book.xlsx", bytes.NewReader(c.content))
		assert.ErrorContains(t, err, "book.xlsx: ", name)
		assert.ErrorContains(t, err, c.want, name)
	}
}

// bomb is a workbook with a part that goes on and on.
func bomb(t testing.TB, part, start, again string, times int) []byte {
	t.Helper()
	parts := bookParts(inRows(sheetHead))
	delete(parts, part)
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range parts {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = io.WriteString(w, text)
		require.NoError(t, err)
	}
	w, err := z.Create(part)
	require.NoError(t, err)
	_, err = io.WriteString(w, start)
	require.NoError(t, err)
	chunk := strings.Repeat(again, 1<<20/len(again))
	for range times {
		_, err = io.WriteString(w, chunk)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

// TestWorkbookBombs unpacks to far more than the file holds, in every way that
// takes memory, and expects an early no.
func TestWorkbookBombs(t *testing.T) {
	const sheet = "xl/worksheets/sheet2.xml"
	for name, c := range map[string]struct {
		content []byte
		want    string
	}{
		"blank":      {bomb(t, sheet, `<worksheet><sheetData>`, " ", 40), "more than 16 MiB unpacked"},
		"rows":       {bomb(t, sheet, `<worksheet><sheetData>`, "<row/>", 40), "more than 16 MiB unpacked"},
		"strings":    {bomb(t, "xl/sharedStrings.xml", `<sst>`, "<si/>", 40), "more than 16 MiB unpacked"},
		"attributes": {bomb(t, sheet, `<worksheet><sheetData><row `, ` a=""`, 40), "more than 16 MiB unpacked"},
		"one text again and again": {zipped(t, func() map[string]string {
			p := bookParts("")
			p["xl/sharedStrings.xml"] = `<sst><si><t>` + strings.Repeat("long ", 1<<17) + `</t></si></sst>`
			var rows strings.Builder
			for i := range 2000 {
				fmt.Fprintf(&rows, `<row r="%d"><c t="s"><v>0</v></c></row>`, i+2)
			}
			p[sheet] = inRows(`<row r="1"><c t="str"><v>facing</v></c><c t="str"><v>force [N]</v></c></row>`, rows.String())
			return p
		}()), "more than 32 MiB of text"},
		"too long a file": {append([]byte("PK\x03\x04"), make([]byte, 33<<20)...), "more than 32 MiB"},
	} {
		t.Run(name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, err := ReadReadings("bomb.xlsx", bytes.NewReader(c.content))
			runtime.ReadMemStats(&after)
			assert.ErrorContains(t, err, c.want)
			t.Logf("%d bytes allocated in all", after.TotalAlloc-before.TotalAlloc)
		})
	}
}

// A number of column letters goes there and back.
func TestColumnLetters(t *testing.T) {
	for place, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 701: "ZZ", 702: "AAA", 16383: "XFD"} {
		assert.Equal(t, want, columnLetters(place))
		column, row, ok := placeOf(want + "7")
		assert.True(t, ok && row == 7 && column == place, want)
	}
	for _, bad := range []string{"", "A", "7", "a1", "A0", "A-1", "XFE1", "AAAAAAAAAAAAAAAAAAA1", "A1B"} {
		_, _, ok := placeOf(bad)
		assert.False(t, ok, bad)
	}
}

// FuzzWorkbookSheet reads any text as a sheet, and any as shared strings.
func FuzzWorkbookSheet(f *testing.F) {
	whole := bookParts(inRows(sheetHead, `<row r="2"><c r="A2" t="s"><v>2</v></c><c r="B2"><v>1</v></c><c r="D2" t="inlineStr"><is><t>held</t></is></c></row>`))
	f.Add(whole["xl/worksheets/sheet2.xml"], whole["xl/sharedStrings.xml"])
	f.Fuzz(func(t *testing.T, sheet, texts string) {
		parts := bookParts(sheet)
		parts["xl/sharedStrings.xml"] = texts
		file, err := ReadReadings("f.xlsx", bytes.NewReader(zipped(t, parts)))
		for _, r := range file.Readings {
			if r.Facing == "" || r.Outcome == trial.Unclear {
				t.Fatalf("%+v", r)
			}
		}
		if err == nil && len(file.Readings) == 0 {
			t.Fatal("nothing read, and nothing said")
		}
	})
}
