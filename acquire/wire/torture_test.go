package wire

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strconv"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// device makes the stream of a load cell and injects faults. What it counts as
// sent are conversions whose line was sent whole, before any damage.
type device struct {
	rng    *rand.Rand
	out    bytes.Buffer
	sent   []line
	seq    uint16
	t      uint32
	period uint32
	boot   int
	since  int // lines since the last reset
}

// facts sends the facts, each of which may be lost or damaged as well.
func (d *device) facts() {
	for _, f := range [][2]string{{"boot", strconv.Itoa(d.boot)}, {"sps", "80"}} {
		text := AppendFact(nil, f[0], f[1])
		switch d.rng.IntN(5) {
		case 0:
			text = nil
		case 1:
			text = faults["lost byte"](d.rng, text)
		}
		d.out.Write(text)
	}
}

// convert makes the next line and sends it through damage.
func (d *device) convert(damage func([]byte) []byte) {
	l := line{d.seq, d.t, int32(d.rng.IntN(1<<24) - 1<<23)}
	d.sent = append(d.sent, l)
	d.seq++
	d.t += d.period
	d.since++
	d.out.Write(damage(AppendSample(nil, l.seq, l.t, l.counts)))
}

// reset cuts the current line, sends noise, and starts anew.
func (d *device) reset() {
	cut := AppendSample(nil, d.seq, d.t, 12345)
	d.out.Write(cut[:d.rng.IntN(len(cut))])
	for range d.rng.IntN(20) {
		d.out.WriteByte(byte(d.rng.IntN(256)))
	}
	d.boot++
	d.seq, d.t, d.since = 0, 515, 0
	d.facts()
}

func intact(b []byte) []byte { return b }

// faults are the kinds of damage measured on serial lines.
var faults = map[string]func(*rand.Rand, []byte) []byte{
	"lost byte": func(r *rand.Rand, b []byte) []byte { i := r.IntN(len(b)); return append(b[:i:i], b[i+1:]...) },
	"twin byte": func(r *rand.Rand, b []byte) []byte { i := r.IntN(len(b)); return append(b[:i+1:i+1], b[i:]...) },
	"one bit":   func(r *rand.Rand, b []byte) []byte { b[r.IntN(len(b))] ^= 1 << r.IntN(8); return b },
	"two bits": func(r *rand.Rand, b []byte) []byte {
		b[r.IntN(len(b))] ^= 1 << r.IntN(8)
		b[r.IntN(len(b))] ^= 1 << r.IntN(8)
		return b
	},
	"cut": func(r *rand.Rand, b []byte) []byte { return b[:r.IntN(len(b))] },
	"hole": func(r *rand.Rand, b []byte) []byte {
		i := r.IntN(len(b))
		return append(b[:i:i], b[min(len(b), i+2+r.IntN(8)):]...)
	},
	"whole line": func(*rand.Rand, []byte) []byte { return nil },
	"noise": func(r *rand.Rand, b []byte) []byte {
		noise := make([]byte, r.IntN(300))
		for i := range noise {
			noise[i] = byte(r.IntN(256))
		}
		return append(noise, b...)
	},
}

var faultNames = []string{"lost byte", "twin byte", "one bit", "two bits", "cut", "hole", "whole line", "noise"}

// drain reads everything and returns the samples.
func drain(t *testing.T, r *Reader) []Sample {
	t.Helper()
	var samples []Sample
	for {
		e, err := r.Next()
		if errors.Is(err, io.EOF) {
			return samples
		}
		require.NoError(t, err)
		if e.Kind == KindSample {
			samples = append(samples, e.Sample)
		}
	}
}

// requireTrue checks that the accepted samples are a subsequence of what the
// device sent: nothing wrong was let in.
func requireTrue(t *testing.T, sent []line, samples []Sample) {
	t.Helper()
	i := 0
	for n, s := range samples {
		want := line{s.RawSeq, s.RawT, s.Counts}
		for i < len(sent) && sent[i] != want {
			i++
		}
		require.Less(t, i, len(sent), "sample %d was never sent: %+v", n, s)
		i++
	}
}

// TestTorture is the run of 300,000 lines with every fault. The last two lines
// before a reset and the end are left whole: nothing in the stream tells how
// many were sent after the last good one.
func TestTorture(t *testing.T) {
	for seed := range uint64(4) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			d := &device{rng: rand.New(rand.NewPCG(seed, 6)), period: 12500, boot: 1}
			d.t = 1<<32 - 1e9 // the clock wraps within the run
			d.facts()
			const lines = 300_000
			resets, duplicates, burst := 0, 0, 0
			for n := 0; n < lines; n++ {
				left := lines - n
				near := left%11_000 < 3 || left < 3
				switch {
				case seed != 3 && n > 0 && left%11_000 == 0:
					d.reset()
					resets++
					d.convert(intact)
				case near || n == 0:
					burst = 0
					d.convert(intact)
				case burst > 0:
					burst--
					d.convert(func([]byte) []byte { return nil })
				case d.rng.IntN(2000) == 0:
					burst = d.rng.IntN(300)
					d.convert(func([]byte) []byte { return nil })
				case d.rng.IntN(2000) == 0:
					duplicates++
					d.convert(func(b []byte) []byte { return append(b, b...) })
				case d.rng.IntN(130) == 0:
					name := faultNames[d.rng.IntN(len(faultNames))]
					d.convert(func(b []byte) []byte { return faults[name](d.rng, b) })
				default:
					d.convert(intact)
				}
				if n%800 == 799 {
					d.facts()
				}
			}
			sent := int64(len(d.sent))
			require.EqualValues(t, lines, sent)
			r := NewReader(&d.out, ReaderOptions{})
			samples := drain(t, r)
			a := r.Account()
			t.Logf("samples %d lost %d rejected %d duplicates %d segments %d", a.Samples, a.Lost, a.Rejected, a.Duplicates, a.Segments)
			requireTrue(t, d.sent, samples)
			assert.Equal(t, sent, a.Samples+a.Lost)
			assert.Equal(t, resets+1, a.Segments)
			assert.Len(t, samples, int(a.Samples))
			assert.InDelta(t, duplicates, a.Duplicates, 3, "a twin whose first copy was glued to damage is no twin")
			require.NotNil(t, a.RateHz)
			assert.InDelta(t, 80, *a.RateHz, 1e-9)
			assert.Greater(t, a.Samples, sent*85/100)
		})
	}
}

// TestTortureAfterReset damages the first lines after each reset: the numbering
// begins at 0 there, so that they are counted all the same.
func TestTortureAfterReset(t *testing.T) {
	d := &device{rng: rand.New(rand.NewPCG(1, 2)), period: 12500, boot: 1, t: 515}
	d.facts()
	for round := range 50 {
		for i := range 100 {
			if i < round%10 && round > 0 {
				d.convert(func([]byte) []byte { return nil })
			} else {
				d.convert(intact)
			}
		}
		d.reset()
	}
	d.convert(intact)
	r := NewReader(iotest.OneByteReader(&d.out), ReaderOptions{})
	samples := drain(t, r)
	a := r.Account()
	requireTrue(t, d.sent, samples)
	assert.EqualValues(t, len(d.sent), a.Samples+a.Lost)
	assert.Equal(t, 51, a.Segments)
}
