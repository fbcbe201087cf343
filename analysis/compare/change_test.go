package compare

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestChange compares with R's Welch test, see the script beside the values.
func TestChange(t *testing.T) {
	file, err := os.Open("../../testdata/reference/change.csv")
	require.NoError(t, err)
	defer file.Close()
	r := map[string]float64{}
	for lines := bufio.NewScanner(file); lines.Scan(); {
		key, value, _ := strings.Cut(lines.Text(), ",")
		if v, err := strconv.ParseFloat(value, 64); err == nil {
			r[key] = v
		}
	}
	require.Len(t, r, 15)
	old := Measured{r["old.mean"], r["old.lower"], r["old.upper"], r["old.df"]}
	now := Measured{r["new.mean"], r["new.lower"], r["new.upper"], r["new.df"]}
	const near = 1e-9
	c, ok := Change(old, now, 0.95, 1)
	require.True(t, ok)
	assert.InDelta(t, r["df"], c.DF, 1e-7)
	assert.InDelta(t, r["lower"], c.Lower, near)
	assert.InDelta(t, r["upper"], c.Upper, near)
	assert.InDelta(t, r["p"], c.P, near)
	assert.Equal(t, "none", c.Adjusted)
	c, ok = Change(old, now, 0.95, 3)
	require.True(t, ok)
	assert.InDelta(t, r["lower3"], c.Lower, near)
	assert.InDelta(t, r["upper3"], c.Upper, near)
	assert.InDelta(t, r["p3"], c.P, near)
	assert.InDelta(t, r["lower"], c.Single.Lower, near)
	assert.Equal(t, "bonferroni", c.Adjusted)
	// Turned round it is the same change the other way.
	back, _ := Change(now, old, 0.95, 3)
	assert.InDelta(t, -c.Lower, back.Upper, 1e-12)

	for _, bad := range []Measured{{0, math.NaN(), math.NaN(), 5}, {0, -1, 1, math.NaN()}, {0, 0, 0, 5}, {0, -1, math.Inf(1), 5}} {
		_, ok := Change(old, bad, 0.95, 1)
		assert.False(t, ok, bad)
		_, ok = Change(bad, now, 0.95, 1)
		assert.False(t, ok, bad)
	}
}
