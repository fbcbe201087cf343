package dist

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestAgainstQuadrature: both tails against 25-digit quadrature and SciPy, see
// testdata/reference/distributions.py. 1e-10 relative wherever the tail is
// above 1e-250.
func TestAgainstQuadrature(t *testing.T) {
	f, err := os.Open("../../testdata/reference/distributions.csv")
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 80)
	for _, row := range rows[1:] {
		var a []float64
		for _, s := range strings.Fields(row[1]) {
			v, err := strconv.ParseFloat(s, 64)
			require.NoError(t, err)
			a = append(a, v)
		}
		survival, _ := strconv.ParseFloat(row[2], 64)
		cdf, _ := strconv.ParseFloat(row[3], 64)
		var sf, below float64
		switch row[0] {
		case "t":
			sf, below = TSurvival(a[0], a[1]), TSurvival(-a[0], a[1])
		case "f":
			sf, below = FSurvival(a[0], a[1], a[2]), 1-FSurvival(a[0], a[1], a[2])
		case "chi2":
			sf, below = ChiSquaredSurvival(a[0], a[1]), 1-ChiSquaredSurvival(a[0], a[1])
		case "noncentral-t":
			sf, below = NoncentralTSurvival(a[0], a[1], a[2]), NoncentralTCDF(a[0], a[1], a[2])
		case "range":
			sf, below = NewRange(int(a[1])).Survival(a[0], a[2]), NewRange(int(a[1])).CDF(a[0], a[2])
		case "dunnett":
			d := NewManyToOne(a[2:])
			sf, below = d.Survival(a[0], a[1]), d.CDF(a[0], a[1])
		default:
			t.Fatalf("unknown distribution %s", row[0])
		}
		if survival > 1e-250 {
			assert.InEpsilon(t, survival, sf, 1e-10, "%s(%s) above", row[0], row[1])
		} else {
			assert.Less(t, sf, 1e-250)
		}
		// The reference's lower tail is 1 - survival where that is not small.
		assert.InDelta(t, cdf, below, 1e-12+1e-10*cdf, "%s(%s) below", row[0], row[1])
	}
}

// TestRangeTable: upper 5 % and 1 % points of the studentized range as printed
// in the common tables (two decimals; here the four of SciPy 1.10.1
// studentized_range.ppf, which agree with them).
func TestRangeTable(t *testing.T) {
	for df, want := range map[float64][]float64{
		3:  {4.5007, 5.9096, 6.8245, 7.5017, 8.0371, 8.4783, 8.8525},
		4:  {3.9265, 5.0402, 5.7571, 6.2870, 6.7064, 7.0526, 7.3465},
		5:  {3.6354, 4.6017, 5.2183, 5.6731, 6.0329, 6.3299, 6.5823},
		6:  {3.4605, 4.3392, 4.8956, 5.3049, 5.6284, 5.8953, 6.1222},
		8:  {3.2612, 4.0410, 4.5288, 4.8858, 5.1672, 5.3991, 5.5962},
		10: {3.1511, 3.8768, 4.3266, 4.6543, 4.9120, 5.1242, 5.3042},
		12: {3.0813, 3.7729, 4.1987, 4.5077, 4.7502, 4.9496, 5.1187},
		15: {3.0143, 3.6734, 4.0760, 4.3670, 4.5947, 4.7816, 4.9399},
		20: {2.9500, 3.5779, 3.9583, 4.2319, 4.4452, 4.6199, 4.7676},
	} {
		for i, q := range want {
			assert.InDelta(t, q, NewRange(i+2).Quantile(0.05, df), 6e-5, "k %d df %v", i+2, df)
		}
	}
	for df, want := range map[float64][]float64{5: {5.702, 6.976, 7.804, 8.421}, 10: {4.482, 5.270, 5.769, 6.136}, 15: {4.167, 4.836, 5.252, 5.556}} {
		for i, q := range want {
			assert.InDelta(t, q, NewRange(i+2).Quantile(0.01, df), 6e-4, "k %d df %v", i+2, df)
		}
	}
}

// TestDunnettTable: two-sided 5 % points for equal groups, Dunnett 1955 (two
// decimals, held to 0.005) and by double quadrature in R 4.2.2 (four).
func TestDunnettTable(t *testing.T) {
	for df, want := range map[float64][]float64{
		5: {2.5706, 3.0302, 3.2932, 3.4759, 3.6151}, 6: {2.4469, 2.8628, 3.0993, 3.2634, 3.3884},
		8: {2.3060, 2.6728, 2.8797, 3.0227, 3.1314}, 10: {2.2281, 2.5683, 2.7590, 2.8905, 2.9903},
		12: {2.1788, 2.5024, 2.6829, 2.8071, 2.9013}, 15: {2.1314, 2.4392, 2.6100, 2.7273, 2.8161},
		20: {2.0860, 2.3787, 2.5403, 2.6510, 2.7347},
	} {
		for i, q := range want {
			sizes := make([]float64, i+1)
			for j := range sizes {
				sizes[j] = 4
			}
			assert.InDelta(t, q, NewManyToOne(Loads(4, sizes)).Quantile(0.05, df), 6e-5, "p %d df %v", i+1, df)
		}
	}
	for df, want := range map[float64][]float64{5: {2.57, 3.03, 3.29, 3.48, 3.62}, 10: {2.23, 2.57, 2.76, 2.89, 2.99}, 20: {2.09, 2.38, 2.54, 2.65, 2.73}} {
		for i, q := range want {
			sizes := make([]float64, i+1)
			for j := range sizes {
				sizes[j] = 7
			}
			assert.InDelta(t, q, NewManyToOne(Loads(7, sizes)).Quantile(0.05, df), 0.0055, "p %d df %v", i+1, df)
		}
	}
	// The recovery data of Bretz, Hothorn and Westfall: quantile 2.488 for
	// sizes 20 against 3, 3, 15 and 37 degrees of freedom.
	assert.InDelta(t, 2.488, NewManyToOne(Loads(20, []float64{3, 3, 15})).Quantile(0.05, 37), 6e-4)
}

// TestStudentTable: printed one-sided quantiles of t, .90 .95 .975 .99 .995.
func TestStudentTable(t *testing.T) {
	for df, want := range map[float64][]float64{
		2: {1.8856, 2.9200, 4.3027, 6.9646, 9.9248}, 3: {1.6377, 2.3534, 3.1824, 4.5407, 5.8409}, 4: {1.5332, 2.1318, 2.7764, 3.7469, 4.6041},
		5: {1.4759, 2.0150, 2.5706, 3.3649, 4.0321}, 8: {1.3968, 1.8595, 2.3060, 2.8965, 3.3554}, 14: {1.3450, 1.7613, 2.1448, 2.6245, 2.9768},
	} {
		for i, tail := range []float64{0.1, 0.05, 0.025, 0.01, 0.005} {
			assert.InDelta(t, want[i], TQuantile(tail, df), 6e-5)
			assert.InDelta(t, -want[i], TQuantile(1-tail, df), 6e-5)
		}
	}
}

// TestQuantilesInvert: each quantile goes back to its probability.
func TestQuantilesInvert(t *testing.T) {
	for _, df := range []float64{1, 2, 3.7, 20, 500, 1e4, math.Inf(1)} {
		for _, p := range []float64{1e-8, 0.001, 0.05, 0.3, 0.5, 0.9, 0.9999} {
			assert.InEpsilon(t, p, TSurvival(TQuantile(p, df), df), 1e-12, "t %v %v", p, df)
			for _, k := range []int{2, 3, 12, 50} {
				d := NewRange(k)
				assert.InEpsilon(t, p, d.Survival(d.Quantile(p, df), df), 1e-9, "range %v %d %v", p, k, df)
			}
			d := NewManyToOne(Loads(5, []float64{3, 8, 5}))
			assert.InEpsilon(t, p, d.Survival(d.Quantile(p, df), df), 1e-9, "dunnett %v %v", p, df)
			for _, delta := range []float64{-3, 0, 0.5, 7, 40} {
				assert.InEpsilon(t, p, NoncentralTCDF(NoncentralTQuantile(p, df, delta), df, delta), 1e-9, "noncentral %v %v %v", p, df, delta)
			}
		}
	}
}

// TestTwoIsStudent: with two groups the range is sqrt 2 |t| and Dunnett's is |t|.
func TestTwoIsStudent(t *testing.T) {
	for _, df := range []float64{1, 4, 33} {
		for _, x := range []float64{0.2, 2, 9} {
			assert.InDelta(t, 2*TSurvival(x, df), 1-NewRange(2).CDF(math.Sqrt2*x, df), 1e-12)
			assert.InDelta(t, 2*TSurvival(x, df), 1-NewManyToOne([]float64{0.4}).CDF(x, df), 1e-12)
		}
	}
}

// TestOutside: arguments outside the domain give NaN or a sure probability.
func TestOutside(t *testing.T) {
	nan := math.NaN()
	for _, v := range []float64{
		NewRange(1).Survival(1, 5), NewRange(3).Survival(nan, 5), NewRange(3).Quantile(0, 5), NewRange(3).Quantile(0.05, -1), NewManyToOne(nil).Survival(1, 5),
		NewManyToOne([]float64{1}).Quantile(0.05, 5), TQuantile(1, 3), TQuantile(0.1, 0), NoncentralTQuantile(0.5, 0, 1), FSurvival(1, 0, 3),
		ChiSquaredSurvival(nan, 2), NormalQuantile(2),
	} {
		assert.True(t, math.IsNaN(v))
	}
	assert.Equal(t, 1.0, NewRange(3).Survival(-1, 5))
	assert.Equal(t, 0.0, NewRange(3).CDF(0, 5))
	assert.Equal(t, 0.0, NewRange(3).Survival(math.Inf(1), 5))
	assert.Equal(t, 0.0, TQuantile(0.5, 3))
}

// TestJointKeeps: what a Joint keeps from one question changes no answer to
// another by more than the rule's own error, whatever the degrees of freedom.
func TestJointKeeps(t *testing.T) {
	for name, make := range map[string]func() *Joint{
		"range":   func() *Joint { return NewRange(30) },
		"dunnett": func() *Joint { return NewManyToOne(Loads(5, []float64{3, 8, 5, 5})) },
	} {
		kept := make()
		for _, df := range []float64{3, 5.5, 5.6, 120, 121} {
			for _, x := range []float64{0.7, 1.9, 4, 4.01, 12} {
				assert.InEpsilon(t, make().Survival(x, df), kept.Survival(x, df), 1e-13, "%s above %v %v", name, x, df)
				assert.InEpsilon(t, make().CDF(x, df), kept.CDF(x, df), 1e-13, "%s below %v %v", name, x, df)
			}
		}
	}
}
