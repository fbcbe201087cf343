package slip

import (
	"math"
	"slices"
)

// binWidth is the time over which readings are averaged before the shape of
// the pull is judged: no hand is quicker, and a cycle of 50 Hz hum averages
// out. Slower records are judged reading by reading.
const binWidth = 0.020 // s

// bins is the record from onset to end in steps of binWidth.
type bins struct {
	t, y  []float64
	first []int32   // first sample of each bin
	noise float64   // N, scatter of a bin's mean
	dt    float64   // s, usual spacing
	ahead []float64 // N, greatest force from a bin on
}

// look fills ahead.
func (b *bins) look() {
	b.ahead = b.ahead[:len(b.y)]
	top := math.Inf(-1)
	for i := len(b.y) - 1; i >= 0; i-- {
		top = max(top, b.y[i])
		b.ahead[i] = top
	}
}

func (s *signal) bin() bins {
	n := len(s.y)
	per := max(1, binWidth/s.dt)
	m, most := s.room, int(float64(n-s.onset)/per)+2
	b := bins{
		t: slices.Grow(m.bins[0][:0], most), y: slices.Grow(m.bins[1][:0], most),
		ahead: slices.Grow(m.bins[2][:0], most), first: slices.Grow(m.first[:0], most),
	}
	for i := s.onset; i < n; {
		end := s.t[i] + binWidth - s.dt/2
		st, sy, k := s.t[i], s.y[i], 1.0
		j := i + 1
		for j < n && s.t[j] < end {
			st += s.t[j]
			sy += s.y[j]
			k++
			j++
		}
		b.t = append(b.t, st/k)
		b.y = append(b.y, sy/k)
		b.first = append(b.first, int32(i))
		i = j
	}
	b.first = append(b.first, int32(n))
	b.ahead = slices.Grow(b.ahead, len(b.y))
	m.bins, m.first = [...][]float64{b.t, b.y, b.ahead}, b.first
	b.dt = max(s.dt, binWidth)
	b.noise = max(s.sigma/math.Sqrt(per), s.step/math.Sqrt(12*per))
	return b
}

// line fits y = level + slope·(t − t[b]) to the points a..b by least squares.
func line(t, y []float64, a, b int) (slope, level float64) {
	if b <= a {
		return 0, y[b]
	}
	n := float64(b - a + 1)
	var st, sy float64
	for i := a; i <= b; i++ {
		st += t[i] - t[b]
		sy += y[i]
	}
	mt, my := st/n, sy/n
	var stt, sty float64
	for i := a; i <= b; i++ {
		d := t[i] - t[b] - mt
		stt += d * d
		sty += d * (y[i] - my)
	}
	if stt == 0 {
		return 0, my
	}
	slope = sty / stt
	return slope, my - slope*mt
}

// ripple is the usual swing of the force about its own course while the load
// rises: noise, hum and the tremor of a hand together. It is taken from the
// departures of a bin from the parabola through the bins around it, 0.15 s on
// both sides (so that the slow swing of a crank does not count), between a third
// of the peak and the peak: their median, scaled to the standard deviation of
// noise (about the amplitude of a hum) and a little more.
func (b *bins) ripple(peak int) float64 {
	w := max(2, int(0.15/b.dt))
	from := peak
	for from > 0 && b.y[from] > 0.35*b.y[peak] {
		from--
	}
	if peak-from < 2*w+6 {
		return 1.6 * b.noise
	}
	// weights of the parabola's value in the middle (Savitzky and Golay 1964)
	n := float64(w)
	scale := 3 / ((2*n - 1) * (2*n + 1) * (2*n + 3))
	weight := make([]float64, w+1)
	for i := range weight {
		weight[i] = scale * (3*n*n + 3*n - 1 - 5*float64(i*i))
	}
	dev := make([]float64, 0, peak-from)
	for i := from + w; i+w < peak; i++ {
		fit := weight[0] * b.y[i]
		for k := 1; k <= w; k++ {
			fit += weight[k] * (b.y[i-k] + b.y[i+k])
		}
		dev = append(dev, math.Abs(b.y[i]-fit))
	}
	return max(1.25*b.noise, 1.6/math.Sqrt(1-weight[0])*pick(dev, len(dev)/2))
}

// firstTop is where the force first turns after a good rise: the top of the
// first fall of a twelfth of the peak from above a third of it; else the peak.
func (b *bins) firstTop(peak int) int {
	hi := 0
	for i := 0; i <= peak; i++ {
		if b.y[i] > b.y[hi] {
			hi = i
		}
		if b.y[hi] > b.y[peak]/3 && b.y[i] < b.y[hi]-b.y[peak]/12 {
			return hi
		}
	}
	return peak
}
