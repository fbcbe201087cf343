package wire

import (
	"bytes"
	"errors"
	"fmt"
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

// texts reads everything and lists values and reasons in their order.
func texts(t *testing.T, r *TextReader) (found []string, raw string) {
	t.Helper()
	for {
		reading, err := r.Next()
		if errors.Is(err, io.EOF) {
			return found, raw
		}
		require.NoError(t, err)
		assert.NotEmpty(t, reading.Raw)
		assert.LessOrEqual(t, len(reading.Raw), maxText)
		raw += string(reading.Raw) + "\n"
		switch {
		case reading.Part:
		case reading.Why != "":
			found = append(found, reading.Why)
		default:
			found = append(found, fmt.Sprint(reading.Value))
		}
	}
}

func TestTextReader(t *testing.T) {
	p, err := ParsePattern("{number} {unit}", false)
	require.NoError(t, err)
	now := time.Unix(1000, 0)
	long := strings.Repeat("9", 5000) + " kg"
	text := "\x02   1.0 kg\x03\r\n\r\n   1.1 kg\r   1.2 lb\n    ERR 3\n" + long + "\n \xb1\xb2.\xb3 kg\n  -1.4 kg"
	for _, src := range []io.Reader{strings.NewReader(text), iotest.OneByteReader(strings.NewReader(text))} {
		r := NewTextReader(src, p, "kg", func() time.Time { return now })
		found, raw := texts(t, r)
		assert.Equal(t, []string{"1", "1.1", whyUnit, whyShape, whyLong, whyAlone, "-1.4"}, found, "the parity bit is stripped")
		assert.Contains(t, raw, "\x02   1.0 kg\x03\n", "as it came")
		assert.Contains(t, raw, " \xb1\xb2.\xb3 kg\n")
		assert.Equal(t, 5000, strings.Count(raw, "9"), "all of the long one")
	}

	s := &script{now: now, steps: []step{{wait: time.Second}, {text: "1 kg\n2 kg\n"}}}
	r := NewTextReader(s, p, "", func() time.Time { return s.now })
	_, err = r.Next()
	assert.ErrorIs(t, err, os.ErrDeadlineExceeded)
	reading, err := r.Next()
	require.NoError(t, err)
	assert.Equal(t, 1.0, reading.Value)
	_, err = NewTextReader(empty{}, p, "", time.Now).Next()
	assert.ErrorIs(t, err, io.ErrNoProgress)
}

// A line that lost a digit is as good as any by its pattern; its length tells.
func TestTextReaderAsksForAgreement(t *testing.T) {
	p, err := ParsePattern("{number} {unit}", false)
	require.NoError(t, err)
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"a lost digit in a field of fixed width", "  12.50 N\n  12.60 N\n  1.70 N\n  12.80 N\n", []string{"12.5", "12.6", whyAlone, "12.8"}},
		{"the first line is a piece", "50 N\n  12.60 N\n  12.70 N\n", []string{whyAlone, "12.6", "12.7"}},
		{"numbers that grow by a digit", "9.8 N\n9.9 N\n10.0 N\n10.1 N\n9.9 N\n10.2 N\n", []string{"9.8", "9.9", "10", "10.1", "9.9", "10.2"}},
		{"the last line is alone", "9.8 N\n9.9 N\n10.0 N\n", []string{"9.8", "9.9", whyAlone}},
		{"one line in all", "9.8 N\n", []string{whyAlone}},
		{"other words between do not part them", "9.8 N\nERR\n9.9 N\n", []string{whyShape, "9.8", "9.9"}},
	} {
		found, _ := texts(t, NewTextReader(strings.NewReader(c.text), p, "N", time.Now))
		assert.Equal(t, c.want, found, c.name)
	}
}

// FuzzTextReader: whatever the bytes, no panic; what is read is finite, the size
// of the pieces makes no difference, and no more is handed on than came.
func FuzzTextReader(f *testing.F) {
	f.Add([]byte("\x02  1.0 kg\x03\r\n  1.1 kg\n 1.2 kg\n"))
	f.Add([]byte(strings.Repeat("9", 600) + "\nERR\n-1.5- kg\n"))
	p, err := ParsePattern("{number} {unit}", false)
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, data []byte) {
		one, raw := texts(t, NewTextReader(bytes.NewReader(data), p, "kg", time.Now))
		two, again := texts(t, NewTextReader(iotest.OneByteReader(bytes.NewReader(data)), p, "kg", time.Now))
		require.Equal(t, one, two)
		require.Equal(t, raw, again)
		require.LessOrEqual(t, len(raw), 2*len(data)+1)
		for _, value := range one {
			require.NotContains(t, []string{"NaN", "+Inf", "-Inf"}, value)
		}
	})
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
