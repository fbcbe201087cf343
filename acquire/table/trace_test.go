package table

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func read(t *testing.T, text string) TraceFile {
	t.Helper()
	f, err := ReadTrace("pull.csv", strings.NewReader(text))
	require.NoError(t, err)
	return f
}

func TestTraceUnits(t *testing.T) {
	f := read(t, "# facing: ground steel\n# a note\n\nt [ms],force [kgf],travel [mm]\n0,10,0.5\n12.5,-2,1\n")
	assert.Equal(t, []float64{0, 12.5 / 1000}, f.Trace.T)
	assert.InDeltaSlice(t, []float64{98.0665, -19.6133}, f.Trace.Force, 1e-13)
	assert.Equal(t, []float64{0.0005, 0.001}, f.Trace.Travel)
	assert.Equal(t, []Meta{{"facing", "ground steel"}, {"", "a note"}}, f.Meta)
	assert.Equal(t, []int{1, 2}, f.Lines)
	assert.Equal(t, "kgf", f.Force.Name)
	assert.Nil(t, f.Counts)
}

func TestTraceSpellings(t *testing.T) {
	want := []float64{1.5, -2.25}
	for name, text := range map[string]string{
		"comma":            "t [s],force [N]\n0,1.5\n1,-2.25\n",
		"no last newline":  "t [s],force [N]\n0,1.5\n1,-2.25",
		"CRLF":             "t [s],force [N]\r\n0,1.5\r\n1,-2.25\r\n",
		"CRLF, no last":    "t [s],force [N]\r\n0,1.5\r\n1,-2.25\r",
		"byte order mark":  "\ufefft [s],force [N]\n0,1.5\n1,-2.25\n",
		"semicolon":        "t [s];force [N]\n0;1,5\n1;-2,25\n",
		"semicolon, point": "t [s];force [N]\n0;1.5\n1;-2.25\n",
		"tab":              "t [s]\tforce [N]\n0\t1.5\n1\t-2.25\n",
		"tab, comma":       "t [s]\tforce [N]\n0\t1,5\n1\t-2,25\n",
		"quoted":           "\"t [s]\",\"force [N]\"\n\"0\",\"1.5\"\n\"1\",\"-2.25\"\n",
		"blanks":           "t [s] , force [N]\n 0 , 1.5\n 1, -2.25 \n",
		"exponents":        "t [s],force [N]\n0e0,15E-1\n1,-2.25e+00\n",
		"plus and bare":    "t [s],force [N]\n0.,+1.5\n1.0,-02.25\n",
		"other columns":    "id,t [s],what,force [N],z [furlong]\na,0,\"x,y\",1.5,\nb,1,,-2.25,9\n",
		"capitals":         "T [s],Force [N]\n0,1.5\n1,-2.25\n",
		"blank lines":      "t [s],force [N]\n\n0,1.5\n,\n1,-2.25\n\n",
	} {
		t.Run(name, func(t *testing.T) {
			f := read(t, text)
			assert.Equal(t, []float64{0, 1}, f.Trace.T)
			assert.Equal(t, want, f.Trace.Force)
		})
	}
}

func TestDeviceTrace(t *testing.T) {
	f := read(t, SampleHeader+"0,12500,-1234,0\n1,25000,-1230,0\n0,515,7,1\n1,13015,8,1\n")
	assert.Equal(t, []int64{0, 1, 0, 1}, f.Seq)
	assert.Equal(t, []int64{12500, 25000, 515, 13015}, f.Micros)
	assert.Equal(t, []int64{-1234, -1230, 7, 8}, f.Counts)
	assert.Equal(t, []int64{0, 0, 1, 1}, f.Segment)
	assert.Equal(t, []int{2}, f.Breaks)
	assert.Nil(t, f.Trace.Force)
	assert.InDeltaSlice(t, []float64{0.0125, 0.025, 0.0375, 0.05}, f.Trace.T, 1e-12)
}

func TestTraceProblems(t *testing.T) {
	head := "t [s],force [N]\n"
	for name, c := range map[string]struct {
		text string
		want []string
	}{
		"empty":           {"", []string{"p.csv:1: header: the file is empty; its first row must name the columns, such as `t [s],force [N]`"}},
		"only comments":   {"# a\n# b\n", []string{"p.csv:2: header: no header row; it names the columns, such as `t [s],force [N]`"}},
		"header only":     {head, []string{"p.csv:1: header: no rows of data after the header"}},
		"unknown unit":    {"t [s],force [stone]\n", []string{`p.csv:1: force: unknown unit "stone" (force units: N kN kgf gf lbf ozf)`}},
		"missing unit":    {"t,force [N]\n", []string{"p.csv:1: t: unit missing (time units: s ms us µs)"}},
		"wrong kind":      {"t [s],force [kg]\n", []string{`p.csv:1: force: "kg" is a unit of mass (force units: N kN kgf gf lbf ozf); for a scale marked kg write kgf`}},
		"missing column":  {"t [s],load [N]\n", []string{`p.csv:1: force: column "force [N]" is missing; found: "t [s], load [N]"`}},
		"duplicate":       {"t [s],force [N],Force [kN]\n", []string{"p.csv:1: Force: two columns have this name"}},
		"two at once":     {"t,load [N]\n", []string{"p.csv:1: t: unit missing (time units: s ms us µs)", `p.csv:1: force: column "force [N]" is missing; found: "t, load [N]"`}},
		"text":            {head + "0,1\n1,abc\n2,3\n3,1.2.3\n", []string{`p.csv:3: force: "abc" is not a number`, `p.csv:5: force: "1.2.3" is not a number`}},
		"both fields":     {head + "x,y\n", []string{`p.csv:2: t: "x" is not a number`, `p.csv:2: force: "y" is not a number`}},
		"empty field":     {head + "0,1\n1,\n", []string{"p.csv:3: force: empty; a number is needed"}},
		"NaN and Inf":     {head + "0,NaN\n1,inf\n2,-Infinity\n", []string{`p.csv:2: force: "NaN" is not a finite number`, `p.csv:3: force: "inf" is not a finite number`, `p.csv:4: force: "-Infinity" is not a finite number`}},
		"too large":       {head + "0,1e999\n1,1e305\n", []string{`p.csv:2: force: "1e999" is too large`, `p.csv:3: force: "1e305" is too large`}},
		"hexadecimal":     {head + "0,0x1p4\n1,1_000\n", []string{`p.csv:2: force: "0x1p4" is not a number`, `p.csv:3: force: "1_000" is not a number`}},
		"time":            {head + "0,1\n1,2\n1,3\n0.5,3\n2,4\n", []string{"p.csv:4: t: 1 is not after 1 of the row before; time must increase", "p.csv:5: t: 0.5 is not after 1 of the row before; time must increase"}},
		"fields":          {head + "0,1,2\n1\n2,3\n", []string{"p.csv:2: row: 3 fields where the header has 2; where a comma is the decimal mark, part the fields with semicolons, in the header too", "p.csv:3: row: 1 field where the header has 2"}},
		"decimal comma":   {head + "0,1\n0,5,1,5\n", []string{"p.csv:3: row: 4 fields where the header has 2; where a comma is the decimal mark, part the fields with semicolons, in the header too"}},
		"NUL":             {head + "0,1\n\x00\x00,2\n", []string{"p.csv:3: row: not a text file (it holds NUL bytes); save it as CSV in UTF-8"}},
		"Latin-1":         {"# caf\xe9\n" + head + "0,1\n", []string{"p.csv:1: row: byte 0xe9 at position 6 is not UTF-8 text; save the file as CSV in UTF-8"}},
		"UTF-16":          {"\xff\xfet\x00\n", []string{"p.csv:1: row: UTF-16 text; save the file as CSV in UTF-8"}},
		"open quote":      {head + "0,\"1\n1,2\n2,3\n", []string{"p.csv:2: row: a quoted field does not end"}},
		"after the quote": {head + "0,\"1\"x\n1,2\n", []string{"p.csv:2: row: text follows the closing quote of a field"}},
		"not whole":       {"t [s],force [N],counts\n0,1,1.5\n", []string{`p.csv:2: counts: "1.5" is not a whole number`}},
		"comment below":   {head + "# late\n0,1\n", []string{"p.csv:2: row: 1 field where the header has 2"}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := ReadTrace("p.csv", strings.NewReader(c.text))
			require.Error(t, err)
			assert.Equal(t, strings.Join(c.want, "\n"), err.Error())
		})
	}
}

// A good row beside bad ones is returned.
func TestTraceGoodRows(t *testing.T) {
	f, err := ReadTrace("p.csv", strings.NewReader("t [s],force [N]\n0,1\nx,2\n2,3\n\"3\",4\n4,\"5\n5,6\n"))
	var ps *Problems
	require.ErrorAs(t, err, &ps)
	assert.Equal(t, 2, ps.Total)
	assert.Equal(t, []float64{0, 2, 3, 5}, f.Trace.T)
	assert.Equal(t, []float64{1, 3, 4, 6}, f.Trace.Force)
}

func TestProblemsAreCounted(t *testing.T) {
	text := "t [s],force [N]\n" + strings.Repeat("x,1\n", 5000)
	_, err := ReadTrace("p.csv", strings.NewReader(text))
	var ps *Problems
	require.ErrorAs(t, err, &ps)
	assert.Equal(t, 5000, ps.Total)
	assert.Len(t, ps.First, maxProblems)
	assert.True(t, strings.HasSuffix(err.Error(), "\np.csv: and 4000 more of the kind"))
}

// endless gives the same byte for ever and counts what was taken.
type endless struct {
	b     byte
	taken int
}

func (e *endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = e.b
	}
	e.taken += len(p)
	return len(p), nil
}

func TestLongLine(t *testing.T) {
	for b, want := range map[byte]string{
		'7': "p.csv:1: row: line longer than 1048576 bytes; is this a CSV file?",
		0:   "p.csv:1: row: not a text file (it holds NUL bytes); save it as CSV in UTF-8",
	} {
		e := &endless{b: b}
		_, err := ReadTrace("p.csv", e)
		require.EqualError(t, err, want)
		assert.Less(t, e.taken, 4<<20, "read no more than is needed to tell")
	}
}

// Rows are read the same however the file comes in pieces.
func TestTracePieces(t *testing.T) {
	var text bytes.Buffer
	text.WriteString("# k: v\nt [ms];force [lbf];note\n")
	for i := range 30000 {
		fmt.Fprintf(&text, "%d,5;%d.25;\"a;b\"\n", i, i%977)
	}
	whole := read(t, text.String())
	require.Len(t, whole.Trace.T, 30000)
	for _, size := range []int{1, 7, 4096, 131071} {
		f, err := ReadTrace("pull.csv", &pieces{text.Bytes(), size})
		require.NoError(t, err)
		assert.Equal(t, whole, f)
	}
}

type pieces struct {
	b    []byte
	size int
}

func (p *pieces) Read(to []byte) (int, error) {
	n := copy(to, p.b[:min(p.size, len(p.b))])
	p.b = p.b[n:]
	if n == 0 {
		return 0, io.EOF
	}
	return n, nil
}

func TestReadErrors(t *testing.T) {
	dir := t.TempDir()
	d, err := os.Open(dir)
	require.NoError(t, err)
	defer d.Close()
	_, err = ReadTrace("the folder", d)
	require.EqualError(t, err, "the folder: is a directory")
	name := filepath.Join(dir, "t.csv")
	require.NoError(t, os.WriteFile(name, []byte("t [s],force [N]\n0,1\n"), 0o600))
	file, err := os.Open(name)
	require.NoError(t, err)
	file.Close()
	_, err = ReadTrace("t.csv", file)
	require.ErrorIs(t, err, os.ErrClosed)
}
