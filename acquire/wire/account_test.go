package wire

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFlags(t *testing.T) {
	var s stream
	s.fact("sps", "80")
	for i := range uint16(100) {
		counts := int32(i)
		switch {
		case i >= 10 && i < 15:
			counts = 8_388_607
		case i >= 15 && i < 18:
			counts = -8_388_608
		case i >= 40 && i < 70:
			counts = -1
		}
		s.sample(i, uint32(i)*300, counts) // forty times too fast
	}
	a, samples, _ := read(t, &s)
	assert.EqualValues(t, 8, a.Saturated)
	assert.EqualValues(t, 1, a.Stuck)
	assert.False(t, samples[58].Stuck)
	assert.True(t, samples[59].Stuck)
	assert.True(t, samples[69].Stuck)
	assert.False(t, samples[70].Stuck)
	var codes []string
	for _, w := range a.Warnings {
		codes = append(codes, w.Code)
	}
	assert.Equal(t, []string{"rate-off", "stuck", "saturated"}, codes)

	s.Reset()
	s.fact("adc_bits", "20")
	s.sample(0, 0, 524_287)
	a, _, _ = read(t, &s)
	assert.EqualValues(t, 1, a.Saturated)
}

func TestCodeOfCounts(t *testing.T) {
	for code, want := range map[string]int{"twos": 0, "offset": 1} {
		var s stream
		s.fact("code", code)
		s.at80(0, 515, 3)
		a, _, _ := read(t, &s)
		assert.Len(t, a.Warnings, want, code)
	}
}

func TestFactsAreBounded(t *testing.T) {
	var s stream
	for i := range 200 {
		s.fact(fmt.Sprintf("k%d", i), "v")
	}
	a, _, _ := read(t, &s)
	assert.Len(t, a.Facts, maxFacts)
	assert.EqualValues(t, 200-maxFacts, a.Rejected)
	assert.Equal(t, "many-facts", a.Warnings[0].Code)
}

func TestAccountJSON(t *testing.T) {
	var s stream
	s.fact("name", "bench cell")
	s.at80(0, 515, 1)
	a, _, _ := read(t, &s)
	b, err := json.Marshal(a)
	require.NoError(t, err)
	assert.JSONEq(t, `{"samples":1,"lost":0,"rejected":0,"duplicates":0,"segments":1,"saturated":0,
		"stalls":0,"rate_hz":null,"stuck":0,"facts":{"name":"bench cell"}}`, string(b))
}
