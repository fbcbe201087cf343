package bench

import (
	"math"

	"griptrial/acquire/loadcell"
	"griptrial/acquire/wire"
)

const (
	restFor  = 1_000_000 // us at rest over which the tare is taken
	keepFor  = 2_000_000 // us before the load that become part of a record
	keepMost = 8192      // samples, whatever the rate
	fewest   = 8         // samples that a tare needs
)

// recent keeps the latest samples of one segment.
type recent struct {
	samples []wire.Sample
}

func (r *recent) add(s wire.Sample) {
	if n := len(r.samples); n > 0 && r.samples[n-1].Segment != s.Segment {
		r.samples = r.samples[:0]
	}
	r.samples = append(r.samples, s)
	old := 0
	for s.T-r.samples[old].T > keepFor || len(r.samples)-old > keepMost {
		old++
	}
	if old > len(r.samples)/2 {
		r.samples = append(r.samples[:0], r.samples[old:]...)
	}
}

// since returns the samples of the latest d microseconds.
func (r *recent) since(d int64) []wire.Sample {
	n := len(r.samples)
	if n == 0 {
		return nil
	}
	from := n
	for from > 0 && r.samples[n-1].T-r.samples[from-1].T <= d {
		from--
	}
	return r.samples[from:]
}

// tare is the mean of the latest second, with the noise of one count, if the
// cell was at rest in it, as loadcell.Still tells. floor is the change in counts
// that does not matter in any case.
func (r *recent) tare(floor float64) (counts, noise float64, ok bool) {
	window := r.since(restFor)
	n := len(window)
	if n < fewest || window[n-1].T-window[0].T < restFor*9/10 {
		return 0, 0, false
	}
	all := make([]int32, n)
	for i, s := range window {
		if s.Saturated {
			return 0, 0, false
		}
		all[i] = s.Counts
	}
	noise, still := loadcell.Still(all, floor)
	if !still {
		return 0, 0, false
	}
	counts, _, err := loadcell.Tare(all)
	return counts, noise, err == nil
}

// starter sees the beginning of a load: three samples in a row on one side of
// the tare and well out of the noise at rest. What came before it stays as it
// is, so that a load that creeps up is not taken for a moving zero.
type starter struct {
	least float64 // N that is a load
	side  float64 // of the samples in a row: 1 or -1
	row   int     // how many there were
}

const inRow = 3

// newStarter waits for a load on a cell whose noise is given, in N.
func newStarter(noise, full float64) *starter {
	return &starter{least: max(12*noise, 0.002*full)}
}

func (w *starter) push(force float64) (begun bool) {
	side := math.Copysign(1, force)
	if math.Abs(force) < w.least {
		w.row = 0
		return false
	}
	if side != w.side {
		w.side, w.row = side, 0
	}
	w.row++
	return w.row >= inRow
}
