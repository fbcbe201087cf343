package slip

import (
	"encoding/binary"
	"math"
	"testing"

	"griptrial/analysis/trial"
)

// unpack makes a record of fuzzed bytes: pairs of a time step and a force. The
// first byte says how: plain numbers of 16 bit, or 64-bit floats of any kind.
func unpack(data []byte) trial.Trace {
	var tr trial.Trace
	if len(data) == 0 {
		return tr
	}
	how, data := data[0], data[1:]
	t := 0.0
	for {
		var step, force float64
		if how&1 == 0 {
			if len(data) < 3 {
				break
			}
			step = (float64(data[0]) + 1) * 1e-3
			force = float64(int16(binary.LittleEndian.Uint16(data[1:3])))
			data = data[3:]
		} else {
			if len(data) < 16 {
				break
			}
			step = math.Abs(math.Float64frombits(binary.LittleEndian.Uint64(data)))
			force = math.Float64frombits(binary.LittleEndian.Uint64(data[8:]))
			data = data[16:]
		}
		if how&2 != 0 && how&1 == 0 { // a running sum looks more like a pull
			if n := len(tr.Force); n > 0 {
				force = tr.Force[n-1] + force/64
			}
		}
		t += step
		tr.T = append(tr.T, t)
		tr.Force = append(tr.Force, force)
	}
	return tr
}

// pack is the other way for seeds: forces scaled to 16 bit.
func pack(tr trial.Trace, how byte) []byte {
	out := []byte{how}
	last := 0.0
	top := 1e-300
	for _, f := range tr.Force {
		top = math.Max(top, math.Abs(f))
	}
	for i, t := range tr.T {
		step := byte(min(255, max(0, math.Round((t-last)*1e3)-1)))
		last = t
		v := int16(tr.Force[i] / top * 30000)
		out = append(out, step, byte(uint16(v)), byte(uint16(v)>>8))
	}
	return out
}

// FuzzDetect: any series gives a verdict without panic, without NaN in a slip,
// the same each time, and the stream takes it too.
func FuzzDetect(f *testing.F) {
	for _, family := range simFamilies {
		p := simulate(family, 2)
		n := min(len(p.trace.T), 800)
		f.Add(pack(trial.Trace{T: p.trace.T[:n], Force: p.trace.Force[:n]}, 0))
	}
	f.Add([]byte{1})
	f.Add(append([]byte{1}, make([]byte, 320)...))
	f.Add([]byte{2, 1, 2, 3, 4, 5, 6, 7, 8, 9, 1, 2, 3, 4, 5, 6, 7, 8, 9, 1, 2, 3, 4, 5, 6, 7, 8, 9})
	f.Fuzz(func(t *testing.T, data []byte) {
		tr := unpack(data)
		r, err := Detect(tr, Options{})
		if err != nil {
			return
		}
		again, _ := Detect(tr, Options{})
		for i, x := range [][2]float64{{r.SlipForce, again.SlipForce}, {r.SlipTime, again.SlipTime}, {r.Low, again.Low}, {r.High, again.High}, {r.PeakForce, again.PeakForce}} {
			if math.Float64bits(x[0]) != math.Float64bits(x[1]) {
				t.Fatalf("number %d is %g, then %g", i, x[0], x[1])
			}
			if math.IsInf(x[0], 0) {
				t.Fatalf("number %d is infinite", i)
			}
			if r.Outcome == trial.Slipped && math.IsNaN(x[0]) {
				t.Fatalf("slipped, and number %d is NaN", i)
			}
		}
		if r.Outcome == trial.Slipped && !(r.Low <= r.SlipForce && r.SlipForce <= r.High) {
			t.Fatalf("%g is not within %g to %g", r.SlipForce, r.Low, r.High)
		}
		if r.Outcome != trial.Slipped && !math.IsNaN(r.SlipForce) {
			t.Fatalf("%s with a slip force of %g", r.Outcome, r.SlipForce)
		}
		if len(r.Why(newton)) == 0 {
			t.Fatal("no reason given")
		}
		s := NewStream(Options{})
		for i := range tr.T {
			s.Push(tr.T[i], tr.Force[i])
		}
		if math.IsNaN(s.Peak()) || math.IsNaN(s.Force()) {
			t.Fatal("the stream lost its number")
		}
	})
}
