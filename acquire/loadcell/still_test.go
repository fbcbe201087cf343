package loadcell

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestStill(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	make := func(n int, at func(i int) float64) []int32 {
		c := make([]int32, n)
		for i := range c {
			c[i] = int32(math.Round(1000 + at(i) + 10*rng.NormFloat64()))
		}
		return c
	}
	rest := make(1000, func(int) float64 { return 0 })
	noise, still := Still(rest, 0)
	assert.True(t, still)
	assert.InDelta(t, 10, noise, 0.8, "the noise that was put in")
	for name, at := range map[string]func(int) float64{
		"a load that comes up": func(i int) float64 { return 20 * float64(i) },
		"a load let off":       func(i int) float64 { return -20 * float64(i) },
		"a swing":              func(i int) float64 { return 300 * math.Sin(float64(i)/7) },
		"a slip":               func(i int) float64 { return 500 * math.Floor(float64(i)/20) },
	} {
		_, still := Still(make(41, at), 0)
		assert.False(t, still, name)
	}
	noise, still = Still([]int32{1, 2, 1, 3}, 10)
	assert.True(t, still, "a change below the floor does not matter")
	assert.InDelta(t, 1, noise, 1e-12, "(1 + 1 + 4) / (2·3)")
	_, still = Still([]int32{1, 1}, 10)
	assert.False(t, still)
	_, still = Still(nil, 10)
	assert.False(t, still)
}
