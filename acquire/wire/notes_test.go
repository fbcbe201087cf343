package wire

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestNotesExample reads the example frames of the firmware notes: what they
// show to whoever writes a firmware must be what is read here.
func TestNotesExample(t *testing.T) {
	text, err := os.ReadFile("../../firmware-notes/README.md")
	require.NoError(t, err)
	_, frames, ok := strings.Cut(string(text), "```\n")
	require.True(t, ok)
	frames, _, ok = strings.Cut(frames, "```")
	require.True(t, ok)
	r := NewReader(strings.NewReader(frames), ReaderOptions{})
	samples := drain(t, r)
	a := r.Account()
	assert.EqualValues(t, 2, a.Samples)
	assert.Zero(t, a.Rejected)
	assert.Equal(t, map[string]string{"proto": "1", "name": "bench cell", "id": "LC-17", "fw": "1.0", "boot": "3",
		"sps": "80", "gain": "128", "adc_bits": "24", "ready": "1"}, a.Facts)
	assert.Equal(t, int32(-1234), samples[0].Counts)
	assert.EqualValues(t, 80, *a.RateHz)
}
