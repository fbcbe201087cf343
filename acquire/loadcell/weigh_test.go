package loadcell

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// cell is a calibration of 1000 counts/N.
func cell(t *testing.T) Calibration {
	t.Helper()
	c, err := Read("cell.csv", strings.NewReader("# g: 9.8 m/s2\nforce [N],counts\n0,500\n20,20500\n50,50500\n"))
	require.NoError(t, err)
	return c
}

func steady(n int, counts ...int32) []int32 {
	var all []int32
	for len(all) < n {
		all = append(all, counts...)
	}
	return all
}

// The span is 1000 counts/N: 0.5 % of 19.6 N is 98 counts.
func TestWeigh(t *testing.T) {
	c := cell(t)
	for _, test := range []struct {
		counts int32
		drift  float64
		off    bool
	}{
		{20100, 0, false}, {20197, 97. / 19600, false}, {20003, -97. / 19600, false},
		{20199, 99. / 19600, true}, {20001, -99. / 19600, true},
	} {
		w, err := c.Weigh("19.6 N", steady(80, 500), steady(80, test.counts))
		require.NoError(t, err)
		assert.InDelta(t, test.drift, w.Drift(), 1e-9)
		assert.Equal(t, test.off, w.Off(), "%d", test.counts)
		assert.InDelta(t, 19.6, w.Force, 1e-9)
		assert.InDelta(t, 1000, w.Span, 1e-6)
		assert.True(t, w.Of(c))
		again, ok := ParseWeighing(w.String())
		require.True(t, ok, w.String())
		assert.Equal(t, w.Off(), again.Off(), w.String())
		assert.InDelta(t, w.Drift(), again.Drift(), 1e-6)
		assert.True(t, again.Of(c))
		assert.Equal(t, "19.6 N", again.Hung)
	}
	w, err := c.Weigh("19.6 N", steady(80, 500), steady(80, 20159))
	require.NoError(t, err)
	assert.Equal(t, "19.6 N hung: 19.659 N read, 19.6 N expected (+0.30 %), span 1000 counts/N", w.String())

	// 2 kg in air pull with 2·9.8·(1 - 1.2/8000) N.
	w, err = c.Weigh("2 kg", steady(80, 500), steady(80, 20100))
	require.NoError(t, err)
	assert.InDelta(t, 19.59706, w.Force, 1e-9)

	// Scatter of one count is 10: u = √(2·10²·80/79/80)/1000 N.
	w, err = c.Weigh("2 kg", steady(80, 490, 510), steady(80, 20090, 20110))
	require.NoError(t, err)
	assert.InDelta(t, 0.00159111, w.U, 1e-8)

	w.Span *= 1.001
	assert.False(t, w.Of(c), "calibrated anew since")
	c.Rows[1].Counts, c.Rows[2].Counts = -19500, -49500
	w, err = c.Weigh("19.6 N", steady(80, 500), steady(80, -19100))
	require.NoError(t, err, "signal wires swapped")
	assert.InDelta(t, 0, w.Drift(), 1e-9)
	assert.True(t, w.Of(c))
}

func TestWeighRefuses(t *testing.T) {
	c := cell(t)
	for hung, want := range map[string]string{
		"0 kg": "above zero", "-1 kg": "", "0 N": "above zero", "-3 N": "above zero", "2": `like "2 kg"`, "2 mm": `like "2 kg"`,
	} {
		_, err := c.Weigh(hung, steady(80, 500), steady(80, 20100))
		require.Error(t, err, hung)
		assert.ErrorContains(t, err, want)
	}
	// 0.1 kg pulls with 0.98 N; scatter of 10 counts over 80 samples is 0.0016 N,
	// more than a tenth of a percent of it.
	_, err := c.Weigh("0.1 kg", steady(80, 490, 510), steady(80, 1470, 1490))
	assert.ErrorIs(t, err, ErrLight)
	for _, counts := range []int32{500, 10_200, 39_800} {
		_, err = c.Weigh("2 kg", steady(80, 500), steady(80, counts))
		assert.ErrorIs(t, err, ErrNotHung, "%d", counts)
		assert.ErrorContains(t, err, "does it hang")
	}
	_, err = c.Weigh("2 kg", steady(1, 500), steady(80, 20100))
	assert.ErrorIs(t, err, ErrNoTare)
	c.Rows = c.Rows[:1]
	_, err = c.Weigh("2 kg", steady(80, 500), steady(80, 20100))
	assert.Error(t, err)
	for _, text := range []string{"", "2 kg hung", "2 kg hung: x N read, 19.6 N expected (+0.30 %), span 1000 counts/N", "2 kg hung: 1 N read, 0 N expected (+0.30 %), span 1000 counts/N"} {
		_, ok := ParseWeighing(text)
		assert.False(t, ok, text)
	}
	assert.False(t, Weighing{Span: 1}.Of(c))
}
