package table

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"strconv"
	"testing"
)

// traceText makes a file of n rows as a load cell at 200 samples a second
// gives it: about 15.5 bytes a row.
func traceText(n int, header string) []byte {
	rng := rand.New(rand.NewPCG(1, 2))
	b := []byte("# facing: ground steel\n" + header + "\n")
	for i := range n {
		b = strconv.AppendFloat(b, float64(i)*0.005+0.0007, 'f', 4, 64)
		b = append(b, ',')
		b = strconv.AppendFloat(b, 90*float64(i)/float64(n)+rng.NormFloat64()*0.02, 'f', 5, 64)
		b = append(b, '\n')
	}
	return b
}

func BenchmarkReadTrace(b *testing.B) {
	for _, n := range []int{1000, 4000, 100_000, 1_000_000} {
		text := traceText(n, "t [s],force [N]")
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			var f TraceFile
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				if err := f.Read("pull.csv", bytes.NewReader(text)); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/row")
		})
	}
}

func BenchmarkReadReadings(b *testing.B) {
	const n = 100_000
	text := []byte("facing,force [N],clamp [N],outcome,block,sample,order\n")
	for i := range n {
		text = fmt.Appendf(text, "facing %d,%.2f,%d,slipped,day %d,s%d,%d\n", i%4, 50+float64(i%977)/7, 1000+i%3*500, i%5, i%8, i)
	}
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ReadReadings("r.csv", bytes.NewReader(text)); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/row")
}
