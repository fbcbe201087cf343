package slip

// drop is a fall of the force from a top, as both the stream and the final
// judgement see it.
type drop struct {
	size    float64 // N
	from    float64 // N above rest, the top
	fall    float64 // s that it took
	before  float64 // N/s, loading slope up to the top
	noise   float64 // N, scatter of one reading
	step    float64 // N, division
	spacing float64 // s between samples
}

// floor is the least drop that stands out of noise and division.
func (d drop) floor() float64 {
	return max(5*d.noise, 1.2*d.step, 0.004*d.from)
}

// sudden tells whether the drop stands out and is too quick for a hand that
// eases the pull: faster than the load rose, within a few samples or a tenth of
// a second.
func (d drop) sudden() bool {
	if d.size <= d.floor() {
		return false
	}
	rate := d.size / max(d.fall, d.spacing)
	quick := d.fall <= max(4.2*d.spacing, 0.12)
	return quick && rate > 1.5*d.before || rate > 6*d.before && d.size > 0.05*d.from
}
