package loadcell

import "math"

// Still reports whether counts in a row are those of a cell at rest: they have
// no trend and no swing, that is, the means of their first and last thirds
// agree, and their range is no more than noise makes,
//
//	|mean(last) - mean(first)| <= max(floor, 4·noise·√(2/third))
//	max - min                  <= max(2·floor, 10·noise)
//
// floor is the change in counts that does not matter in any case. false for
// fewer than three counts, of which nothing can be told.
//
// noise is the standard deviation of one count from successive differences,
// s² = Σd²/(2(n−1)), which a slow change does not enter (von Neumann 1941,
// cited from memory); a range of ten of it is rare in a second of noise.
func Still(counts []int32, floor float64) (noise float64, still bool) {
	n := len(counts)
	if n < 3 {
		return math.NaN(), false
	}
	low, high, sum := math.Inf(1), math.Inf(-1), 0.0
	for i, c := range counts {
		low, high = min(low, float64(c)), max(high, float64(c))
		if i > 0 {
			d := float64(c) - float64(counts[i-1])
			sum += d * d
		}
	}
	noise = math.Sqrt(sum / float64(2*(n-1)))
	third := n / 3
	first, _, _ := Tare(counts[:third]) // never empty
	last, _, _ := Tare(counts[n-third:])
	return noise, math.Abs(last-first) <= max(floor, 4*noise*math.Sqrt(2/float64(third))) && high-low <= max(2*floor, 10*noise)
}
