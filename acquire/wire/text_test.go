package wire

import (
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestPattern reads the shapes that scales and gauges print, by their manuals.
func TestPattern(t *testing.T) {
	tests := []struct {
		pattern, line string
		comma         bool
		value         float64
		unit          string
		stable        bool
	}{
		{"{number} {unit}", "   12.50 kg", false, 12.5, "kg", true},
		{"{number}{unit}", "12.50kg", false, 12.5, "kg", true},
		{"{number} {unit}", "-   3.2 N", false, -3.2, "N", true},
		{"{number}", "    7", false, 7, "", true},
		{"{number} {unit}", "12.5- N", false, -12.5, "N", true},
		{"{number} {unit}", "+0012.5 lbf", false, 12.5, "lbf", true},
		{"{number} {unit}{unstable:?}", "12.5 g ?", false, 12.5, "g", false},
		{"{number} {unit}{unstable:?}", "12.5 g", false, 12.5, "g", true},
		{"{stable:ST,US},GS,{number}{unit}", "ST,GS,+  12.50kg", false, 12.5, "kg", true},
		{"{stable:ST,US},GS,{number}{unit}", "US,GS,+  12.50kg", false, 12.5, "kg", false},
		{"{number} {unit} {skip}", "12.5 kg 0.300", false, 12.5, "kg", true},
		{"{number} {unit}", "12,5 kg", true, 12.5, "kg", true},
		{"(net) {number}", "(net)  .5", false, 0.5, "", true},
	}
	for _, test := range tests {
		p, err := ParsePattern(test.pattern, test.comma)
		require.NoError(t, err, test.pattern)
		value, unit, stable, ok := p.read(test.line)
		require.True(t, ok, "%s on %q", test.pattern, test.line)
		assert.InDelta(t, test.value, value, 1e-12, test.line)
		assert.Equal(t, test.unit, unit)
		assert.Equal(t, test.stable, stable, test.line)
	}
	p, err := ParsePattern("{stable:ST,US},{number} {unit}", false)
	require.NoError(t, err)
	for _, line := range []string{"OL,12.5 kg", "ST,------ kg", "ST,OL", "ST,12,5 kg", "ST,12.5", "ST,12.5 kg 3", "ST,-12.5- kg", "", "ST,1.2.3 kg"} {
		_, _, _, ok := p.read(line)
		assert.False(t, ok, line)
	}
}

func TestPatternErrors(t *testing.T) {
	for pattern, want := range map[string]string{
		"":                     "needs {number}",
		"{unit}":               "needs {number}",
		"{number":              "not closed",
		"{number} {number}":    "stands twice",
		"{weight}":             "unknown part {weight}",
		"{stable:ST} {number}": "two words",
		"{unstable} {number}":  "write the mark",
	} {
		_, err := ParsePattern(pattern, false)
		assert.ErrorContains(t, err, want, pattern)
	}
}

func TestTextReader(t *testing.T) {
	p, err := ParsePattern("{number} {unit}", false)
	require.NoError(t, err)
	now := time.Unix(1000, 0)
	text := "\x02  1.0 kg\x03\r\n\r\n1.1 kg\r1.2 lb\nERR 3\n" + strings.Repeat("9", 5000) + " kg\n" + "\xb1.\xb3 kg\n1.4 kg"
	for _, src := range []io.Reader{strings.NewReader(text), iotest.OneByteReader(strings.NewReader(text))} {
		r := NewTextReader(src, p, "kg", func() time.Time { return now })
		var values []float64
		var why []string
		for {
			reading, err := r.Next()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err)
			assert.Equal(t, now, reading.Arrival)
			assert.LessOrEqual(t, len(reading.Raw), maxText)
			if reading.Why != "" {
				why = append(why, reading.Why)
				continue
			}
			values = append(values, reading.Value)
		}
		assert.Equal(t, []float64{1, 1.1, 1.3, 1.4}, values, "the parity bit is stripped")
		assert.Equal(t, []string{whyUnit, whyShape, whyLong}, why)
	}

	s := &script{now: now, steps: []step{{wait: time.Second}, {text: "1 kg\n"}}}
	r := NewTextReader(s, p, "", func() time.Time { return s.now })
	_, err = r.Next()
	assert.ErrorIs(t, err, os.ErrDeadlineExceeded)
	reading, err := r.Next()
	require.NoError(t, err)
	assert.Equal(t, 1.0, reading.Value)
	_, err = NewTextReader(empty{}, p, "", time.Now).Next()
	assert.ErrorIs(t, err, io.ErrNoProgress)
}

func FuzzPattern(f *testing.F) {
	f.Add("{stable:ST,US},{number} {unit}", "ST,1 kg")
	f.Fuzz(func(t *testing.T, pattern, line string) {
		p, err := ParsePattern(pattern, false)
		if err != nil {
			return
		}
		p.read(line)
	})
}
