package compare

import "math/rand/v2"

// Permute tests that facings do not differ, by dealing the facings' names anew
// among the pulls of each block, as the randomised run order might have dealt
// them. It supposes nothing about the distribution.
//
// value, facing and block have one entry a pull; the statistic is the sum over
// facings of n·(mean of value less its block's mean)². The p-value is (1 + the
// number of deals that reach the statistic of the data)/(1 + draws), never zero
// (B. Phipson and G. K. Smyth, Statistical Applications in Genetics and
// Molecular Biology 9 (2010) 39). The seed gives the deals; the same seed gives
// the same p.
func Permute(value []float64, facing, block []int, draws int, seed uint64) float64 {
	facings, blocks := 0, 0
	for i := range value {
		facings, blocks = max(facings, facing[i]+1), max(blocks, block[i]+1)
	}
	members := make([][]int, blocks)
	means := make([]total, blocks)
	for i, b := range block {
		members[b] = append(members[b], i)
		means[b].add(value[i])
	}
	// Values and names are laid out block by block.
	var centred []float64
	var names []int
	var ends []int
	count := make([]float64, facings)
	for b, list := range members {
		mean := means[b].sum() / float64(len(list))
		for _, i := range list {
			centred = append(centred, value[i]-mean)
			names = append(names, facing[i])
			count[facing[i]]++
		}
		ends = append(ends, len(centred))
	}
	sums := make([]float64, facings)
	statistic := func() float64 {
		clear(sums)
		for i, v := range centred {
			sums[names[i]] += v
		}
		s := 0.0
		for f, v := range sums {
			if count[f] > 0 {
				s += v * v / count[f]
			}
		}
		return s
	}
	// A deal that repeats the data must count in spite of rounding.
	seen := statistic() * (1 - 1e-12)
	random := rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15))
	reached := 0
	for range draws {
		start := 0
		for _, end := range ends {
			deal := names[start:end]
			for i := len(deal) - 1; i > 0; i-- {
				j := int(random.Uint64N(uint64(i + 1)))
				deal[i], deal[j] = deal[j], deal[i]
			}
			start = end
		}
		if statistic() >= seen {
			reached++
		}
	}
	return float64(reached+1) / float64(draws+1)
}
