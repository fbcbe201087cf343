package slip

// median returns the middle value and reorders x. Of an even number it is the
// mean of the two middle ones; of none it is 0. Linear on average (quickselect
// with the median of three).
func median(x []float64) float64 {
	n := len(x)
	if n == 0 {
		return 0
	}
	hi := pick(x, n/2)
	if n%2 == 1 {
		return hi
	}
	lo := x[0]
	for _, v := range x[:n/2] {
		lo = max(lo, v)
	}
	return lo + (hi-lo)/2
}

// pick partially sorts x so that x[k] is its k-th smallest value.
func pick(x []float64, k int) float64 {
	a, b := 0, len(x)-1
	for a < b {
		m := a + (b-a)/2
		if x[m] < x[a] {
			x[m], x[a] = x[a], x[m]
		}
		if x[b] < x[a] {
			x[b], x[a] = x[a], x[b]
		}
		if x[b] < x[m] {
			x[b], x[m] = x[m], x[b]
		}
		p, i, j := x[m], a, b
		for i <= j {
			for x[i] < p {
				i++
			}
			for x[j] > p {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			b = j
		case k >= i:
			a = i
		default:
			return x[k]
		}
	}
	return x[k]
}

// sampledMedian is the median of f(0)..f(n-1), taken over a regular part of
// them where they are many.
func sampledMedian(n int, f func(int) float64) float64 {
	if n <= 0 {
		return 0
	}
	stride := 1 + (n-1)/sampled
	x := make([]float64, 0, sampled) // of constant size, so that it costs no garbage
	for k := 0; k*stride < n; k++ {
		// scattered within each stride, so that no rhythm in the data is met
		if i := k*stride + (31*k*k+17*k)%stride; i < n {
			x = append(x, f(i))
		}
	}
	return median(x)
}
