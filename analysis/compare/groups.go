package compare

import (
	"cmp"
	"math"
	"slices"

	"griptrial/analysis/dist"
)

// F is an F statistic; NaN throughout where it cannot be had.
type F struct{ Statistic, DF1, DF2, P float64 }

// noF is the F statistic that could not be had.
func noF() F { return F{math.NaN(), math.NaN(), math.NaN(), math.NaN()} }

func newF(statistic, df1, df2 float64) F {
	return F{statistic, df1, df2, dist.FSurvival(statistic, df1, df2)}
}

// Welch tests that the means of k groups are equal without supposing equal
// spread.
//
//	w = n/s², m' = sum(w m)/sum(w), h = sum (1 - w/sum w)²/(n - 1)
//	F = [sum w (m - m')²/(k - 1)] / [1 + 2 (k - 2) h/(k² - 1)]
//	df1 = k - 1, df2 = (k² - 1)/(3 h)
//
// Source: B. L. Welch, Biometrika 38 (1951) 330, as in R's oneway.test. NaN
// where fewer than two groups, a group of one, or a group without spread.
func Welch(groups [][]float64) F {
	k := float64(len(groups))
	if k < 2 {
		return noF()
	}
	var sum, centre float64
	w, m := make([]float64, len(groups)), make([]float64, len(groups))
	for i, g := range groups {
		if len(g) < 2 {
			return noF()
		}
		mean, v := MeanVariance(g)
		if !(v > 0) {
			return noF()
		}
		w[i], m[i] = float64(len(g))/v, mean
		sum += w[i]
		centre += w[i] * (mean - m[0])
	}
	centre = m[0] + centre/sum
	var between, h float64
	for i, g := range groups {
		between += w[i] * (m[i] - centre) * (m[i] - centre)
		h += (1 - w[i]/sum) * (1 - w[i]/sum) / float64(len(g)-1)
	}
	return newF(between/(k-1)/(1+2*(k-2)*h/(k*k-1)), k-1, (k*k-1)/(3*h))
}

// BrownForsythe tests that k groups have equal spread: one-way analysis of
// variance of the distances from each group's median (M. B. Brown and A. B.
// Forsythe, JASA 69 (1974) 364). NaN where there are fewer than two groups, no
// degrees of freedom, or no spread of the distances but rounding: two values lie
// equally far from their median.
func BrownForsythe(groups [][]float64) F {
	distances := make([][]float64, len(groups))
	most, spread := 0.0, 0.0
	for i, g := range groups {
		if len(g) == 0 {
			return noF()
		}
		m := median(g)
		for _, v := range g {
			d := math.Abs(v - m)
			distances[i] = append(distances[i], d)
			most, spread = math.Max(most, math.Abs(v)), math.Max(spread, math.Abs(d-distances[i][0]))
		}
	}
	if spread <= 1e-14*most {
		return noF()
	}
	return oneWay(distances)
}

// oneWay is the classical one-way analysis of variance.
func oneWay(groups [][]float64) F {
	k, n := float64(len(groups)), 0.0
	origin := groups[0][0]
	var total float64
	for _, g := range groups {
		n += float64(len(g))
		for _, v := range g {
			total += v - origin
		}
	}
	if k < 2 || n <= k {
		return noF()
	}
	var between, within float64
	for _, g := range groups {
		sum := 0.0
		for _, v := range g {
			sum += v - origin
		}
		m := sum / float64(len(g))
		between += float64(len(g)) * (m - total/n) * (m - total/n)
		for _, v := range g {
			within += (v - origin - m) * (v - origin - m)
		}
	}
	if !(within > 0) {
		return noF()
	}
	return newF(between/(k-1)/(within/(n-k)), k-1, n-k)
}

// median of at least one value.
func median(x []float64) float64 {
	s := append([]float64(nil), x...)
	slices.Sort(s)
	h := len(s) / 2
	if len(s)%2 == 1 {
		return s[h]
	}
	return s[h-1] + (s[h]-s[h-1])/2
}

// Chi is a chi-squared statistic; NaN throughout where it cannot be had.
type Chi struct{ Statistic, DF, P float64 }

// KruskalWallis tests that k groups have one distribution, by ranks with
// middle ranks for ties and the correction for them.
//
//	H = [12/(N(N+1)) sum R²/n - 3(N+1)] / [1 - sum(t³ - t)/(N³ - N)],  chi² with k - 1 df
//
// Source: W. H. Kruskal and W. A. Wallis, JASA 47 (1952) 583, as in R's
// kruskal.test. NaN where there are fewer than two groups, an empty group, or
// all values are equal.
func KruskalWallis(groups [][]float64) Chi {
	type one struct {
		v float64
		g int
	}
	var all []one
	none := Chi{math.NaN(), math.NaN(), math.NaN()}
	for i, g := range groups {
		if len(g) == 0 {
			return none
		}
		for _, v := range g {
			all = append(all, one{v, i})
		}
	}
	slices.SortFunc(all, func(a, b one) int { return cmp.Compare(a.v, b.v) })
	sums := make([]float64, len(groups))
	ties := 0.0
	for first := 0; first < len(all); {
		next := first + 1
		for next < len(all) && all[next].v == all[first].v {
			next++
		}
		for _, o := range all[first:next] {
			sums[o.g] += float64(first+1+next) / 2 // the middle of ranks first+1 .. next
		}
		t := float64(next - first)
		ties += t*t*t - t
		first = next
	}
	n, k := float64(len(all)), float64(len(groups))
	if k < 2 || ties == n*n*n-n {
		return none
	}
	h := 0.0
	for i, g := range groups {
		h += sums[i] * sums[i] / float64(len(g))
	}
	h = (12/(n*(n+1))*h - 3*(n+1)) / (1 - ties/(n*n*n-n))
	return Chi{h, k - 1, dist.ChiSquaredSurvival(h, k-1)}
}
