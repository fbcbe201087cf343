package compare

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestRosner: e-Handbook of NIST/SEMATECH 1.3.5.17.3, ROSNER.DAT, 54 values,
// r = 10, alpha 0.05: statistics and critical values from R 4.2.2 (the page
// truncates to three decimals), three outliers: 6.01, 5.42, 5.34.
func TestRosner(t *testing.T) {
	var x []float64
	for _, row := range numbers(t, "handbook/ROSNER.DAT") {
		x = append(x, row...)
	}
	require.Len(t, x, 54)
	r, lambda, _ := deviates(x, 10, 0.05)
	for i, want := range []float64{3.118906, 2.942973, 3.179424, 2.810181, 2.815580, 2.848172, 2.279327, 2.310366, 2.101581, 2.067178} {
		assert.InDelta(t, want, r[i], 6e-7)
	}
	for i, want := range []float64{3.158794, 3.151430, 3.143890, 3.136165, 3.128247, 3.120128, 3.111796, 3.103243, 3.094456, 3.085425} {
		assert.InDelta(t, want, lambda[i], 6e-7)
	}
	var found []float64
	for _, i := range Outliers(x, 10, 0.05) {
		found = append(found, x[i])
	}
	assert.Equal(t, []float64{6.01, 5.42, 5.34}, found)
}

// TestGrubbsTable: with one step the critical value is Grubbs's two-sided 5 %
// point; printed tables differ from the exact value by up to 0.001.
func TestGrubbsTable(t *testing.T) {
	for n, want := range map[int]float64{3: 1.1543, 4: 1.4812, 5: 1.7150, 6: 1.8871, 8: 2.1266, 10: 2.2900, 12: 2.4116, 15: 2.5483} {
		x := make([]float64, n)
		for i := range x {
			x[i] = float64(i * i)
		}
		_, lambda, _ := deviates(x, 1, 0.05)
		assert.InDelta(t, want, lambda[0], 6e-5, "n %d", n)
	}
	assert.Empty(t, Outliers([]float64{1, 2}, 1, 0.05))
	assert.Empty(t, Outliers([]float64{2, 2, 2, 2}, 2, 0.05))
}
