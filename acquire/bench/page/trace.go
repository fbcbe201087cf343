package page

import (
	"math"
	"net/http"
	"strconv"

	"griptrial/acquire/bench"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

const (
	bucketLength = 0.01 // s
	mostPoints   = 4000 // of an answer to /trace
)

// strip is the trace of the record under way as the page draws it: the least
// and the greatest force of each hundredth of a second, in the display unit.
type strip struct {
	record  int
	samples int // taken so far
	buckets [][3]float64
}

// add takes the next sample.
func (s *strip) add(record int, t, force float64) {
	if record != s.record {
		s.record, s.samples, s.buckets = record, 0, nil
	}
	s.samples++
	if n := len(s.buckets); n > 0 && math.Floor(s.buckets[n-1][0]/bucketLength) == math.Floor(t/bucketLength) {
		b := &s.buckets[n-1]
		b[1], b[2] = min(b[1], force), max(b[2], force)
		return
	}
	s.buckets = append(s.buckets, [3]float64{t, force, force})
}

// cursor is how much of the trace a page has been sent.
type cursor struct {
	record  int
	samples int
	buckets int
}

// since gives what is new for a page, and where it stands: the bucket sent last
// may have grown and comes again.
func (s *strip) since(c *cursor) (from int, buckets [][3]float64) {
	switch {
	case c.record != s.record:
		from = 0
	case c.samples == s.samples:
		from = len(s.buckets)
	default:
		from = max(0, c.buckets-1)
	}
	*c = cursor{s.record, s.samples, len(s.buckets)}
	buckets = make([][3]float64, len(s.buckets)-from)
	copy(buckets, s.buckets[from:])
	return from, buckets
}

// record answers GET /trace.
func (s *Server) record(w http.ResponseWriter, r *http.Request) {
	s.hub.mu.Lock()
	p, number, u := s.hub.view.Proposal, s.hub.strip.record, s.hub.view.Unit
	step := s.hub.view.Step
	s.hub.mu.Unlock()
	if p == nil || len(p.Trace.T) == 0 {
		refuse(w, http.StatusConflict, "no record is being judged now", step)
		return
	}
	from, to := p.Trace.T[0]-p.Began, p.Trace.T[len(p.Trace.T)-1]-p.Began
	for name, at := range map[string]*float64{"from": &from, "to": &to} {
		text := r.URL.Query().Get(name)
		if text == "" {
			continue
		}
		v, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsNaN(v) || math.Abs(v) > 1e6 {
			refuse(w, http.StatusBadRequest, name+" is a number of seconds, as 1.25", step)
			return
		}
		*at = v
	}
	if from > to {
		refuse(w, http.StatusBadRequest, "from lies after to", step)
		return
	}
	answer(w, window(p, number, from, to, u))
}

// window is the part of a record between two times, thinned where it is long.
func window(p *bench.Proposal, number int, from, to float64, u unit.Unit) Record {
	out := Record{Pull: number, From: from, To: to, T: []float64{}, Force: []float64{}}
	tr := p.Trace
	var in []int
	for i, t := range tr.T {
		if t -= p.Began; t >= from && t <= to {
			in = append(in, i)
		}
	}
	out.Samples = len(in)
	out.Whole = len(in) <= mostPoints
	put := func(i int) {
		out.T = append(out.T, round(tr.T[i]-p.Began, 6))
		out.Force = append(out.Force, shown(p.Above(tr.Force[i]), u))
	}
	if out.Whole {
		for _, i := range in {
			put(i)
		}
		return out
	}
	for k := range mostPoints / 2 {
		first, second := extremes(tr, in[k*len(in)/(mostPoints/2):(k+1)*len(in)/(mostPoints/2)])
		put(first)
		if second != first {
			put(second)
		}
	}
	return out
}

// extremes are the samples of the least and the greatest force, the earlier
// one first.
func extremes(tr trial.Trace, in []int) (first, second int) {
	least, greatest := in[0], in[0]
	for _, i := range in {
		if tr.Force[i] < tr.Force[least] {
			least = i
		}
		if tr.Force[i] > tr.Force[greatest] {
			greatest = i
		}
	}
	return min(least, greatest), max(least, greatest)
}

// shown is a force in the display unit, with no more digits than a screen or a
// person can use.
func shown(si float64, u unit.Unit) float64 { return round(u.FromSI(si), 6) }

func round(v float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	return math.Round(v*scale) / scale
}
