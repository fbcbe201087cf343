package slip

// Meaning is what an event in the record was taken for.
type Meaning string

// What a drop or a bend can mean.
const (
	MeansSlip   Meaning = "slip"     // gross motion followed
	MeansSeat   Meaning = "seating"  // passed at once at the same stiffness
	MeansHand   Meaning = "hand"     // let down or eased by the operator
	MeansVanish Meaning = "vanished" // gone within a few samples, for good
	MeansFaint  Meaning = "faint"    // not more than the load's own ripple
	MeansSlide  Meaning = "slide"    // as slow as a hand, to a level that stays: eased or slid
	MeansAfter  Meaning = "after"    // past the slip or the scale's end
	MeansCreep  Meaning = "creep"    // the slope fell for good
)

// Event is one drop, or one bend of the rise, that was considered.
type Event struct {
	Time    float64 // s, at the top
	Force   float64 // N, at the top
	Drop    float64 // N; 0 at a bend
	Fall    float64 // s that the drop took
	Ripple  float64 // N, usual swing of the load as it rises
	Before  float64 // N/s, loading slope up to the top
	After   float64 // N/s, slope of the reload; at a bend the slope beyond it
	Later   float64 // N, greatest force between this drop and the next
	Meaning Meaning

	top, bottom, next int // bins
	gone              bool
}

// Evidence is what the verdict rests on.
type Evidence struct {
	Events   []Event
	Chosen   int     // index in Events; -1: none
	Rest     float64 // N, raw reading at rest
	Noise    float64 // N, scatter of one reading
	Step     float64 // N, division; 0: none
	Spacing  float64 // s, usual sample spacing
	Reverse  bool    // the pull makes the readings fall
	approach approach
}

// arrest is how long a fall must pause to count as ended.
const arrest = 0.16 // s

// drops finds the falls of more than h: a zig-zag whose falls also end where
// they pause. One pass.
func (b *bins) drops(h float64) []Event {
	var out []Event
	hi, lo, rising := 0, 0, true
	steep := 0.0 // greatest rate of the present fall
	wait := max(arrest, 2.5*b.dt)
	for i := range b.y {
		v := b.y[i]
		if rising {
			if v > b.y[hi] {
				hi = i
			} else if v < b.y[hi]-h {
				out = append(out, Event{top: hi, bottom: i})
				lo, rising = i, false
				steep = 0
				for j := hi + 1; j <= i; j++ {
					steep = max(steep, (b.y[j-1]-b.y[j])/(b.t[j]-b.t[j-1]))
				}
			}
			continue
		}
		e := &out[len(out)-1]
		rate := (b.y[i-2] - v) / (b.t[i] - b.t[i-2])
		steep = max(steep, rate)
		if v < b.y[lo] && rate < 0.2*steep {
			hi, rising = i, true // it breaks off
			continue
		}
		if v < b.y[lo] {
			// a new low that matters keeps the fall alive
			if b.y[lo]-v > 0.3*h || b.t[i]-b.t[lo] < b.dt*1.5 {
				lo = i
			}
			e.bottom = i
			continue
		}
		if v > b.y[lo]+h || b.t[i]-b.t[lo] > wait {
			hi, rising = i, true
		}
	}
	return out
}

// startFall puts the top of a drop to nothing to where the load last stood, when
// it stood for a while after its greatest: what sagged before is no part of it.
func (b *bins) startFall(e *Event) {
	top := b.y[e.top]
	if b.y[e.bottom] > 0.1*top {
		return
	}
	i := e.bottom
	for i > e.top && b.y[i] < 0.88*top {
		i--
	}
	if b.t[i]-b.t[e.top] > 0.15+2*b.dt {
		e.top = i
	}
}

// fall is how long a drop takes. One well out of the noise is timed on the
// readings, by 8/5 of the time from 10 % to 60 % of it: as from 10 % to 90 % of
// an even fall, but blind to a slow tail. A small one is timed on the bins, from
// 10 % to 90 %. Between readings the straight line holds.
func (s *signal) fall(b *bins, e *Event) float64 {
	t, y, from, to, end := b.t, b.y, e.top, e.bottom, 0.9
	if s.timed(e) {
		t, y, end = s.t, s.y, 0.6
		from, to = int(b.first[max(0, e.top-1)]), int(b.first[e.bottom+1])-1
	}
	top := b.y[e.top]
	start := from
	for i := from; i <= to; i++ {
		if y[i] >= top-0.1*e.Drop {
			start = i
		}
	}
	cross := func(level float64) float64 {
		for i := start; i < to; i++ {
			if y[i+1] < level {
				return t[i] + (t[i+1]-t[i])*clamp((y[i]-level)/(y[i]-y[i+1]), 0, 1)
			}
		}
		return t[to]
	}
	return max((cross(top-end*e.Drop)-cross(top-0.1*e.Drop))*0.8/(end-0.1), 0.3*s.dt)
}

// timed tells whether a drop stands out enough to be timed on the readings.
func (s *signal) timed(e *Event) bool { return e.Drop > max(12*s.sigma+3*s.step, 2.4*e.Ripple) }

func clamp(x, lo, hi float64) float64 { return min(max(x, lo), hi) }

// reach is the most bins that a question about one event looks at.
const reach = 400

// loading is the slope of the rise up to bin top: the upper third of the
// slopes over tenths of a second and more, from where the force last stood at
// half that of the top. Pauses and falls so leave it alone.
func (b *bins) loading(top int) float64 {
	from := top
	for from > 0 && top-from < reach && b.y[from] > 0.5*b.y[top] {
		from--
	}
	w := max(2, int(0.12/b.dt), (top-from)/24)
	var m []float64
	for i := top; i-w >= from; i -= w {
		m = append(m, (b.y[i]-b.y[i-w])/(b.t[i]-b.t[i-w]))
	}
	if len(m) < 2 {
		slope, _ := line(b.t, b.y, max(0, min(from, top-3)), top)
		return max(0, slope)
	}
	mean := (b.y[top] - b.y[from]) / (b.t[top] - b.t[from])
	return max(mean, pick(m, len(m)*2/3))
}
