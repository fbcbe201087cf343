package slip

import (
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/slip/score"
)

// scored counts the verdict on one simulated pull.
func scored(t testing.TB, c *score.Tally, p simPull) {
	r := detect(t, p.trace)
	v := score.Verdict{Outcome: r.Outcome, Force: r.SlipForce, Low: r.Low, High: r.High, Kind: string(r.Kind)}
	c.Add(v, p.sim, accepted(r, strings.Join(p.accept, ";")))
}

// fromEnv is a whole number from the environment, or a default.
func fromEnv(t testing.TB, name string, otherwise int) int {
	s := os.Getenv(name)
	if s == "" {
		return otherwise
	}
	n, err := strconv.Atoi(s)
	require.NoError(t, err, name)
	return n
}

// TestScore scores the detector on simulated pulls: even seeds were looked at
// while it was made, odd ones were not. More seeds for a fuller table, and
// another first seed for fresh ones:
//
//	GRIPTRIAL_SCORE_SEEDS=120 GRIPTRIAL_SCORE_FROM=10000 go test -run TestScore -v ./analysis/slip
func TestScore(t *testing.T) {
	seeds := fromEnv(t, "GRIPTRIAL_SCORE_SEEDS", 8) // of each family, half of them even
	from := fromEnv(t, "GRIPTRIAL_SCORE_FROM", 0) &^ 1
	for parity, name := range []string{"even seeds, used for tuning", "odd seeds, held back"} {
		var all score.Tally
		t.Logf("%s, from %d\n%s", name, from+parity, score.Header)
		for _, family := range simFamilies {
			var c score.Tally
			for i := range seeds / 2 {
				scored(t, &c, simulate(family, uint64(from+2*i+parity)))
			}
			all.Merge(c)
			t.Log(c.Line(family))
		}
		t.Log(all.Line("all"))
		// below what the table shows, so that a broken detector fails and not the
		// luck of some seeds
		assert.GreaterOrEqual(t, all.Right*100, all.Pulls*93)
		assert.LessOrEqual(t, score.Quantile(all.Errors, 0.5), 0.005)
		assert.GreaterOrEqual(t, all.Covered*100, len(all.Errors)*87)
		assert.LessOrEqual(t, score.Quantile(all.Widths, 0.5), 0.04)
	}
}
