package analysis_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"griptrial/analysis"
	"griptrial/analysis/trial"
)

// large makes n pulls of five facings in three blocks at three levels.
func large(n int) []trial.Reading {
	random := rand.New(rand.NewPCG(1, 1))
	var out []trial.Reading
	for i := range n {
		f := random.IntN(5)
		r := trial.Reading{
			Facing: []string{"steel", "P240", "urethane", "serrated", "rubber"}[f], Clamp: []float64{1500, 2500, 4000}[random.IntN(3)], Outcome: trial.Slipped,
			Block: []string{"mon", "tue", "wed"}[random.IntN(3)], Order: trial.Count{N: i + 1, Known: true},
		}
		r.Force = 2 * r.Clamp * []float64{0.12, 0.31, 0.26, 0.2, 0.4}[f] * math.Exp(0.1*random.NormFloat64())
		out = append(out, r)
	}
	return out
}

func benchmark(b *testing.B, r []trial.Reading) {
	for b.Loop() {
		if _, err := analysis.Analyse(r, trial.Study{}, analysis.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPulls200(b *testing.B)    { benchmark(b, large(200)) }
func BenchmarkPulls100000(b *testing.B) { benchmark(b, large(100000)) }
func BenchmarkSamplesHeld(b *testing.B) { benchmark(b, mixedStudy()) }

// mixedStudy has samples, held and divided readings.
func mixedStudy() []trial.Reading {
	return design{"", 3, 3, 3, 0.1, 0.1, 0.2, 1}.draw(rand.New(rand.NewPCG(1, 1)))
}
