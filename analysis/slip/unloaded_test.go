package slip_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
)

// TestUnloaded: a record in which nothing was pulled is unclear, whatever its
// zero and noise; it is not held at next to nothing.
func TestUnloaded(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for what, force := range map[string]func() float64{
		"zero":   func() float64 { return 0 },
		"offset": func() float64 { return 5 },
		"noise":  func() float64 { return 5 + 0.1*rng.NormFloat64() },
	} {
		var tr trial.Trace
		for i := range 400 {
			tr.T = append(tr.T, float64(i)/80)
			tr.Force = append(tr.Force, force())
		}
		r, err := slip.Detect(tr, slip.Options{})
		require.NoError(t, err)
		assert.Equal(t, trial.Unclear, r.Outcome, what)
		assert.Contains(t, r.Flags, slip.Short, what)
	}
}
