package compare

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestPermuteExact: two facings, three pulls each, fully apart: 2 of the 20
// deals reach the statistic, p = 0.1. In two blocks of one pair each no deal
// does not: p = 1 or 1/2 by the blocks' own count.
func TestPermuteExact(t *testing.T) {
	p := Permute([]float64{1, 2, 3, 11, 12, 13}, []int{0, 0, 0, 1, 1, 1}, make([]int, 6), 100000, 1)
	assert.InDelta(t, 0.1, p, 0.004)
	// Pairs in blocks: of 8 deals, 2 have all differences of one sign.
	p = Permute([]float64{1, 5, 101, 106, 31, 34}, []int{0, 1, 0, 1, 0, 1}, []int{0, 0, 1, 1, 2, 2}, 100000, 1)
	assert.InDelta(t, 0.25, p, 0.005)
	assert.Equal(t, p, Permute([]float64{1, 5, 101, 106, 31, 34}, []int{0, 1, 0, 1, 0, 1}, []int{0, 0, 1, 1, 2, 2}, 100000, 1))
	assert.Equal(t, 1.0, Permute([]float64{2, 2, 2, 2}, []int{0, 0, 1, 1}, make([]int, 4), 100, 1))
}

// TestPermuteIsFair: without a difference p is below 0.05 in 5 % of studies.
func TestPermuteIsFair(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 3))
	below := 0
	const studies = 1500
	for i := range studies {
		value, facing, block := make([]float64, 18), make([]int, 18), make([]int, 18)
		for k := range value {
			facing[k], block[k] = k%3, k/9
			value[k] = random.ExpFloat64() + 3*float64(block[k])
		}
		if Permute(value, facing, block, 399, uint64(i)) <= 0.05 {
			below++
		}
	}
	assert.InDelta(t, 0.05, float64(below)/studies, 0.02)
}
