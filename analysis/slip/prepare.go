package slip

import (
	"math"
	"slices"

	"griptrial/analysis/trial"
)

// signal is a record made ready to judge: upright, above rest, despiked.
type signal struct {
	t, y    []float64
	sigma   float64 // N, scatter of one reading
	step    float64 // N, division; 0: none seen
	dt      float64 // s, usual sample spacing
	rest    float64 // N, raw reading at rest
	restErr float64 // N, standard error of the rest at the slip
	sign    float64
	onset   int // first sample of the load
	peak    int // greatest sample
	spikes  int
	gaps    int
	sat     bool    // a flat top at the scale's end
	satAt   int     // its first sample
	drift   float64 // N/s
	noRest  bool
	batched bool
	short   bool
}

const minSamples = 8

func prepare(tr trial.Trace, o Options) *signal {
	s := &signal{sign: 1}
	s.t = make([]float64, 0, len(tr.T))
	s.y = make([]float64, 0, len(tr.T))
	for i, f := range tr.Force {
		if math.IsNaN(f) || math.IsInf(f, 0) {
			s.gaps++
			continue
		}
		s.t = append(s.t, tr.T[i])
		s.y = append(s.y, f)
	}
	if len(s.y) < minSamples {
		s.short = true
		return s
	}
	d := make([]float64, len(s.t)-1)
	for i := range d {
		d[i] = s.t[i+1] - s.t[i]
	}
	s.dt = median(d)
	mean := (s.t[len(s.t)-1] - s.t[0]) / float64(len(d))
	if s.dt < 0.3*mean {
		s.batched = s.spread(mean)
	}
	for i := range d {
		if s.t[i+1]-s.t[i] > 3.5*s.dt {
			s.gaps++
		}
	}
	s.step = division(s.y)
	if o.Division > 0 {
		s.step = o.Division
	}
	s.sigma = scatter(s.y)
	s.findSaturation(o)
	s.despike()
	s.setRest()
	return s
}

// spread evens out time stamps that came in bunches: within each bunch the
// samples are placed evenly up to the bunch's last stamp.
func (s *signal) spread(mean float64) bool {
	last, from := s.t[0], 0
	t := slices.Clone(s.t)
	bunches := 0
	for i := 1; i <= len(s.t); i++ {
		if i < len(s.t) && s.t[i]-s.t[i-1] < 0.3*mean {
			continue
		}
		end := s.t[i-1]
		if from > 0 {
			n := float64(i - from)
			for j := from; j < i; j++ {
				t[j] = last + (end-last)*float64(j-from+1)/n
			}
			bunches++
		}
		last, from = end, i
	}
	if bunches < 3 {
		return false
	}
	for i := 1; i < len(t); i++ {
		if !(t[i] > t[i-1]) {
			return false
		}
	}
	s.t = t
	s.dt = mean
	return true
}

// division finds the reading step: the least difference between neighbours
// when nearly all differences are whole multiples of it.
func division(y []float64) float64 {
	least, lo, hi := math.Inf(1), y[0], y[0]
	for i := 1; i < len(y); i++ {
		lo, hi = min(lo, y[i]), max(hi, y[i])
		if d := math.Abs(y[i] - y[i-1]); d > 0 && d < least {
			least = d
		}
	}
	if math.IsInf(least, 1) || least < 1e-4*(hi-lo) {
		return 0
	}
	fit, all := 0, 0
	for i := 1; i < len(y); i++ {
		d := math.Abs(y[i] - y[i-1])
		if d == 0 {
			continue
		}
		all++
		if k := d / least; math.Abs(k-math.Round(k)) < 0.01 {
			fit++
		}
	}
	if fit < all-all/50 {
		return 0
	}
	return least
}

// scatter estimates the noise of one reading from second differences, by the
// median so that events do not count: 1.4826·median|d2|/√6.
func scatter(y []float64) float64 {
	d := make([]float64, len(y)-2)
	for i := range d {
		d[i] = math.Abs(y[i] - 2*y[i+1] + y[i+2])
	}
	return 1.4826 * median(d) / math.Sqrt(6)
}

// findSaturation looks for a flat top of equal readings at an extreme of the
// record.
func (s *signal) findSaturation(o Options) {
	n := len(s.y)
	b := median(slices.Clone(s.y[:min(n, max(5, n/50))]))
	best, bestAt, bestLen := 0.0, 0, 0
	for i := 0; i < n; {
		j := i + 1
		for j < n && s.y[j] == s.y[i] {
			j++
		}
		if a := math.Abs(s.y[i] - b); j-i >= 5 && a > best {
			best, bestAt, bestLen = a, i, j-i
		}
		i = j
	}
	if bestLen == 0 {
		return
	}
	above := 0
	for _, v := range s.y {
		if math.Abs(v-b) > best*(1+1e-9) && (v-b)*(s.y[bestAt]-b) > 0 {
			above++
		}
	}
	noisy := s.sigma > 0 && s.step < 0.3*s.sigma || s.step == 0
	if above == 0 && noisy {
		s.sat, s.satAt = true, bestAt
	}
}

// despike replaces lone readings that come back at once by the line between
// their neighbours.
func (s *signal) despike() {
	y := s.y
	lo, hi := slices.Min(y), slices.Max(y)
	least := max(8*s.sigma, 3*s.step, 0.01*(hi-lo))
	for w := 1; w <= 2; w++ {
		for i := 1; i+w < len(y); i++ {
			a, b := y[i-1], y[i+w]
			up, down := math.Inf(1), math.Inf(1)
			for j := i; j < i+w; j++ {
				up = min(up, y[j]-max(a, b))
				down = min(down, min(a, b)-y[j])
			}
			dev := max(up, down)
			if dev < least || math.Abs(a-b) > 0.25*dev {
				continue
			}
			for j := i; j < i+w; j++ {
				y[j] = a + (b-a)*(s.t[j]-s.t[i-1])/(s.t[i+w]-s.t[i-1])
			}
			s.spikes++
		}
	}
}

// setRest finds sign, rest offset, drift and the start of the load.
func (s *signal) setRest() {
	y, n := s.y, len(s.y)
	b := median(slices.Clone(y[:min(n, max(5, n/50))]))
	lo, hi := slices.Min(y), slices.Max(y)
	if b-lo > hi-b {
		s.sign = -1
		for i := range y {
			y[i] = -y[i]
		}
		b, lo, hi = -b, -hi, -lo
	}
	amp := hi - b
	thr := max(0.04*amp, 5*s.sigma, 1.5*s.step)
	first := 0
	for first < n && y[first] < b+max(0.5*amp, thr) {
		first++
	}
	on := min(first, n-1)
	for on > 0 && y[on] > b+thr {
		on--
	}
	// the foot of the load lies before the threshold: keep clear of it
	foot := on - on/8
	if foot < 3 {
		s.noRest = true
		foot = min(n, 3)
	}
	b, s.drift = s.idleLine(0, foot)
	s.rest = s.sign * b
	for i := range y {
		y[i] -= b
	}
	s.sigma = max(s.sigma, spreadOf(y[:foot]), s.step/math.Sqrt(12))
	s.restErr = s.sigma / math.Sqrt(float64(foot))
	s.onset = on
	for i := range y {
		if y[i] > y[s.peak] {
			s.peak = i
		}
	}
	if y[s.peak] < max(8*s.sigma, 3*s.step) || n-on < 5 {
		s.short = true
	}
}

func (s *signal) idleLine(a, b int) (level, slope float64) {
	return median(slices.Clone(s.y[a:b])), 0
}

func spreadOf(y []float64) float64 {
	c := slices.Clone(y)
	m := median(c)
	for i, v := range y {
		c[i] = math.Abs(v - m)
	}
	return 1.4826 * median(c)
}
