package entry

import (
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

func kgf(t testing.TB) unit.Unit {
	u, err := unit.Lookup(unit.Force, "kgf")
	require.NoError(t, err)
	return u
}

const g = 9.80665 // m/s², exact

func TestParse(t *testing.T) {
	for text, want := range map[string]Entry{
		"10":                        {Outcome: trial.Slipped, Force: 10 * g, Digits: "10"},
		"0":                         {Outcome: trial.Slipped, Digits: "0"},
		"  10.50 ":                  {Outcome: trial.Slipped, Force: 10.5 * g, Digits: "10.50"},
		"10,5":                      {Outcome: trial.Slipped, Force: 10.5 * g, Digits: "10.5"},
		"0,125":                     {Outcome: trial.Slipped, Force: 0.125 * g, Digits: "0.125"},
		"35+":                       {Outcome: trial.Held, Force: 35 * g, Digits: "35"},
		"35 + kgf":                  {Outcome: trial.Held, Force: 35 * g, Digits: "35"},
		"35kgf+":                    {Outcome: trial.Held, Force: 35 * g, Digits: "35"},
		"98 N":                      {Outcome: trial.Slipped, Force: 98, Unit: "N"},
		"98N +":                     {Outcome: trial.Held, Force: 98, Unit: "N"},
		"x tie let go":              {Outcome: trial.Void, Note: "tie let go"},
		"X  tie   let go ":          {Outcome: trial.Void, Note: "tie let go"},
		"10 @P240#2":                {Outcome: trial.Slipped, Force: 10 * g, Digits: "10", Facing: "P240", Sample: "2"},
		"35+ @ ground steel / 5 kg": {Outcome: trial.Held, Force: 35 * g, Digits: "35", Facing: "ground steel", Level: "5 kg"},
		"10@P240/5 kg#2 ; crept":    {Outcome: trial.Slipped, Force: 10 * g, Digits: "10", Facing: "P240", Sample: "2", Level: "5 kg", Note: "crept"},
		"x tie let go @P240#2":      {Outcome: trial.Void, Note: "tie let go", Facing: "P240", Sample: "2"},
		"10 ; @ home":               {Outcome: trial.Slipped, Force: 10 * g, Digits: "10", Note: "@ home"},
	} {
		got, err := Parse(text, kgf(t))
		require.NoError(t, err, text)
		assert.InDelta(t, want.Force, got.Force, 1e-12, text)
		got.Force = want.Force
		assert.Equal(t, want, got, text)
	}
}

func TestParseRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"":          "column 1: nothing typed",
		"   ":       "column 4: nothing typed",
		"x":         "column 2: a void pull needs its reason",
		"x @P240":   "column 2: a void pull needs its reason",
		"ten":       "column 1: not a number",
		"xylophone": "column 1: not a number",
		"-10":       "column 1: a force is not negative",
		"0+":        "column 1: held at zero says nothing",
		"1,250":     `column 1: "1,250" may mean 1250 or 1.250`,
		"1.250,5":   "column 1",
		"1,2,3":     "column 1",
		"10.":       "column 1",
		".5":        "column 1",
		"1.2.3":     "column 1",
		"10 kfg":    `column 4: unknown unit "kfg" (force units: N kN kgf`,
		"10 mm":     `column 4: "mm" is a unit of length`,
		"10 KGF":    `column 4: unknown unit "KGF"`,
		"10 12":     `column 4: unknown unit "12"`,
		"35++":      `column 4: "+" does not belong here`,
		"10 !":      `column 4: "!" does not belong here`,
		"10 @":      `column 4: a name is missing after "@"`,
		"10 @#2":    `column 4: a name is missing after "@"`,
		"10 @P240#": `column 9: a name is missing after "#"`,
		"10 @a#1#2": `column 8: a second "#"`,
		"10 @a@b":   `column 6: a second "@"`,
		"10\x00":    "column 3: a control character",
		"10 \xff":   "column 1: not UTF-8",
		"10 µ":      "column 4: unknown unit",
		"1e5":       `column 1: "1e5" is not a number`,
		"1o.5":      `column 1: "1o.5" is not a number`,
		" 1O":       `column 2: "1O" is not a number`,
		"1l+":       `column 1: "1l" is not a number`,
		"10.5kfg":   `column 5: unknown unit "kfg"`,
		"14.5 lb":   `column 6: "lb" is a unit of mass (force units: N kN kgf gf lbf ozf); for a scale marked lb write lbf`,
		"14 pounds": `column 4: unknown unit "pounds" (force units: N kN kgf gf lbf ozf); for a scale marked pounds write lbf`,
		"NaN":       "column 1: not a number",
		"Inf":       "column 1: not a number",
	} {
		_, err := Parse(text, kgf(t))
		assert.ErrorContains(t, err, want, "%q", text)
	}
}

// FuzzParse: no panic, columns within the text, and no entry that a ledger
// could not hold.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"10", "35+", "x tie let go", "10 @P240#2/5 kg ; note", "10,5 kgf", "1,250", "", "é+"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		e, err := Parse(s, kgf(t))
		if err != nil {
			bad, ok := err.(*Error)
			require.True(t, ok)
			assert.Positive(t, bad.Column)
			assert.LessOrEqual(t, bad.Column, utf8.RuneCountInString(s)+1)
			return
		}
		switch e.Outcome {
		case trial.Void:
			assert.NotEmpty(t, e.Note)
			assert.Zero(t, e.Force)
		case trial.Slipped, trial.Held:
			assert.False(t, math.IsNaN(e.Force) || math.IsInf(e.Force, 0))
			assert.GreaterOrEqual(t, e.Force, 0.0)
			assert.Equal(t, e.Outcome == trial.Held, strings.Contains(strings.SplitN(strings.SplitN(s, ";", 2)[0], "@", 2)[0], "+"))
		default:
			t.Fatalf("outcome %v", e.Outcome)
		}
	})
}
