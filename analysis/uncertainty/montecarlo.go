package uncertainty

import (
	"fmt"
	"math"
	"slices"
)

// Options steer a Monte Carlo run. The zero value is recommended.
type Options struct {
	Draws        int     // 0: 1 000 000
	Seed         uint64  // the same seed gives the same result
	Confidence   float64 // of the intervals; 0: 0.95
	Correlations Correlations
}

// Distribution is what Monte Carlo finds about a result.
type Distribution struct {
	Mean, SD                  float64
	Median                    float64
	Lower, Upper              float64 // probabilistically symmetric interval
	ShortestLow, ShortestHigh float64 // shortest interval
	Draws                     int
	Seed                      uint64
}

// MonteCarlo draws every input from its distribution and looks at how the
// result is distributed. Correlated inputs are drawn jointly normal
// (JCGM 101, 6.4.8), so they must be Normal.
//
// The interval ends are order statistics of the draws (JCGM 101, 7.7): with q the
// confidence times the number of draws, the symmetric one leaves equally many
// draws on both sides, the shortest is the narrowest that holds q draws.
// Errors: inputs or correlations that are not valid, correlated inputs that are
// not normal, fewer than 1000 draws, a draw without a finite result.
// Source: JCGM 101:2008, clauses 6 and 7; tested against its examples 9.2, 9.3.
func MonteCarlo(inputs []Input, f Model, o Options) (Distribution, error) {
	draws, err := Sample(inputs, f, o)
	if err != nil {
		return Distribution{}, err
	}
	d := Summarise(draws, o.confidence())
	d.Seed = o.Seed
	return d, nil
}

func (o Options) confidence() float64 {
	if o.Confidence == 0 {
		return 0.95
	}
	return o.Confidence
}

// Sample gives the draws themselves, in the order drawn.
func Sample(inputs []Input, f Model, o Options) ([]float64, error) {
	if err := checkAll(inputs, o.Correlations); err != nil {
		return nil, err
	}
	if o.Draws == 0 {
		o.Draws = 1_000_000
	}
	if o.Draws < 1000 {
		return nil, fmt.Errorf("%d draws are too few: take at least 1000", o.Draws)
	}
	if c := o.confidence(); !(c > 0 && c < 1) {
		return nil, fmt.Errorf("confidence %.6g: must lie between 0 and 1", c)
	}
	joint, err := o.joint(inputs)
	if err != nil {
		return nil, err
	}
	r := newSource(o.Seed)
	x, z := make([]float64, len(inputs)), make([]float64, len(inputs))
	draws := make([]float64, o.Draws)
	for n := range draws {
		for i := range inputs {
			x[i] = inputs[i].draw(r)
		}
		if joint != nil {
			for i := range inputs {
				z[i] = r.NormFloat64()
				if inputs[i].shape == normal {
					sum := 0.0
					for j, v := range joint[i] {
						sum += v * z[j]
					}
					x[i] = inputs[i].Mean + inputs[i].U*sum
				}
			}
		}
		y := f(x)
		if math.IsNaN(y) || math.IsInf(y, 0) {
			return nil, fmt.Errorf("draw %d: %w: a wide input reaches where it has no meaning", n+1, errNotDefined)
		}
		draws[n] = y
	}
	return draws, nil
}

func (o Options) joint(inputs []Input) ([][]float64, error) {
	if !correlated(o.Correlations) {
		return nil, nil
	}
	for i, row := range o.Correlations {
		for j, v := range row {
			if i != j && v != 0 && inputs[i].shape != normal {
				return nil, fmt.Errorf("input %q is correlated but not normal: draw it from what it shares with the other instead", inputs[i].Name)
			}
		}
	}
	return cholesky(o.Correlations)
}

// Summarise describes draws, which it leaves as they are. It needs only the two
// tails and the median in order, so it sorts those and not the rest. Fewer than
// two draws give NaN throughout.
func Summarise(draws []float64, confidence float64) Distribution {
	n := len(draws)
	nan := math.NaN()
	d := Distribution{Draws: n, Mean: nan, SD: nan, Median: nan, Lower: nan, Upper: nan, ShortestLow: nan, ShortestHigh: nan}
	if n < 2 {
		return d
	}
	shift, sum, squares := draws[0], 0.0, 0.0
	least, most := shift, shift
	for _, v := range draws {
		least, most = min(least, v), max(most, v)
		v -= shift
		sum += v
		squares += v * v
	}
	mean := sum / float64(n)
	d.Mean = shift + mean
	d.SD = math.Sqrt(math.Max(0, (squares-float64(n)*mean*mean)/float64(n-1)))

	q := min(max(int(confidence*float64(n)+0.5), 1), n-1)
	tail := n - q // draws left out on both sides together
	b := newBins(draws, least, most)
	low, _ := b.ordered(0, tail-1)
	high, first := b.ordered(q, n-1)
	high = high[q-first:]
	middle, first := b.ordered(n/2, n/2)
	d.Median = middle[n/2-first]
	r := (tail + 1) / 2
	d.Lower, d.Upper = low[r-1], high[r-1]
	best := math.Inf(1)
	for i := range tail {
		if w := high[i] - low[i]; w < best {
			best, d.ShortestLow, d.ShortestHigh = w, low[i], high[i]
		}
	}
	return d
}

// bins count draws by value, so that a few order statistics can be had by
// sorting only the bins that hold them.
type bins struct {
	draws        []float64
	least, scale float64
	count        [4096]int
}

func newBins(draws []float64, least, most float64) *bins {
	b := &bins{draws: draws, least: least}
	if most > least {
		b.scale = float64(len(b.count)-1) / (most - least)
	}
	for _, v := range draws {
		b.count[b.of(v)]++
	}
	return b
}

// of grows with v, so bins are in order.
func (b *bins) of(v float64) int { return int((v - b.least) * b.scale) }

// ordered gives the order statistics from index i to j, and some around them;
// first is the index of the first one given.
func (b *bins) ordered(i, j int) (values []float64, first int) {
	from, sum := 0, 0
	for sum+b.count[from] <= i {
		sum += b.count[from]
		from++
	}
	first = sum
	to := from
	for sum+b.count[to] <= j {
		sum += b.count[to]
		to++
	}
	values = make([]float64, 0, sum+b.count[to]-first)
	for _, v := range b.draws {
		if at := b.of(v); at >= from && at <= to {
			values = append(values, v)
		}
	}
	slices.Sort(values)
	return values, first
}
