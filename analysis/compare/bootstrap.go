package compare

import (
	"math"
	"math/rand/v2"
	"slices"

	"griptrial/analysis/dist"
)

// Unit is what is drawn as one: a pull, or all pulls on one sample. Sum is the
// sum of its log values, Count their number.
type Unit struct{ Sum, Count float64 }

// Resampled are intervals for the difference of two facings by the bootstrap.
type Resampled struct {
	Percentile, BCa Limits // P is not given
	Draws           int
}

// leastUnits of each facing are needed: three give ten different resamples, too
// few for tails.
const leastUnits = 4

// Bootstrap gives intervals for mean(b) - mean(a), mean = sum of Sum over sum of
// Count, by drawing the units of each facing anew with replacement. Nothing is
// supposed of the distribution; samples are respected where a unit is a sample,
// blocks where the values are free of the blocks' effects.
//
// Percentile is the plain one. BCa is corrected for bias and acceleration,
//
//	alpha' = Phi(z0 + (z0 + z)/(1 - a (z0 + z))),
//	z0 = Phi⁻¹(share of draws below the estimate),  a = sum u³/(6 (sum u²)^(3/2)),
//
// u the influence of each unit on the estimate, n_f/(n_f - 1) times what leaving it
// out takes away (B. Efron, JASA 82 (1987) 171; A. C. Davison and D. V. Hinkley,
// Bootstrap Methods and their Application (1997), equations 5.21 and, for
// strata, 3.19 and 5.28). Both are too narrow with few units: the resampled
// spread is that over n, not over n - 1. They are a check on the model's
// interval, not its better.
//
// ok is false with fewer than four units of a facing or without spread. The seed
// gives the draws. Tested against R's boot and against its own symmetry.
func Bootstrap(a, b []Unit, confidence float64, draws int, seed uint64) (r Resampled, ok bool) {
	if len(a) < leastUnits || len(b) < leastUnits || draws < 100 {
		return r, false
	}
	estimate := meanOf(b) - meanOf(a)
	acceleration := accelerate(a, b)
	if math.IsNaN(acceleration) {
		return r, false
	}
	random := rand.New(rand.NewPCG(seed, 0x2545f4914f6cdd1d))
	values := make([]float64, draws)
	below := 0.0
	for i := range values {
		values[i] = drawMean(b, random) - drawMean(a, random)
		switch {
		case values[i] < estimate:
			below++
		case values[i] == estimate:
			below += 0.5
		}
	}
	slices.Sort(values)
	z := dist.NormalQuantile((1 + confidence) / 2)
	// One draw at least on each side, so that z0 is a number.
	z0 := dist.NormalQuantile(math.Max(0.5, math.Min(float64(draws)-0.5, below)) / float64(draws))
	moved := func(z float64) float64 {
		return quantile(values, dist.Below(z0+(z0+z)/(1-acceleration*(z0+z))))
	}
	return Resampled{
		Percentile: Limits{Lower: quantile(values, (1-confidence)/2), Upper: quantile(values, (1+confidence)/2), P: math.NaN()},
		BCa:        Limits{Lower: moved(-z), Upper: moved(z), P: math.NaN()},
		Draws:      draws,
	}, true
}

func meanOf(u []Unit) float64 {
	var sum, count float64
	for _, one := range u {
		sum += one.Sum
		count += one.Count
	}
	return sum / count
}

// drawMean is the mean of as many units as there are, drawn with replacement.
// One number of the generator serves two draws: 32 bits each, scaled, which
// favours no unit by more than one part in a hundred million.
func drawMean(u []Unit, random *rand.Rand) float64 {
	n := uint64(len(u))
	var sum, count float64
	bits := uint64(0)
	for i := range n {
		if i%2 == 0 {
			bits = random.Uint64()
		}
		one := u[(bits&0xffffffff)*n>>32]
		bits >>= 32
		sum += one.Sum
		count += one.Count
	}
	return sum / count
}

// accelerate is the acceleration from the influence of the units; NaN where
// they do not spread.
func accelerate(a, b []Unit) float64 {
	var cubes, squares float64
	for _, u := range [2][]Unit{a, b} {
		n := float64(len(u))
		whole := meanOf(u)
		for i := range u {
			rest := slices.Concat(u[:i], u[i+1:])
			e := (n - 1) * (whole - meanOf(rest)) / n
			if &u[0] == &a[0] {
				e = -e
			}
			squares += e * e
			cubes += e * e * e
		}
	}
	if !(squares > 1e-28) {
		return math.NaN()
	}
	return cubes / (6 * math.Pow(squares, 1.5))
}

// quantile of sorted values, as R's boot takes it: the (N + 1)p-th value, between
// two by the normal scale.
func quantile(sorted []float64, p float64) float64 {
	n := float64(len(sorted))
	at := (n + 1) * p
	k := math.Floor(at)
	switch {
	case k < 1:
		return sorted[0]
	case k >= n:
		return sorted[len(sorted)-1]
	case at == k:
		return sorted[int(k)-1]
	}
	lo, hi := dist.NormalQuantile(k/(n+1)), dist.NormalQuantile((k+1)/(n+1))
	share := (dist.NormalQuantile(p) - lo) / (hi - lo)
	return sorted[int(k)-1] + share*(sorted[int(k)]-sorted[int(k)-1])
}
