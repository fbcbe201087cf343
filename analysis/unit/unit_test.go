package unit_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/unit"
)

// Exact products of the defined factors (lb = 0.45359237 kg and in = 0.0254 m,
// international yard and pound agreement 1959; g_n = 9.80665 m/s², 3rd CGPM
// 1901), worked out in decimal arithmetic; NIST SP 811 appendix B.8 prints the
// same rounded to 7 digits. The doubles must be within one unit in the last
// place.
var exact = []struct {
	kind unit.Kind
	name string
	si   float64
	sp   string // as SP 811 B.8 prints it; "" where it has no row
}{
	{unit.Force, "N", 1, ""},
	{unit.Force, "kN", 1000, ""},
	{unit.Force, "kgf", 9.80665, "9.80665E+00"},
	{unit.Force, "gf", 0.00980665, ""},
	{unit.Force, "lbf", 4.4482216152605, "4.448222E+00"},
	{unit.Force, "ozf", 0.27801385095378125, "2.780139E-01"},
	{unit.Length, "mm", 0.001, ""},
	{unit.Length, "cm", 0.01, ""},
	{unit.Length, "in", 0.0254, "2.54E-02"},
	{unit.Time, "ms", 0.001, ""},
	{unit.Time, "us", 1e-6, ""},
	{unit.Mass, "g", 0.001, ""},
	{unit.Mass, "lb", 0.45359237, "4.535924E-01"},
	{unit.Mass, "oz", 0.028349523125, "2.834952E-02"},
	{unit.Torque, "N·m", 1, ""},
	{unit.Torque, "kgf·cm", 0.0980665, ""},
	{unit.Torque, "lbf·in", 0.1129848290276167, "1.129848E-01"},
	{unit.Torque, "lbf·ft", 1.3558179483314004, "1.355818E+00"},
	{unit.Stress, "MPa", 1e6, ""},
	{unit.Stress, "psi", 6894.757293168361, "6.894757E+03"},
	{unit.Angle, "deg", 0.017453292519943295, "1.745329E-02"},
}

func TestExactFactors(t *testing.T) {
	for _, c := range exact {
		u, err := unit.Lookup(c.kind, c.name)
		require.NoError(t, err, c.name)
		got := u.ToSI(1)
		assert.LessOrEqual(t, math.Abs(got-c.si), math.Nextafter(c.si, math.Inf(1))-c.si, c.name)
		assert.InEpsilon(t, 1, u.FromSI(got), 4e-16, c.name)
		if c.sp != "" {
			var printed float64
			printed, _, err = unit.Parse(unit.Length, c.sp+" m")
			require.NoError(t, err)
			assert.InEpsilon(t, printed, got, 5e-7, "%s against SP 811", c.name)
		}
	}
}

func TestAsciiTorqueSpellings(t *testing.T) {
	for _, pair := range [][2]string{{"N·m", "N.m"}, {"N·m", "Nm"}, {"kgf·cm", "kgf.cm"}, {"lbf·in", "lbf.in"}, {"lbf·ft", "lbf.ft"}} {
		a, err := unit.Lookup(unit.Torque, pair[0])
		require.NoError(t, err)
		b, err := unit.Lookup(unit.Torque, pair[1])
		require.NoError(t, err)
		assert.Equal(t, a.ToSI(3.7), b.ToSI(3.7))
	}
}

func TestParse(t *testing.T) {
	for text, want := range map[string]float64{
		"150 mm": 0.15, "150mm": 0.15, " 1.5e2 mm ": 0.15, "-3 cm": -0.03, "+2 in": 0.0508, ".5 m": 0.5, "5. m": 5, "0 mm": 0,
	} {
		got, u, err := unit.Parse(unit.Length, text)
		require.NoError(t, err, text)
		assert.InDelta(t, want, got, 1e-17, text)
		assert.Equal(t, unit.Length, u.Kind)
	}
}

func TestParseRefuses(t *testing.T) {
	for text, part := range map[string]string{
		"":            "does not start with a number",
		"mm":          "does not start with a number",
		"NaN mm":      "does not start with a number",
		"Inf mm":      "does not start with a number",
		"0x10 mm":     `unknown unit "x10 mm"`,
		"1_000 mm":    `unknown unit "_000 mm"`,
		"1e999 mm":    "too large",
		"150":         "unit missing",
		"150 furlong": `unknown unit "furlong"`,
		"5 kg":        `"kg" is a unit of mass`,
		"150 MM":      `unknown unit "MM"`,
		"1,5 mm":      `unknown unit ",5 mm"`,
	} {
		_, _, err := unit.Parse(unit.Length, text)
		require.Error(t, err, text)
		assert.Contains(t, err.Error(), part)
		assert.Contains(t, err.Error(), "length units: m mm cm in", "the error lists what is accepted")
	}
}

// TestMarkOfMass: a scale marked with a mass shows a force, and the error says
// which unit that is.
func TestMarkOfMass(t *testing.T) {
	for text, way := range map[string]string{
		"14.5 lb":     "for a scale marked lb write lbf",
		"14.5 lbs":    "for a scale marked lbs write lbf",
		"14.5 Pounds": "for a scale marked Pounds write lbf",
		"6 kg":        "for a scale marked kg write kgf",
		"600 g":       "for a scale marked g write gf",
		"9 oz":        "for a scale marked oz write ozf",
	} {
		_, _, err := unit.Parse(unit.Force, text)
		assert.ErrorContains(t, err, "(force units: N kN kgf gf lbf ozf); "+way, text)
	}
	for _, text := range []string{"6 kgF", "6 mm", "6"} {
		_, _, err := unit.Parse(unit.Force, text)
		require.Error(t, err)
		assert.NotContains(t, err.Error(), "scale marked", text)
	}
	_, _, err := unit.Parse(unit.Length, "6 kg")
	require.Error(t, err)
	assert.NotContains(t, err.Error(), "scale marked")
}

func TestSplitHeader(t *testing.T) {
	for header, want := range map[string][2]string{
		"force [kgf]": {"force", "kgf"}, " t [s] ": {"t", "s"}, "facing": {"facing", ""}, "clamp[N]": {"clamp", "N"},
		"force [": {"force [", ""}, "x []": {"x", ""},
	} {
		name, u := unit.SplitHeader(header)
		assert.Equal(t, want, [2]string{name, u}, header)
	}
}

func TestNumber(t *testing.T) {
	kgf, err := unit.Lookup(unit.Force, "kgf")
	require.NoError(t, err)
	assert.Equal(t, "10.0 kgf", kgf.Format(98.0665, 3))
	assert.Equal(t, "0.01234", kgf.Number(0.01234*9.80665, 4))
	assert.Equal(t, "12346", kgf.Number(12345.6*9.80665, 3))
	assert.Equal(t, "0", kgf.Number(0, 3))
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"150 mm", "5e", "1e5kg", "-.5 in", "µ", "1e-400 m"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for k := unit.Force; k <= unit.Angle; k++ {
			v, _, err := unit.Parse(k, s)
			if err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
				t.Fatalf("%q gives %v", s, v)
			}
			if err != nil && strings.TrimSpace(err.Error()) == "" {
				t.Fatal("empty error")
			}
		}
	})
}
