package slip

import "math"

// Meaning is what an event in the record was taken for.
type Meaning string

// What a drop or a knee can mean.
const (
	MeansSlip   Meaning = "slip"     // gross motion followed
	MeansSeat   Meaning = "seating"  // passed at once at the same stiffness
	MeansHand   Meaning = "hand"     // let down or eased by the operator
	MeansVanish Meaning = "vanished" // gone within a few samples, for good
	MeansFaint  Meaning = "faint"    // too small to be told from noise
)

// Event is one drop that was considered.
type Event struct {
	Time     float64 // s, at the top
	Force    float64 // N, at the top
	Drop     float64 // N
	Fall     float64 // s, from 10 % to 90 % of the drop
	Noise    float64 // N, scatter of one reading
	Before   float64 // N/s, loading slope up to the top
	After    float64 // N/s, slope of the reload; 0: none
	Regained float64 // N, greatest force later; as far as the next event
	Meaning  Meaning
}

// Evidence is what the verdict rests on.
type Evidence struct {
	Events  []Event
	Chosen  int     // index in Events; -1: none
	Rest    float64 // N, raw reading at rest
	Noise   float64 // N, scatter of one reading
	Step    float64 // N, division; 0: none
	Spacing float64 // s, usual sample spacing
	Reverse bool    // the pull makes the readings fall
}

// swing is a top with the bottom that follows it.
type swing struct{ top, bottom int }

// swings finds the turning points by a zig-zag with threshold h: one pass.
func (s *signal) swings(h float64) []swing {
	var out []swing
	y := s.y
	hi, lo, up := s.onset, s.onset, true
	for i := s.onset; i < len(y); i++ {
		if up {
			if y[i] > y[hi] {
				hi = i
			} else if y[i] < y[hi]-h {
				out = append(out, swing{hi, i})
				lo, up = i, false
			}
			continue
		}
		if y[i] < y[lo] {
			lo = i
			out[len(out)-1].bottom = i
		} else if y[i] > y[lo]+h {
			hi, up = i, true
		}
	}
	return out
}

// fall is the time from 10 % to 90 % of a drop.
func (s *signal) fall(w swing) float64 {
	top, d := s.y[w.top], s.y[w.top]-s.y[w.bottom]
	a, b := w.top, w.bottom
	for i := w.top; i <= w.bottom; i++ {
		if s.y[i] > top-0.1*d {
			a = i
		}
	}
	for i := a; i <= w.bottom; i++ {
		if s.y[i] < top-0.9*d {
			b = i
			break
		}
	}
	if b <= a {
		return s.dt
	}
	return s.t[b] - s.t[a]
}

// slope fits a line to the samples a..b by least squares.
func (s *signal) slope(a, b int) float64 {
	if b-a < 1 {
		return 0
	}
	var n, st, sy float64
	for i := a; i <= b; i++ {
		n++
		st += s.t[i]
		sy += s.y[i]
	}
	mt, my := st/n, sy/n
	var stt, sty float64
	for i := a; i <= b; i++ {
		stt += (s.t[i] - mt) * (s.t[i] - mt)
		sty += (s.t[i] - mt) * (s.y[i] - my)
	}
	if stt == 0 {
		return 0
	}
	return sty / stt
}

// loading is the slope of the rise up to sample top, over its upper part.
func (s *signal) loading(top int) float64 {
	from := top
	for from > s.onset && s.y[from] > 0.6*s.y[top] {
		from--
	}
	m := s.slope(from, top)
	if top-from < 3 {
		m = s.slope(max(s.onset, top-3), top)
	}
	return math.Max(m, 0)
}
