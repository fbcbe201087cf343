package slip

import "math"

// resumes tells whether the load later passes the top of a drop, and passes it
// about as steeply as it came: the hand had eased it.
func (b *bins) resumes(e *Event) bool {
	if b.ahead[e.bottom] < 1.08*e.Force+2*e.Ripple {
		return false
	}
	i := e.bottom
	for b.y[i] < e.Force && i < len(b.y)-1 {
		if i++; i-e.bottom > 5*reach {
			return false
		}
	}
	w := max(2, int(0.1/b.dt))
	from, to := max(e.bottom, i-w), min(len(b.y)-1, i+w)
	slope, _ := line(b.t, b.y, from, to)
	return slope > 0.5*e.Before
}

// comesBack tells whether a small drop is a swing of a load that stands: the
// force is back within half a second, about as quickly as it went, and does not
// go on from there. A part that sticks and slips goes quicker than it comes.
func (b *bins) comesBack(e *Event) bool {
	if e.Drop > max(0.025*e.Force, 6*e.Ripple) || e.Drop > 0.05*e.Force || e.Drop > 4.5*e.Ripple && e.Fall < handTime {
		return false
	}
	for i := e.bottom; i < len(b.y) && b.t[i]-b.t[e.bottom] < 0.5; i++ {
		if back := b.t[i] - b.t[e.bottom]; b.y[i] > e.Force-0.25*e.Drop ||
			b.y[i] > e.Force-0.45*e.Drop && back < 1.5*e.Fall+b.dt {
			return true
		}
	}
	return false
}

// swing is by how much a load that stands swung about its own course in the
// 0.8 s before bin top, from crest to trough.
func (b *bins) swing(top int) float64 {
	from := top
	for from > 0 && b.t[top]-b.t[from] < 0.8 && b.y[from-1] > 0.94*b.y[top] {
		from--
	}
	if top-from < 5 {
		return 0
	}
	slope, level := line(b.t, b.y, from, top-1)
	least, most := 0.0, 0.0
	for i := from; i < top; i++ {
		d := b.y[i] - level - slope*(b.t[i]-b.t[top-1])
		least, most = min(least, d), max(most, d)
	}
	return most - least
}

// goesOn is the rate in N/s at which the force goes on falling after a drop.
func (b *bins) goesOn(e *Event) float64 {
	to := e.bottom
	for to < len(b.y)-1 && (to-e.bottom < 3 || b.t[to]-b.t[e.bottom] < 0.08) {
		to++
	}
	if to == e.bottom {
		return 0
	}
	m, _ := line(b.t, b.y, e.bottom, to)
	return max(0, -m)
}

// climbs tells whether the force climbs on at about the loading slope, well
// past the top of a drop: to the top of the next drop, or within a good part of
// the force, over further drops.
func (b *bins) climbs(e *Event) bool {
	margin := max(0.3*e.Drop, 0.03*e.Force, 2*e.Ripple)
	trend := func(i int) bool {
		return (b.y[i]-e.Force)/(b.t[i]-b.t[e.top]) > 0.35*e.Before
	}
	hi := e.bottom
	for i := e.bottom; i <= e.next; i++ {
		if b.y[i] > b.y[hi] {
			hi = i
		}
	}
	if e.Drop > 0.28*e.Force || !b.reloads(e) || !b.regains(e) {
		return false
	}
	if b.y[hi] > e.Force+margin && trend(hi) {
		return true
	}
	far := e.Force + max(0.12*e.Force, e.Drop)
	for i := e.bottom; i < len(b.y) && b.ahead[i] >= far && i-e.bottom < reach; i++ {
		if b.y[i] >= far {
			if trend(i) {
				return true
			}
			far += 0.2 * e.Force
		}
	}
	return b.climbsOn(e)
}

// climbsOn tells whether, after a drop and at most three more, the load climbs
// in one go at the loading slope to well above them all: a tie that has settled.
func (b *bins) climbsOn(e *Event) bool {
	high, low, top, falls := e.Force, e.bottom, e.bottom, 0
	for i := e.bottom; i < len(b.y) && i-e.bottom < reach; i++ {
		switch {
		case b.y[i] < b.y[low]:
			low, top = i, i
		case b.y[i] > b.y[top]:
			top = i
		case b.y[top]-b.y[i] > 0.4*e.Drop:
			if falls++; falls > 3 {
				return false
			}
			high, low, top = max(high, b.y[top]), i, i
		}
		if b.y[i] > high+max(0.15*e.Force, 0.8*e.Drop) {
			return (b.y[i]-b.y[low])/(b.t[i]-b.t[low]) > 0.65*e.Before
		}
	}
	return false
}

// reloads tells whether the load comes back at once after a drop: half of the
// drop is regained in little more than the time that the loading slope needs
// for it, and the pauses that the load made before.
func (b *bins) reloads(e *Event) bool {
	if e.Before <= 0 {
		return false
	}
	limit := 0.8*e.Drop/e.Before + 0.06 + 1.2*b.slack(e.top, 0.45*e.Before) + 2*b.dt
	for i := e.bottom; i < len(b.y) && b.t[i]-b.t[e.bottom] <= limit; i++ {
		if b.y[i] >= b.y[e.bottom]+0.5*e.Drop {
			e.After = (b.y[i] - b.y[e.bottom]) / (b.t[i] - b.t[e.bottom])
			return true
		}
	}
	return false
}

// regains tells whether the load is back at the top of a drop in about the time
// that the loading slope needs for it, and for what it falls again on the way.
func (b *bins) regains(e *Event) bool {
	way := e.Drop
	for i := e.bottom + 1; i < len(b.y); i++ {
		if b.y[i] >= e.Force {
			return true
		}
		if fall := b.y[i-1] - b.y[i]; fall > e.Ripple/2 {
			way += fall
		}
		if b.t[i]-b.t[e.bottom] > 1.5*way/e.Before+0.1+1.2*b.slack(e.top, 0.45*e.Before)+3*b.dt {
			return false
		}
	}
	return false
}

// slower tells whether a drop out of a rise is the end of the steep loading: the
// load climbs on after it, for longer than the drop asks for, and never again at
// half of the loading slope. Neither a tie that settles nor a hand that eases
// leaves the link softer than it was; a part that slides on does.
func (b *bins) slower(e *Event) bool {
	if e.Drop > 0.4*e.Force || e.Fall > 0.5 || b.ahead[e.bottom] > 3*e.Force || !b.rising(e) {
		return false
	}
	end := e.bottom // of the climb
	for i := e.bottom; i < len(b.y) && i-e.bottom < 20*reach; i++ {
		if b.y[i] > b.y[end] {
			end = i
		}
	}
	gain, long := b.y[end]-b.y[e.bottom], b.t[end]-b.t[e.bottom]
	if long < max(0.6, 4*e.Drop/e.Before, 10*b.dt) || gain < 0.6*e.Drop+2*e.Ripple || gain < 0.05*e.Force {
		return false
	}
	return b.steepest(e.bottom, end, e.Ripple) < 0.5*e.Before
}

// rising tells whether the load rises up to the top of a drop, beyond what it
// was shortly before.
func (b *bins) rising(e *Event) bool {
	if e.Before <= 0 {
		return false
	}
	span := min(max(0.2, 3*e.Ripple/e.Before, 3*b.dt), 1)
	i := e.top
	for i > 0 && b.t[e.top]-b.t[i] < span {
		i--
	}
	earlier := b.y[i]
	for ; i > 0 && b.t[e.top]-b.t[i] < 2*span; i-- {
		earlier = max(earlier, b.y[i])
	}
	return b.y[e.top]-earlier > max(roseAt*e.Before*span, 0.8*e.Ripple)
}

// pulled tells whether the load rises in the last readings up to the top of a
// drop: no hand turns round as quickly.
func (b *bins) pulled(e *Event) bool {
	i := e.top
	for i > 0 && b.t[e.top]-b.t[i] < max(0.08, 1.2*b.dt) {
		i--
	}
	return b.y[e.top]-b.y[i] > 0.25*e.Before*(b.t[e.top]-b.t[i])
}

// settles tells whether a slower drop comes out of a rise and ends on a level
// that stays and is not passed again: the part slides on.
func (b *bins) settles(e *Event, step float64) bool {
	if e.Fall > 0.3+1.5*b.dt || e.Drop > 0.12*e.Force || b.ahead[e.bottom] > e.Force+0.3*e.Drop || b.comesBack(e) {
		return false
	}
	if !b.rising(e) {
		return false
	}
	after := *e
	return b.level(&after, max(1.3*e.Fall, 0.2, 3*b.dt), max(1.3*e.Fall+0.35, 0.6, 7*b.dt), step) > 1.3
}

// flatTop looks for a faint drop at the peak that a flat level follows: what
// falls at once is much more than what sags later. strength is the drop in
// units of its own uncertainty; 0 where the shape is another; negative where
// the level is more ragged than the load was.
func (b *bins) flatTop(peak int, ripple, step float64) (e Event, strength float64) {
	e = Event{top: peak, Time: b.t[peak], Force: b.y[peak], Ripple: ripple, Before: b.loading(peak), Meaning: MeansSlip}
	if !b.rising(&e) {
		return e, 0
	}
	for _, w := range []float64{0.35, 0.2} {
		if strength = b.level(&e, max(w, 3*b.dt), max(2.6*w, 9*b.dt), step); strength > 0 {
			break
		}
	}
	soon := peak
	for soon < len(b.y)-1 && b.t[soon]-b.t[peak] < handTime+2.5*b.dt {
		soon++
	}
	again := 0.0 // greatest force later
	for i := soon; i < len(b.y) && b.t[i]-b.t[peak] < 1; i++ {
		again = max(again, b.y[i])
	}
	if b.y[peak]-b.y[soon] < 0.5*e.Drop || b.y[peak]-again < 0.3*e.Drop { // a hand could have eased it, or trembled
		strength = min(strength, handSlow)
	}
	return e, strength
}

// handSlow is the most that the strength of a flat top counts where the drop
// is no quicker than a hand.
const handSlow = 2.4

// plateau is where the load stands near its peak: bins from..to, the rise at the
// loading slope left out. It starts 4 % below the peak, and ends where the force
// has left the upper tenth for good.
func (b *bins) plateau(peak int, before float64) (from, to int) {
	top := b.y[peak]
	from, to = peak, peak
	for from > 0 && b.y[from-1] > 0.96*top {
		from--
	}
	if before > 0 {
		for start := b.t[from]; from < peak && b.t[from]-start < 0.04*top/before; {
			from++
		}
	}
	for to < len(b.y)-1 && b.y[to+1] > 0.9*top {
		to++
	}
	return from, to
}

// rose tells whether the load went on to rise where it stood, by more than it
// swung: a hand that stops has stopped after a sixth of a second, and gives way a
// little from then on.
func (b *bins) rose(from, to int, ripple float64) bool {
	for start := b.t[from]; from < to && b.t[from]-start < 0.15; {
		from++
	}
	for to > from && b.y[to] < 0.98*b.y[from] {
		to--
	}
	if to-from < 6 || b.t[to]-b.t[from] < 0.2 {
		return false
	}
	slope, _ := line(b.t, b.y, from, to)
	return slope*(b.t[to]-b.t[from]) > max(0.008*b.y[to], 2*ripple)
}

// level compares the top of an event with the level from a to z seconds after
// it.
func (b *bins) level(e *Event, a, z, step float64) float64 {
	after := func(d float64) int {
		i := e.top
		for i < len(b.y)-1 && b.t[i]-b.t[e.top] < d {
			i++
		}
		return i
	}
	i, j := after(a), after(z)
	if j-i < 4 || b.t[j]-b.t[e.top] < 0.9*z {
		return 0
	}
	slope, level := line(b.t, b.y, i, j)
	mid := level - slope*(b.t[j]-b.t[i])/2
	top, n := b.y[e.top], 1.0
	for _, k := range []int{e.top - 1, e.top + 1} {
		if k >= 0 && k < len(b.y) && b.y[k] > mid {
			top, n = top+b.y[k], n+1
		}
	}
	e.Drop, e.bottom = max(0, top/n-mid), i
	e.Fall = b.t[i] - b.t[e.top]
	swing := 0.0
	for k := i; k <= j; k++ {
		swing = max(swing, math.Abs(b.y[k]-level-slope*(b.t[k]-b.t[j])))
	}
	if swing > max(3*e.Ripple, 0.6*e.Drop, 0.8*step) {
		if swing > max(4*e.Ripple, 0.004*e.Force, 1.5*step) && swing < 0.05*e.Force {
			return -1
		}
		return 0
	}
	if e.Drop < 2*math.Abs(slope)*(b.t[(i+j)/2]-b.t[e.top]) || e.Drop > 0.12*e.Force || e.Drop < max(0.002*e.Force, 0.5*step) {
		return 0
	}
	return e.Drop / math.Sqrt(swing*swing/2+e.Ripple*e.Ripple/4+b.noise*b.noise*(1/n+1/float64(j-i))+step*step/12)
}
