package slip

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"griptrial/analysis/trial"
)

// pullOf makes a plain pull of n samples at 1000 a second: rest, a rise over
// half of the record, a sharp break and stick-slip to the end.
func pullOf(n int) trial.Trace {
	r := rand.New(rand.NewPCG(uint64(n), 1))
	tr := trial.Trace{T: make([]float64, n), Force: make([]float64, n)}
	rest, slip := n/10, n*6/10
	for i := range n {
		tr.T[i] = float64(i) / 1000
		f := 0.0
		switch {
		case i > slip:
			f = 70 + 10*math.Mod(float64(i-slip)/300, 1)
		case i > rest:
			f = 100 * float64(i-rest) / float64(slip-rest)
		}
		tr.Force[i] = f + 3 + 0.05*r.NormFloat64()
	}
	return tr
}

// BenchmarkDetect shows that the cost grows linearly: the time for one sample
// stays the same from a thousand samples to ten million.
func BenchmarkDetect(b *testing.B) {
	for _, n := range []int{1e3, 1e4, 1e5, 1e6, 1e7} {
		tr := pullOf(n)
		b.Run(fmt.Sprintf("%.0e", float64(n)), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Detect(tr, Options{}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/sample")
		})
	}
}

// BenchmarkStream is the cost of one sample at the vise.
func BenchmarkStream(b *testing.B) {
	tr := pullOf(1e5)
	s := NewStream(Options{})
	i := 0
	b.ReportAllocs()
	for b.Loop() {
		if i == len(tr.T) {
			i, s = 0, NewStream(Options{})
		}
		s.Push(tr.T[i], tr.Force[i])
		i++
	}
}
