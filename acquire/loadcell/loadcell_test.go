package loadcell

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/calibration"
)

const whole = `# cell: LC-17
# name: bench cell
# gain: 128
# sps: 80
# date: 2026-11-25
# g: 9.8119 m/s2
# density: 7850 kg/m3
# rated: 500 N
# weights: 0.0005
# temperature: 21 degC
# hung on the bench by the window
weight [kg],counts,run,direction
0,1000.5,1,up
2,21003,1,up
1,11002,1,down
`

func TestFileRoundTrip(t *testing.T) {
	c, err := Read("cal.csv", strings.NewReader(whole))
	require.NoError(t, err)
	assert.Equal(t, "LC-17", c.Cell)
	assert.Equal(t, 128.0, c.Gain)
	assert.Equal(t, 80.0, c.SPS)
	assert.Equal(t, 9.8119, c.Gravity)
	assert.Equal(t, 7850.0, c.Density)
	assert.Equal(t, 500.0, c.Rated)
	assert.Equal(t, []Note{{"temperature", "21 degC"}, {"", "hung on the bench by the window"}}, c.Notes)
	require.Len(t, c.Rows, 3)
	assert.Equal(t, calibration.Down, c.Rows[2].Direction)
	assert.Equal(t, whole, string(c.Append(nil)))
}

func TestReadVariants(t *testing.T) {
	// A spreadsheet's way: BOM, CRLF, semicolons, decimal commas, pounds, no run
	// and no direction, other columns.
	text := "\uFEFF# cell: A\r\n\r\n\"weight [lb]\";counts;remark\r\n0;10,5;\r\n2;30,5;x\r\n1;20,5;\r\n0;11;\r\n"
	c, err := Read("w.csv", strings.NewReader(text))
	require.NoError(t, err)
	require.Len(t, c.Rows, 4)
	assert.InDelta(t, 2*0.45359237, c.Rows[1].Mass, 1e-15)
	assert.Equal(t, 30.5, c.Rows[1].Counts)
	var directions []calibration.Direction
	for _, r := range c.Rows {
		directions = append(directions, r.Direction)
	}
	assert.Equal(t, []calibration.Direction{calibration.Up, calibration.Up, calibration.Down, calibration.Down}, directions)

	c, err = Read("f.csv", strings.NewReader("force [kgf],counts\n0,0\n1,980.665\n"))
	require.NoError(t, err)
	load, err := c.Load(c.Rows[1])
	require.NoError(t, err)
	assert.InDelta(t, 9.80665, load, 1e-12)
	fit, err := c.Fit()
	require.NoError(t, err)
	assert.InDelta(t, 100, fit.Span, 1e-9)
	assert.Equal(t, "force [N],counts,run,direction\n0,0,1,up\n9.80665,980.665,1,up\n", string(c.Append(nil)))
}

func TestReadErrors(t *testing.T) {
	tests := []struct{ text, want string }{
		{"", "w.csv:1: header: no header"},
		{"# cell: A\n", "w.csv:1: header: no header"},
		{"weight [kg],counts\n", "w.csv:1: row: no row follows"},
		{"weight [stone],counts\n1,2\n", `w.csv:1: weight: unknown unit "stone" (mass units: kg g lb oz)`},
		{"weight,counts\n1,2\n", "w.csv:1: weight: unit missing"},
		{"weight [kg],count\n1,2\n", "w.csv:1: header: needs a column counts"},
		{"counts\n1\n", "w.csv:1: header: needs one column weight [kg] or force [N]"},
		{"weight [kg],force [N],counts\n1,2,3\n", "needs one column"},
		{"weight [kg],counts,counts\n1,2,3\n", "stands twice"},
		{"weight [kg],counts\n1,2\n1\n", "w.csv:3: row: 1 fields where the header has 2"},
		{"weight [kg],counts\n1,x\n", `w.csv:2: counts: "x" is not a number`},
		{"weight [kg],counts\n1,NaN\n", `w.csv:2: counts: "NaN" is not a number`},
		{"weight [kg],counts\nInf,1\n", `w.csv:2: weight: "Inf" is not a number`},
		{"weight [kg],counts\n0x10,1\n", `w.csv:2: weight: "0x10" is not a number`},
		{"weight [kg],counts\n-1,1\n", "w.csv:2: weight: must be zero or more"},
		{"weight [kg],counts,run\n1,1,0\n", `w.csv:2: run: "0" is not a number of a run`},
		{"weight [kg],counts,direction\n1,1,left\n", `w.csv:2: direction: "left" is neither up nor down`},
		{"# gain: much\nweight [kg],counts\n1,1\n", `w.csv:1: gain: "much" is not a number above zero`},
		{"# rated: 500\nweight [kg],counts\n1,1\n", `w.csv:1: rated: "500" is not a force`},
		{strings.Repeat("x", 1<<20), "w.csv:1: row: longer than 65536 bytes"},
	}
	for _, test := range tests {
		_, err := Read("w.csv", strings.NewReader(test.text))
		require.Error(t, err, test.text)
		assert.ErrorContains(t, err, test.want)
	}
	_, err := Read("w.csv", strings.NewReader("weight [kg],counts\n1,x\ny,1\n2,3\n"))
	assert.Equal(t, 2, strings.Count(err.Error(), "is not a number"), "all bad rows, not only the first")
}

func TestCheck(t *testing.T) {
	c, err := Read("cal.csv", strings.NewReader(whole))
	require.NoError(t, err)
	facts := map[string]string{"id": "LC-17", "gain": "128", "sps": "80.0"}
	unverified, err := c.Check(facts)
	assert.NoError(t, err)
	assert.Empty(t, unverified)

	for key, value := range map[string]string{"id": "LC-18", "gain": "64", "sps": "10", "code": "offset"} {
		other := map[string]string{"id": "LC-17", "gain": "128", "sps": "80"}
		other[key] = value
		_, err = c.Check(other)
		var mismatch *Mismatch
		require.True(t, errors.As(err, &mismatch), key)
		assert.Len(t, mismatch.Differences, 1)
		assert.ErrorContains(t, err, value)
	}
	unverified, err = c.Check(nil)
	assert.NoError(t, err, "a device without facts cannot be refused")
	assert.Equal(t, []string{"id", "gain", "sps"}, unverified)

	var fresh Calibration
	fresh.Identify(map[string]string{"id": "X", "name": "y", "gain": "64", "sps": "fast"})
	assert.Equal(t, Calibration{Cell: "X", Name: "y", Gain: 64}, fresh)
}

func TestFitUsesGravityAndAir(t *testing.T) {
	c := Calibration{Gravity: 9.8, Rows: []Row{{Mass: 0, Force: math.NaN(), Run: 1}, {Mass: 2, Force: math.NaN(), Counts: 1000, Run: 1}}}
	fit, err := c.Fit()
	require.NoError(t, err)
	assert.InEpsilon(t, 1000/(2*9.8*0.99985), fit.Span, 1e-12)
	c.Gravity = 0
	fit, err = c.Fit()
	require.NoError(t, err)
	assert.InEpsilon(t, 1000/(2*9.80665*0.99985), fit.Span, 1e-12)
	c.Density = 1
	_, err = c.Fit()
	assert.ErrorContains(t, err, "row 1")
}

func TestTare(t *testing.T) {
	mean, sd, err := Tare([]int32{10, 12, 14})
	require.NoError(t, err)
	assert.Equal(t, 12.0, mean)
	assert.InDelta(t, 2, sd, 1e-12)
	_, sd, err = Tare([]int32{5})
	require.NoError(t, err)
	assert.True(t, math.IsNaN(sd))
	_, _, err = Tare(nil)
	assert.ErrorIs(t, err, ErrNoTare)

	s := Scale{Span: -100, Tare: 50}
	assert.Equal(t, 2.0, s.Newtons(-150))
}

func FuzzRead(f *testing.F) {
	f.Add(whole)
	f.Add("force [N];counts\n0;1,5\n")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := Read("f.csv", strings.NewReader(text))
		if err != nil {
			return
		}
		again, err := Read("g.csv", strings.NewReader(string(c.Append(nil))))
		if err != nil {
			t.Fatalf("written, not read back: %v\n%s", err, c.Append(nil))
		}
		if len(again.Rows) != len(c.Rows) || string(again.Append(nil)) != string(c.Append(nil)) {
			t.Fatalf("changed: %q became %q", c.Append(nil), again.Append(nil))
		}
	})
}
