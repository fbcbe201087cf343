package calibration

import "math"

// run is one series of loads, as deflections from its first zero.
type run struct {
	number int
	zero   float64   // counts of the unloaded cell before the first load
	known  bool      // zero was read
	loads  []load    // with force above zero
	after  []float64 // counts of the unloaded cell read later
}

type load struct {
	force, x  float64 // N; deflection in counts
	direction Direction
}

// splitRuns sorts the points by run, in the order in which the runs begin.
func splitRuns(points []Point) []run {
	var runs []run
	at := map[int]int{}
	for _, p := range points {
		i, ok := at[p.Run]
		if !ok {
			i = len(runs)
			at[p.Run] = i
			runs = append(runs, run{number: p.Run})
		}
		r := &runs[i]
		switch {
		case p.Force > 0:
			r.loads = append(r.loads, load{p.Force, p.Counts, p.Direction})
		case len(r.loads) == 0:
			r.zero, r.known = p.Counts, true
		default:
			r.after = append(r.after, p.Counts)
		}
	}
	for i := range runs {
		for j := range runs[i].loads {
			runs[i].loads[j].x -= runs[i].zero
		}
	}
	return runs
}

// same tells whether two loads are the same weight.
func same(a, b float64) bool { return math.Abs(a-b) <= 1e-3*max(a, b) }

// worst keeps the larger deviation in size.
func (d *Deviation) worst(percent, force float64, run int) {
	if !d.Known() || math.Abs(percent) > math.Abs(d.Percent) {
		*d = Deviation{percent, force, run}
	}
}

func unknown() Deviation { return Deviation{Percent: math.NaN()} }

// bend compares the parabola with the line.
func bend(line Line, x, y []float64) Deviation {
	d := unknown()
	curve, err := FitParabola(x, y)
	if err != nil || curve.DF < 1 {
		return d // fewer than three loads cannot bend, and three points always do
	}
	for _, f := range x {
		straight, _ := line.At(f)
		d.worst(100*(curve.At(f)-straight)/(line.Slope*line.MaxX), f, 0)
	}
	return d
}

// upward groups the deflections of loads reached upward, over runs with a zero.
func upward(runs []run) (forces []float64, deflections [][]float64) {
	for _, r := range runs {
		if !r.known {
			continue
		}
	next:
		for _, l := range r.loads {
			if l.direction != Up {
				continue
			}
			for i, f := range forces {
				if same(f, l.force) {
					deflections[i] = append(deflections[i], l.x)
					continue next
				}
			}
			forces = append(forces, l.force)
			deflections = append(deflections, []float64{l.x})
		}
	}
	return forces, deflections
}

func interpolation(runs []run) Deviation {
	d := unknown()
	forces, deflections := upward(runs)
	if len(forces) < 2 {
		return d
	}
	means := make([]float64, len(forces))
	for i, x := range deflections {
		means[i] = mean(x)
	}
	fit, err := FitProportion(forces, means)
	if err != nil || fit.Slope == 0 {
		return d
	}
	for i, f := range forces {
		d.worst(100*(means[i]/(fit.Slope*f)-1), f, 0)
	}
	return d
}

func accuracy(runs []run, span float64) Deviation {
	d := unknown()
	forces, deflections := upward(runs)
	for i, f := range forces {
		d.worst(100*(mean(deflections[i])/span/f-1), f, 0)
	}
	return d
}

func repeatability(runs []run) Deviation {
	d := unknown()
	forces, deflections := upward(runs)
	for i, x := range deflections {
		if m := mean(x); len(x) > 1 && m != 0 {
			low, high := x[0], x[0]
			for _, v := range x {
				low, high = min(low, v), max(high, v)
			}
			d.worst(100*math.Abs((high-low)/m), forces[i], 0)
		}
	}
	return d
}

func hysteresis(runs []run) Deviation {
	d := unknown()
	for _, r := range runs {
		if !r.known {
			continue
		}
		for _, down := range r.loads {
			for _, up := range r.loads {
				if down.direction == Down && up.direction == Up && same(up.force, down.force) && up.x != 0 {
					d.worst(100*math.Abs((down.x-up.x)/up.x), up.force, r.number)
				}
			}
		}
	}
	return d
}

func zeroReturn(runs []run) Deviation {
	d := unknown()
	for _, r := range runs {
		var top load
		for _, l := range r.loads {
			if l.force > top.force {
				top = l
			}
		}
		if !r.known || len(r.after) == 0 || top.x == 0 {
			continue
		}
		last := r.after[len(r.after)-1]
		d.worst(100*math.Abs((last-r.zero)/top.x), 0, r.number)
	}
	return d
}
