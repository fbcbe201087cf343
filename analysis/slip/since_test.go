package slip

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A record on another clock says the same once its times are counted from where
// that clock stood.
func TestSince(t *testing.T) {
	p := simulate("stick-slip", 2)
	r := detect(t, p.trace)
	require.NotEmpty(t, r.Evidence.Events)
	first := r.Evidence.Events[0].Time
	s := r.Since(2.5)
	assert.InDelta(t, r.SlipTime-2.5, s.SlipTime, 1e-12)
	assert.InDelta(t, r.PeakTime-2.5, s.PeakTime, 1e-12)
	assert.InDelta(t, first-2.5, s.Evidence.Events[0].Time, 1e-12)
	assert.Equal(t, first, r.Evidence.Events[0].Time, "the result it came from is left alone")
	assert.Contains(t, s.Why(newton)[0], fmt.Sprintf(" at %.3f s", s.SlipTime))
}
