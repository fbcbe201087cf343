package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/wire"
)

// A zero that is taken in mid-pull is said loudly, in the summary and in the
// file; one taken at rest, or of the calibration, is not.
func TestRecordZeroWhileMoving(t *testing.T) {
	dir := t.TempDir()
	cal := filepath.Join(dir, "cell.csv")
	require.NoError(t, os.WriteFile(cal, []byte("force [N],counts\n0,500\n20,20500\n"), 0o666)) // 1000 counts/N
	stream := func(counts func(i int) int) string {
		var b []byte
		for i := range 240 {
			b = wire.AppendSample(b, uint16(i), uint32(12500*i), int32(counts(i)))
		}
		return string(b)
	}
	noise := func(i int) int { return 500 + 7*i*i%11 }
	for name, c := range map[string]struct {
		counts func(i int) int
		tare   string
		moving bool
	}{
		"at rest":              {noise, "0.5 s", false},
		"then a pull":          {func(i int) int { return noise(i) + 80*max(0, i-60) }, "0.5 s", false},
		"in mid-pull":          {func(i int) int { return noise(i) + 80*max(0, 100-i) }, "0.5 s", true},
		"a trembling load":     {func(i int) int { return noise(i) + 3000*(i%2)*max(0, 60-i)/60 }, "0.5 s", true},
		"of the calibration":   {func(i int) int { return noise(i) + 80*max(0, 100-i) }, "0 s", false},
		"too few to tell":      {func(i int) int { return noise(i) + 80*max(0, 100-i) }, "0.05 s", false},
		"less than a division": {func(i int) int { return noise(i) + i/20 }, "0.5 s", false},
	} {
		t.Run(name, func(t *testing.T) {
			out := filepath.Join(t.TempDir(), "pull.csv")
			code, printed, talk := command(stream(c.counts), "record", "--port", "-", "--json", "--calibration", cal, "--tare", c.tare, out)
			require.Equal(t, exitOK, code, talk)
			var s recordSummary
			require.NoError(t, json.Unmarshal([]byte(printed), &s))
			text, err := os.ReadFile(out)
			require.NoError(t, err)
			if c.tare == "0 s" {
				assert.Nil(t, s.Zero)
			} else {
				require.NotNil(t, s.Zero)
				assert.Equal(t, c.moving, s.Zero.Moving, printed)
			}
			if c.moving {
				assert.Contains(t, talk, "WARNING: the load was moving while the zero was taken (scatter ")
				assert.Contains(t, talk, `or with --tare "0 s"`)
				assert.Contains(t, string(text), "# zero: taken while the load was moving; every force is off by an unknown amount\n")
			} else {
				assert.NotContains(t, talk, "WARNING")
				assert.NotContains(t, string(text), "# zero")
			}
		})
	}
}
