package table

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

func TestReadings(t *testing.T) {
	f, err := ReadReadings("r.csv", strings.NewReader(
		"# scale: hand\n"+
			"pull;facing;force [kgf];clamp [kN];outcome;division [kgf];block;sample;level;weight [g];order;clampings;note;operator;study\n"+
			"1;ground steel;10,0;2,1;slipped;1;mon;s1;usual;5000;3;0;\"held a moment; then went\";Ada;A\n"+
			"2;P240 cloth;35;;Held;;mon;c2;;;4;;;Bo;\n"+
			"3;ground steel;;2,1;void;;tue;;;;;;tie let go;;\n"))
	require.NoError(t, err)
	require.Len(t, f.Readings, 3)
	one := f.Readings[0]
	assert.InDelta(t, 98.0665, one.Force, 1e-12)
	assert.InDelta(t, 9.80665, one.Division, 1e-15)
	assert.InDelta(t, 2100, one.Clamp, 1e-12)
	assert.InDelta(t, 5, one.Weight, 1e-15)
	one.Force, one.Division, one.Clamp, one.Weight = 0, 0, 0, 0
	assert.Equal(t, trial.Reading{Pull: 1, Facing: "ground steel", Outcome: trial.Slipped, Level: "usual", Block: "mon",
		Sample: "s1", Order: trial.Count{N: 3, Known: true}, Clampings: trial.Count{N: 0, Known: true}, Study: "A",
		Note: "held a moment; then went"}, one)
	two := f.Readings[1]
	assert.Equal(t, trial.Held, two.Outcome)
	assert.Zero(t, two.Clamp)
	assert.False(t, two.Clampings.Known)
	assert.Equal(t, trial.Void, f.Readings[2].Outcome)
	assert.Zero(t, f.Readings[2].Force)

	assert.Equal(t, []int{3, 4, 5}, f.Line)
	assert.Equal(t, "Ada", f.Text(0, "operator"))
	assert.Equal(t, "10,0", f.Text(0, "Force"), "as typed")
	assert.Equal(t, "", f.Text(0, "nothing"))
	assert.Equal(t, "kgf", f.Force.Name)
	assert.Equal(t, []Meta{{"scale", "hand"}}, f.Meta)
}

func TestReadingsDefaults(t *testing.T) {
	f, err := ReadReadings("r.csv", strings.NewReader("facing,force [N],pull,weight,low\nA b,1,left,heavy,x\n\"A b\",2,7,,\n"))
	require.NoError(t, err)
	assert.Equal(t, trial.Reading{Facing: "A b", Force: 1, Outcome: trial.Slipped}, f.Readings[0], "other people's columns are only kept")
	assert.Equal(t, 7, f.Readings[1].Pull)
	assert.Equal(t, "heavy", f.Text(0, "weight"))
}

func TestReadingsProblems(t *testing.T) {
	head := "facing,force [N],clamp [N],outcome,division [N],order\n"
	for name, c := range map[string]struct {
		text string
		want []string
	}{
		"missing":       {"face,load [N]\n", []string{`r.csv:1: facing: column "facing" is missing; found: "face, load [N]"`, `r.csv:1: force: column "force [N]" is missing; found: "face, load [N]"`}},
		"unit":          {"facing,force [N],clamp\n", []string{"r.csv:1: clamp: unit missing (force units: N kN kgf gf lbf ozf)"}},
		"weight unit":   {"facing,force [N],weight [stone]\n", []string{`r.csv:1: weight: unknown unit "stone" (mass units: kg g lb oz)`}},
		"header only":   {head, []string{"r.csv:1: header: no rows of data after the header"}},
		"clamp":         {head + "a,1,0,slipped,,\na,1,-5,slipped,,\n", []string{`r.csv:2: clamp: "0" is not above zero`, `r.csv:3: clamp: "-5" is not above zero`}},
		"force":         {head + "a,0,1,slipped,,\na,-1,1,held,,\na,0,1,held,1,\na,,1,held,,\n", []string{`r.csv:2: force: "0" is not above zero`, `r.csv:3: force: "-1" is not above zero`, `r.csv:4: force: "0" is not above zero`, `r.csv:5: force: empty; a number is needed`}},
		"division":      {head + "a,1,1,slipped,-1,\n", []string{`r.csv:2: division: "-1" is below zero`}},
		"outcome":       {head + "a,1,1,slid,,\na,1,1,,,\na,1,1,unclear,,\n", []string{`r.csv:2: outcome: unknown word "slid"; write slipped, held or void`, "r.csv:3: outcome: empty; write slipped, held or void", "r.csv:4: outcome: an unclear pull is not a reading; decide: slipped, held or void"}},
		"facing":        {head + ",1,1,held,,\n", []string{"r.csv:2: facing: empty; every pull names what faced the jaws"}},
		"order":         {head + "a,1,1,held,,1.5\na,1,1,held,,-1\na,1,1,held,,x\n", []string{`r.csv:2: order: "1.5" is not a whole number`, `r.csv:3: order: "-1" is below zero`, `r.csv:4: order: "x" is not a number`}},
		"all of a row":  {head + ",x,-1,slid,-2,y\n", []string{`r.csv:2: outcome: unknown word "slid"; write slipped, held or void`, `r.csv:2: order: "y" is not a number`, "r.csv:2: facing: empty; every pull names what faced the jaws", `r.csv:2: clamp: "-1" is not above zero`, `r.csv:2: division: "-2" is below zero`, `r.csv:2: force: "x" is not a number`}},
		"NaN":           {head + "a,NaN,Inf,held,,\n", []string{`r.csv:2: clamp: "Inf" is not a finite number`, `r.csv:2: force: "NaN" is not a finite number`}},
		"interval":      {"facing,force [N],low [N],high [N]\na,2,3,1\n", []string{"r.csv:2: low: above the upper end of the interval"}},
		"decimal comma": {"facing,force [N]\na,1,5\n", []string{"r.csv:2: row: 3 fields where the header has 2; where a comma is the decimal mark, part the fields with semicolons, in the header too"}},
		"binary":        {head + "a,1,1,held,,\nb\x00,1,1,held,,\n", []string{"r.csv:3: row: not a text file (it holds NUL bytes); save it as CSV in UTF-8"}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := ReadReadings("r.csv", strings.NewReader(c.text))
			require.Error(t, err)
			assert.Equal(t, strings.Join(c.want, "\n"), err.Error())
		})
	}
}

// A void pull may have no force, and a slip below the first mark of a divided
// scale is read as 0.
func TestReadingsZeroForce(t *testing.T) {
	f, err := ReadReadings("r.csv", strings.NewReader("facing,force [N],outcome,division [N]\na,,void,\na,0,void,\na,0,slipped,1\n"))
	require.NoError(t, err)
	assert.Len(t, f.Readings, 3)
}

func TestQuotedFieldOverLines(t *testing.T) {
	f, err := ReadReadings("r.csv", strings.NewReader("facing,force [N],note\na,1,\"one\ntwo \"\"three\"\"\n\"\na,2,\nb,x,\n"))
	require.EqualError(t, err, `r.csv:6: force: "x" is not a number`)
	assert.Equal(t, "one\ntwo \"three\"\n", f.Readings[0].Note)
	assert.Equal(t, []int{2, 5}, f.Line)
}

func TestAppendReadingReadsBack(t *testing.T) {
	kgf, err := unit.Lookup(unit.Force, "kgf")
	require.NoError(t, err)
	rows := []trial.Reading{
		{Pull: 1, Facing: "ground steel", Force: kgf.ToSI(10), Outcome: trial.Slipped, Division: kgf.ToSI(1), Clamp: 2143.7309,
			Weight: 5, Level: "usual", Block: "1", Sample: "s1", Order: trial.Count{N: 1, Known: true},
			Clampings: trial.Count{Known: true}, Note: "a \"note\", with; marks\nand lines"},
		{Pull: 2, Facing: "#2 cloth", Force: 123.456789, Outcome: trial.Held, Low: 0.1, High: 0.3},
		{Pull: 3, Facing: " blanks ", Outcome: trial.Void, Note: "tie let go"},
	}
	text := AppendMeta(nil, Meta{"seed", "7\n8"})
	text = AppendRecord(text, ReadingColumns(kgf)...)
	for _, r := range rows {
		text = AppendReading(text, r, kgf)
	}
	assert.Contains(t, string(text), "\n1,ground steel,10,slipped,", "10 kgf stays 10")
	f, err := ReadReadings("r.csv", strings.NewReader(string(text)))
	require.NoError(t, err)
	require.Len(t, f.Readings, len(rows))
	for i, want := range rows {
		got := f.Readings[i]
		assert.InEpsilon(t, 1+want.Force, 1+got.Force, 3e-16)
		assert.InEpsilon(t, 1+want.Clamp, 1+got.Clamp, 3e-16)
		assert.InDelta(t, want.Low, got.Low, 1e-16)
		assert.InDelta(t, want.High, got.High, 1e-16)
		got.Force, got.Clamp, got.Low, got.High = want.Force, want.Clamp, want.Low, want.High
		assert.Equal(t, want, got)
	}
	assert.Equal(t, []Meta{{"seed", "7 8"}}, f.Meta)
}
