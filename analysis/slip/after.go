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
// force is back at the top within half a second, and does not go on from there.
func (b *bins) comesBack(e *Event) bool {
	if e.Drop > max(0.025*e.Force, 6*e.Ripple) || e.Drop > 0.05*e.Force {
		return false
	}
	for i := e.bottom; i < len(b.y) && b.t[i]-b.t[e.bottom] < 0.5; i++ {
		if b.y[i] > e.Force-0.25*e.Drop {
			return true
		}
	}
	return false
}

// steps tells whether a drop out of a load that stands is one that no
// trembling hand makes: out of the ripple, and large or very quick.
func (b *bins) steps(e *Event) bool {
	if e.Drop < 0.01*e.Force || e.Drop < 3*e.Ripple {
		return false
	}
	return e.Drop > max(0.025*e.Force, 4.5*e.Ripple) || e.Fall < 0.04+0.3*b.dt
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
	if e.Drop > 0.28*e.Force || !b.reloads(e) {
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
	return false
}

// reloads tells whether the load comes back at once after a drop: half of the
// drop is regained in little more than the time that the loading slope needs
// for it, and the pauses that the load made before.
func (b *bins) reloads(e *Event) bool {
	if e.Before <= 0 {
		return false
	}
	limit := 1.1*e.Drop/e.Before + 0.06 + 1.2*b.slack(e.top, 0.45*e.Before) + 2*b.dt
	for i := e.bottom; i < len(b.y) && b.t[i]-b.t[e.bottom] <= limit; i++ {
		if b.y[i] >= b.y[e.bottom]+0.5*e.Drop {
			e.After = (b.y[i] - b.y[e.bottom]) / (b.t[i] - b.t[e.bottom])
			return true
		}
	}
	return false
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
	return b.y[e.top]-earlier > max(0.3*e.Before*span, 0.8*e.Ripple)
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
	return e, strength
}

// stood is the time in s for which the force stayed within 4 % of its peak.
func (b *bins) stood(peak int) float64 {
	i, j := peak, peak
	for i > 0 && b.y[i-1] > 0.96*b.y[peak] {
		i--
	}
	for j < len(b.y)-1 && b.y[j+1] > 0.96*b.y[peak] {
		j++
	}
	return b.t[j] - b.t[i]
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
