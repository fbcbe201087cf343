package wire

import (
	"math"
	"slices"
	"time"
)

const (
	maxStep   = 64      // a longer gap must be confirmed by the next line
	rateRun   = 8       // held lines at one interval that prove a change of rate
	youngStep = 3       // steps before the interval of a segment counts as known
	stuckRun  = 20      // equal values in a row
	recent    = 8       // accepted lines among which a duplicate is looked for
	window    = 31      // steps over which the interval is a running median
	minStep   = 20.     // us; shortest interval that a converter may have
	maxPeriod = 10e6    // us; longest
	bootTime  = 5e6     // us; longest from the start of the clock to the first conversion
	halfWrap  = 1 << 31 // us; half the range of the device's clock
	// longSilence is about half the range of the device's clock: after it the
	// number of wraps is anyone's guess.
	longSilence = 35 * time.Minute
)

// arrived is a line with the time of its arrival.
type arrived struct {
	line
	at time.Time
}

// tracker follows the two counters of the samples.
type tracker struct {
	emit func(Event)

	started  bool
	segments int
	last     arrived
	seq, t   int64 // of last, unwrapped
	recent   []line
	steps    []float64 // us for each conversion, the last ones of this segment
	next     int       // place in steps to overwrite
	sorted   []float64 // scratch for the median
	period   float64   // us; median of steps; 0: not known
	nominal  float64   // us, by the fact sps; 0: not stated

	held     []arrived
	heldStep float64 // us; interval of the held run when it differs from period

	boot              string // value of the fact
	bootSeen          bool
	bootHeard         bool // came since the last sample, whatever it said
	bootNew           bool // first seen since the last sample
	bootChanged       bool // changed since the last sample
	rejoined          bool // the line was lost and found again since the last sample
	equal             int  // values in a row equal to the last one
	lowRail, highRail int32
}

func newTracker(emit func(Event)) *tracker {
	return &tracker{emit: emit, lowRail: minCounts, highRail: maxCounts}
}

// sample takes the next line that passed grammar and checksum.
func (k *tracker) sample(l arrived) {
	if slices.Contains(k.recent, l.line) && !k.bootChanged && !k.rejoined {
		k.duplicate(l)
		return
	}
	switch {
	case !k.started:
		k.begin(l, WhyStart)
	case k.rejoined:
		k.begin(l, WhyRegain)
	case k.bootChanged:
		k.settle()
		k.begin(l, WhyReset)
	case len(k.held) > 0:
		k.againstHeld(l)
	default:
		k.againstLast(l)
	}
	k.bootHeard, k.bootNew, k.bootChanged, k.rejoined = false, false, false, false
}

// againstLast judges a line by the last accepted one.
func (k *tracker) againstLast(l arrived) {
	n, ok := k.step(k.last.line, l.line)
	switch {
	case l.seq == k.last.seq && l.t == k.last.t:
		k.reject(l, whyConflict)
	case ok && n <= maxStep:
		k.accept(l, n)
	case !ok && k.bootNew:
		k.begin(l, WhyReset)
	default:
		k.hold(l)
	}
}

// againstHeld judges a line while others wait for a decision.
func (k *tracker) againstHeld(l arrived) {
	if slices.ContainsFunc(k.held, func(h arrived) bool { return h.line == l.line }) {
		k.duplicate(l)
		return
	}
	if n, ok := k.step(k.last.line, l.line); ok && n <= maxStep {
		k.between(l)
		n, _ = k.step(k.last.line, l.line)
		k.accept(l, n)
		return
	}
	h := k.held[len(k.held)-1]
	if n, ok := k.step(h.line, l.line); ok && n <= maxStep && len(k.held) == 1 {
		k.held = append(k.held, l)
		k.settle()
		return
	}
	ds, dt := distance(h.line, l.line)
	interval := dt / float64(ds)
	plausible := ds >= 1 && ds <= maxStep && interval >= minStep && interval <= maxPeriod
	switch {
	case plausible && len(k.held) == 1:
		k.heldStep = interval
		k.held = append(k.held, l)
	case plausible && near(dt, float64(ds), k.heldStep):
		k.held = append(k.held, l)
		if len(k.held) == rateRun {
			k.settle()
		}
	case len(k.held) > 1:
		// The run is broken; its last line may begin another one.
		k.rejectHeld(len(k.held) - 1)
		k.againstHeld(l)
	default:
		k.rejectHeld(1)
		k.hold(l)
	}
}

// between decides about held lines when l continues the segment without them:
// a late clock reading lies between its neighbours in both counters and is kept.
func (k *tracker) between(l arrived) {
	for _, h := range k.held {
		ds, dt := distance(k.last.line, h.line)
		rs, rt := distance(h.line, l.line)
		ts, tt := distance(k.last.line, l.line)
		if ds > 0 && ds < ts && ds+rs == ts && dt > 0 && dt < tt && dt+rt == tt {
			k.accept(h, int64(ds))
		} else {
			k.reject(h, whySuspect)
		}
	}
	k.held = k.held[:0]
}

// settle accepts the held lines: as a confirmed gap in the segment if the first
// fits it, otherwise as a new segment.
func (k *tracker) settle() {
	if len(k.held) == 0 {
		return
	}
	held := slices.Clone(k.held)
	k.held = k.held[:0]
	first := held[0]
	silent := k.silentUntil(first)
	if k.period == 0 && len(held) > 1 {
		ds, dt := distance(first.line, held[1].line)
		k.period = dt / float64(ds)
	}
	if n, ok := k.step(k.last.line, first.line); ok && !silent {
		k.accept(first, n)
	} else {
		why := k.why(first, silent, len(held) == rateRun)
		if len(held) == rateRun {
			k.forget()
		}
		k.begin(first, why)
	}
	for _, l := range held[1:] {
		if n, ok := k.step(k.last.line, l.line); ok {
			k.accept(l, n)
		} else {
			k.begin(l, k.why(l, false, false))
		}
	}
}

// why names the reason of a break before l.
func (k *tracker) why(l arrived, silent, rate bool) string {
	ds, dt := distance(k.last.line, l.line)
	forward := ds >= 1 && ds <= maxStep && dt < halfWrap
	switch {
	case silent:
		return WhySilence
	case rate && forward:
		return WhyRate
	case forward:
		return WhyPause
	case l.t < k.last.t:
		return WhyReset
	case k.goesOn(l.line):
		return WhyPause
	}
	return WhyReset
}

// begin starts a segment at l.
func (k *tracker) begin(l arrived, why string) {
	lost := k.lostBefore(l, why)
	if k.started && (why == WhyReset || why == WhyRegain) {
		k.forget()
		// Where the fact was lost on the way, its next repeat tells of this boot
		// and not of another one.
		k.bootSeen = k.bootSeen && k.bootHeard
	}
	k.started = true
	k.emit(Event{Kind: KindSegment, Arrival: l.at, Segment: Break{k.segments, why}})
	k.segments++
	k.recent = k.recent[:0]
	k.seq, k.t = int64(l.seq), int64(l.t)
	k.equal = 0
	k.deliver(l, lost)
}

// lostBefore counts the conversions missing between the last accepted line and
// the first of a new segment, as far as the counters tell. After a reset the
// numbering begins at 0, which the clock confirms; otherwise it went on.
func (k *tracker) lostBefore(l arrived, why string) int64 {
	if why == WhyRegain {
		// A device that kept its power went on counting; any other booted.
		if n, ok := k.step(k.last.line, l.line); ok && !k.bootChanged && !k.silentUntil(l) {
			return n - 1
		}
		why = WhyReset
	}
	switch why {
	case WhySilence:
		return 0
	case WhyStart, WhyReset:
		if why == WhyStart && !k.bootSeen {
			return 0 // the device was running already; what came before is not ours
		}
		n, ok := k.sinceBoot(l.line)
		if !ok || why == WhyStart && n > maxStep {
			return 0
		}
		return n
	}
	ds, _ := distance(k.last.line, l.line)
	if k.goesOn(l.line) {
		return int64(ds) - 1
	}
	return 0
}

// silentUntil tells whether so long passed before l that the counters may have
// wrapped unseen. It looks at the wall clock, because the monotonic one stops
// while the machine sleeps.
func (k *tracker) silentUntil(l arrived) bool {
	return l.at.Round(0).Sub(k.last.at.Round(0)) > longSilence
}

// sinceBoot is the number of conversions before l if the device's clock and
// numbering both began at 0 not long before the first of them.
func (k *tracker) sinceBoot(l line) (int64, bool) {
	period := k.period
	if period == 0 {
		period = k.nominal
	}
	if period == 0 {
		return int64(l.seq), l.seq <= maxStep && float64(l.t) < bootTime
	}
	t := float64(l.t)
	n := unwrap(float64(l.seq), t, period)
	start := t - n*period
	return int64(n), start >= -max(0.3*period, 0.02*t) && start <= bootTime+0.02*t
}

// goesOn tells whether the time between the last accepted line and l had room
// for the conversions between them.
func (k *tracker) goesOn(l line) bool {
	ds, dt := distance(k.last.line, l)
	return ds >= 1 && dt < halfWrap && (ds <= maxStep || k.period > 0 && float64(ds)*k.period <= 1.1*dt)
}

// accept continues the segment with l, n conversions after the last line.
func (k *tracker) accept(l arrived, n int64) {
	_, dt := distance(k.last.line, l.line)
	k.seq += n
	k.t += int64(dt)
	if n <= maxStep {
		k.learn(dt / float64(n))
	}
	k.deliver(l, n-1)
}

// deliver emits l as a sample.
func (k *tracker) deliver(l arrived, lost int64) {
	s := Sample{
		Segment: k.segments - 1, Seq: k.seq, T: k.t, Counts: l.counts,
		RawSeq: l.seq, RawT: l.t, Arrival: l.at, Lost: lost,
		Saturated: l.counts <= k.lowRail || l.counts >= k.highRail,
	}
	if k.equal > 0 && l.counts == k.last.counts && !s.Saturated {
		k.equal++
	} else {
		k.equal = 1
	}
	s.Stuck = k.equal >= stuckRun
	k.last = l
	if len(k.recent) == recent {
		k.recent = append(k.recent[:0], k.recent[1:]...)
	}
	k.recent = append(k.recent, l.line)
	k.emit(Event{Kind: KindSample, Arrival: l.at, Sample: s})
}

func (k *tracker) duplicate(l arrived) {
	k.emit(Event{Kind: KindDuplicate, Arrival: l.at,
		Sample: Sample{Segment: k.segments - 1, Counts: l.counts, RawSeq: l.seq, RawT: l.t, Arrival: l.at}})
}

func (k *tracker) hold(l arrived) {
	k.held = append(k.held[:0], l)
	k.heldStep = 0
}

func (k *tracker) rejectHeld(n int) {
	for _, h := range k.held[:n] {
		k.reject(h, whySuspect)
	}
	k.held = append(k.held[:0], k.held[n:]...)
}

// reject counts a line that passed the checksum but cannot be true. Its text
// is rebuilt: the grammar allows only one.
func (k *tracker) reject(l arrived, why string) {
	raw := AppendSample(nil, l.seq, l.t, l.counts)
	k.emit(Event{Kind: KindDamaged, Arrival: l.at, Damaged: Damaged{Raw: raw[:len(raw)-1], Why: why}})
}

// step is the number of conversions from a to b, and whether the clock agrees.
func (k *tracker) step(a, b line) (int64, bool) {
	ds, dt := distance(a, b)
	if len(k.steps) < youngStep {
		interval := dt / float64(ds)
		if ds >= 1 && ds <= maxStep && interval >= minStep && interval <= maxPeriod {
			return int64(ds), true
		}
	}
	if k.period == 0 {
		return 0, false
	}
	n := unwrap(float64(ds), dt, k.period)
	return int64(n), n > 0 && near(dt, n, k.period)
}

// learn adds one interval to the running median.
func (k *tracker) learn(interval float64) {
	if len(k.steps) < window {
		k.steps = append(k.steps, interval)
	} else {
		k.steps[k.next] = interval
		k.next = (k.next + 1) % window
	}
	k.sorted = append(k.sorted[:0], k.steps...)
	slices.Sort(k.sorted)
	k.period = k.sorted[len(k.sorted)/2]
}

// forget drops what was learned about the interval.
func (k *tracker) forget() {
	k.steps, k.next, k.period = k.steps[:0], 0, 0
}

// distance is how far b lies after a in both counters, modulo their wraps; the
// clock in us.
func distance(a, b line) (ds uint16, dt float64) {
	return b.seq - a.seq, float64(b.t - a.t)
}

// unwrap adds to ds the wraps of the numbering that the time t needs.
func unwrap(ds, t, period float64) float64 {
	return ds + 65536*max(0, math.Round((t/period-ds)/65536))
}

// near tells whether dt is the time of n conversions.
func near(dt, n, period float64) bool {
	return math.Abs(dt-n*period) <= max(0.3*period, 0.02*n*period)
}
