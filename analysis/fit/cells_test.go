package fit

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestCells: sums over cells give what the rows give, with and without blocks
// and slopes.
func TestCells(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 3))
	d := Data{Facings: 3, Blocks: 2, Slopes: [][]float64{nil, nil}}
	var y []float64
	for i := range 200 {
		d.Facing, d.Block = append(d.Facing, i%3), append(d.Block, random.IntN(2))
		d.Slopes[0], d.Slopes[1] = append(d.Slopes[0], float64(i)), append(d.Slopes[1], random.NormFloat64())
		y = append(y, float64(i%3)+0.1*random.NormFloat64()+0.001*float64(i))
	}
	for _, slopes := range []int{0, 1, 2} {
		for _, blocked := range []bool{true, false} {
			e := d
			e.Slopes = d.Slopes[:slopes]
			if !blocked {
				e.Block, e.Blocks = nil, 0
			}
			l := newLayout(e)
			a, af, err := rowFit(e, l, y)
			require.NoError(t, err)
			b, bf, ok := cellFit(e, l, y)
			require.True(t, ok)
			assert.InDeltaSlice(t, a.Coef, b.Coef, 1e-13)
			assert.InDeltaSlice(t, a.inverse, b.inverse, 1e-13)
			assert.InDeltaSlice(t, af, bf, 1e-13)
			assert.InEpsilon(t, a.RSS, b.RSS, 1e-12)
			assert.Equal(t, a.DF, b.DF)
		}
	}
	constant := d
	constant.Slopes = [][]float64{make([]float64, 200)}
	_, _, ok := cellFit(constant, newLayout(constant), y)
	assert.False(t, ok)
}
