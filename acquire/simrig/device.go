package simrig

import (
	"math"
	"math/rand/v2"
	"strconv"
	"sync"
	"time"

	"griptrial/acquire/wire"
)

// Order asks the simulated operator for one pull.
type Order struct {
	Facing, Sample, Level string
}

// Device is a simulated load cell on a serial line. It converts at the shop's
// rate, sends what the line protocol asks for, and makes pulls when they are
// ordered; between pulls the cell is at rest.
//
// Next is the device itself and knows no clock; Run paces it. Order, Repeat,
// Ask and Reset may be called while Run is running.
type Device struct {
	shop Shop
	rng  *rand.Rand

	mu        sync.Mutex
	orders    []Order
	repeat    []Order
	rest      float64 // s between repeated pulls
	repeated  int
	clampings map[[2]string]int
	pulls     uint64
	last      ShopPull

	boots    int
	ask      bool
	seq      uint16
	time     float64 // s since boot, of the next conversion
	facts    float64 // s at which the facts are due again
	restTill float64 // s before which no repeated pull starts
	running  []Sample
	base     float64 // s since boot at which the running pull began
}

const (
	factsEvery  = 10.0 // s
	firstSample = 0.05 // s from boot to the first conversion
	zeroWander  = 1e-4 // share of the capacity by which the zero moves to and fro
	zeroPeriod  = 300  // s in which it does
)

// NewDevice makes a device that stands ready to boot. The seed decides every
// pull it will make.
func NewDevice(shop Shop, seed uint64) *Device {
	d := &Device{shop: shop, rng: rand.New(rand.NewPCG(seed, 0xde71ce)), clampings: map[[2]string]int{}}
	d.pulls = seed << 20
	d.boot()
	return d
}

// Order has a pull made as soon as the cell is at rest. Orders wait in line.
func (d *Device) Order(o Order) error {
	if err := d.shop.knows(o); err != nil {
		return err
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.orders = append(d.orders, o)
	return nil
}

// Repeat has the orders made over and over, with a rest before each: an
// endless alternation of rest and pull. Ordered pulls come first.
func (d *Device) Repeat(orders []Order, rest time.Duration) error {
	for _, o := range orders {
		if err := d.shop.knows(o); err != nil {
			return err
		}
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.repeat, d.rest, d.repeated = orders, rest.Seconds(), 0
	d.restTill = d.time + d.rest
	return nil
}

// Ask has the facts sent before the next conversion, as a received `?` does.
func (d *Device) Ask() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.ask = true
}

// Reset restarts the device: counters and clock begin again, a pull under way
// goes on where the arm is, unseen.
func (d *Device) Reset() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.boot()
}

// Last is the pull begun last; its Truth is for whoever wants to compare.
func (d *Device) Last() ShopPull {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.last
}

func (d *Device) boot() {
	d.boots++
	d.seq, d.ask, d.running = 0, true, nil
	d.time, d.restTill = firstSample, firstSample+d.rest
}

// Next appends to dst what the device sends with its next conversion: one
// sample line, after the facts where they are due. It returns the device's
// time since boot at which that is.
func (d *Device) Next(dst []byte) ([]byte, time.Duration) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.ask || d.time >= d.facts {
		dst = d.appendFacts(dst)
		d.ask, d.facts = false, d.time+factsEvery
	}
	if len(d.running) == 0 {
		d.begin()
	}
	cell := d.shop.Cell
	counts := cell.counts(cell.Capacity*zeroWander*math.Sin(2*math.Pi*d.time/zeroPeriod) +
		cell.Noise/cell.Span*d.rng.NormFloat64())
	at := d.time
	if len(d.running) > 0 {
		s := d.running[0]
		d.running = d.running[1:]
		at = d.base + s.Time
		counts = s.Counts + counts - cell.counts(0)
		if len(d.running) == 0 {
			d.restTill = at + d.rest
		}
	}
	micros := uint64(math.Round(at * 1e6))
	dst = wire.AppendSample(dst, d.seq, uint32(micros), clip24(counts))
	d.seq++
	d.time = at + 1/cell.Rate
	return dst, time.Duration(micros) * time.Microsecond
}

// begin starts the next pull if one is wanted.
func (d *Device) begin() {
	var o Order
	switch {
	case len(d.orders) > 0:
		o, d.orders = d.orders[0], d.orders[1:]
	case len(d.repeat) > 0 && d.time >= d.restTill:
		o = d.repeat[d.repeated%len(d.repeat)]
		d.repeated++
	default:
		return
	}
	key := [2]string{o.Facing, o.Sample}
	pull, err := d.shop.Pull(o.Facing, o.Sample, o.Level, d.clampings[key], d.pulls)
	if err != nil {
		return // Order and Repeat have checked the names
	}
	d.clampings[key]++
	d.pulls++
	d.last, d.running = pull, pull.Samples
	d.base = d.time - pull.Samples[0].Time
}

// appendFacts appends every fact of the device, in the order of its boot.
func (d *Device) appendFacts(dst []byte) []byte {
	for _, f := range [][2]string{
		{"proto", "1"}, {"name", "simulated cell"}, {"id", "SIM" + strconv.FormatUint(d.shop.Seed, 10)},
		{"fw", "sim-1"}, {"boot", strconv.Itoa(d.boots)},
		{"sps", strconv.FormatFloat(d.shop.Cell.Rate, 'f', -1, 64)}, {"gain", "128"}, {"adc_bits", "24"},
		{"fs_counts", "8388607"}, {"code", "twos"}, {"ready", "1"},
	} {
		dst = wire.AppendFact(dst, f[0], f[1])
	}
	return dst
}

func clip24(counts int32) int32 { return max(-1<<23, min(1<<23-1, counts)) }
