package report_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"griptrial/analysis"
	"griptrial/report"
	"griptrial/report/internal/example"
)

// The digits follow from the rule in the comment of Decimals, by hand.
func TestHonestDigits(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		v, lo, hi float64
		want      string
	}{
		{2.1342, 1.87, 2.43, "2.13 (1.87 to 2.43)"},
		{0.12345, 0.119, 0.131, "0.1235 (0.1190 to 0.1310)"},
		{3567.2, 3100, 4100, "3570 (3100 to 4100)"},
		{123456, 121234, 125678, "123500 (121200 to 125700)"},
		{-1234.5, -1900, -600, "−1230 (−1900 to −600)"},
		{3.296, nan, nan, "3.30"},
		{123.4567, 123.4560, 123.4574, "123.5 (123.5 to 123.5)"}, // four digits are enough
		{0, -1, 1, "0 (−1 to 1)"},
		{nan, nan, nan, report.Dash},
		{5, 2, math.Inf(1), "5.00"},
	} {
		got := report.Write(analysis.Estimate{Estimate: analysis.Number(c.v), Lower: analysis.Number(c.lo), Upper: analysis.Number(c.hi)}, report.Same)
		assert.Equal(t, c.want, got.String(), "%v", c)
	}
}

func TestNumbers(t *testing.T) {
	for want, got := range map[string]string{
		"0.00":    report.Number(-0.0001, 2), // no minus before nothing
		"−2.5":    report.Number(-2.5, 1),
		"10":      report.Given(10),
		"0.95":    report.Given(0.95),
		"1200":    report.Given(1200),
		"99.9":    report.Given(99.9),
		"0.00123": report.Short(0.001234, 3),
		"12346":   report.Short(12345.6, 3),
		"3.4":     report.RoundUp(3.301),
		"3.3":     report.RoundUp(3.3),
		"29 %":    report.Percent(0.2857),
	} {
		assert.Equal(t, want, got)
	}
	assert.Equal(t, "10", report.RoundUp(9.97))
	assert.Equal(t, report.Dash, report.Short(math.Inf(1), 3))
	assert.Equal(t, "less than 0.0001", report.P(1e-9))
	assert.Equal(t, "0.033", report.P(0.0331))
}

// Where only handle weights are known, grip is force over the weight's own
// force: 1 is 1 kgf for each kg, whatever unit it is shown in.
func TestGripForEachWeight(t *testing.T) {
	in := example.Input()
	in.Results.Quantity = analysis.PerWeight
	name, unitName, scale := in.Grip()
	assert.Equal(t, "grip for each unit of handle weight", name)
	assert.Equal(t, "kgf/kg", unitName)
	assert.InDelta(t, 10.6, scale(10.6), 1e-12)
}
