package figure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
	"griptrial/report/internal/golden"
)

// pull is a record that settles once at 30 N, slips at 80 N and slides on at
// 55 N; the readings fall under load and rest at 4 N.
func pull() trial.Trace {
	var tr trial.Trace
	for i := range 600 {
		t := float64(i) / 100
		f := 20 * math.Max(0, t-0.5)
		if t > 2 {
			f -= 5
		}
		if t > 4.75 {
			f = 55
		}
		tr.T = append(tr.T, t)
		tr.Force = append(tr.Force, 4-f+0.05*math.Sin(37*float64(i)))
	}
	return tr
}

func TestEvidence(t *testing.T) {
	n, err := unit.Lookup(unit.Force, "N")
	require.NoError(t, err)
	r, err := slip.Detect(pull(), slip.Options{})
	require.NoError(t, err)
	require.Equal(t, trial.Slipped, r.Outcome)
	f := Evidence(pull(), r, n, "blank <3>.csv")
	s := svg(t, f.SVG)
	wellFormed(t, s)
	assert.Contains(t, s, "Slipped at 80")
	assert.Contains(t, s, "the tie settling")
	assert.Contains(t, s, "slip (chosen)")
	golden.Equal(t, "evidence.svg", []byte(s))
}

func TestEvidenceOfNothing(t *testing.T) {
	n, err := unit.Lookup(unit.Force, "N")
	require.NoError(t, err)
	r, err := slip.Detect(trial.Trace{}, slip.Options{})
	require.NoError(t, err)
	s := svg(t, Evidence(trial.Trace{}, r, n, "empty.csv").SVG)
	wellFormed(t, s)
	assert.Contains(t, s, "Unclear: the record alone cannot tell")
	assert.Contains(t, s, "no samples")
}
