package acquiretest

import (
	"bytes"
	"math/rand/v2"
)

// Faults says how often each fault befalls a sample line, as a probability
// between 0 and 1. At most one befalls a line.
type Faults struct {
	Cut       float64 // the end of the line is lost, newline included: it runs into the next
	Merge     float64 // only the newline is lost
	LoseByte  float64 // one byte is lost
	Double    float64 // one byte comes twice
	Flip      float64 // one bit is wrong
	Noise     float64 // bytes of noise stand before the line
	Duplicate float64 // the line comes twice
	Lose      float64 // the whole line is lost, and up to Burst-1 after it
	Burst     int     // longest run of lost lines; below 1: 1
	Seed      uint64
}

// Account is what a damaging line did, counted in sample lines.
type Account struct {
	Sent       int // sample lines that the device sent
	Lost       int // that did not come at all
	Damaged    int // that came, but not as sent
	Duplicated int // that came twice
	Merged     int // that came whole but for their line end, so that the next runs on
	Noisy      int // that came whole after noise
}

// Whole is the number of sample lines that came whole at least once, line end
// included. Those that run on from another line, or follow noise, are among
// them; a reader may save some of Merged besides.
func (a Account) Whole() int { return a.Sent - a.Lost - a.Damaged - a.Merged }

// Mangler damages lines and keeps account. Its zero value lets all pass.
type Mangler struct {
	Faults
	Account
	rng   *rand.Rand
	burst int
	open  bool // the last line lost its end
}

// NewMangler makes a mangler with its own random numbers.
func NewMangler(f Faults) *Mangler {
	return &Mangler{Faults: f, rng: rand.New(rand.NewPCG(f.Seed, 0xfa017))}
}

// Append appends what becomes of the lines in sent, each ended by LF. Only
// sample lines are harmed, so that facts stay a firm ground for a test.
func (m *Mangler) Append(dst, sent []byte) []byte {
	for len(sent) > 0 {
		end := bytes.IndexByte(sent, '\n') + 1
		if end == 0 {
			end = len(sent)
		}
		line := sent[:end]
		sent = sent[end:]
		if line[0] != ':' {
			dst = append(m.closeLine(dst), line...)
			continue
		}
		m.Sent++
		dst = m.one(dst, line)
	}
	return dst
}

// closeLine puts the missing line end before a fact.
func (m *Mangler) closeLine(dst []byte) []byte {
	if m.open {
		m.open = false
		dst = append(dst, '\n')
	}
	return dst
}

func (m *Mangler) one(dst, line []byte) []byte {
	if m.burst > 0 {
		m.burst--
		m.Lost++
		return dst
	}
	if m.rng == nil {
		return append(dst, line...)
	}
	body := line[:len(line)-1]
	p := m.rng.Float64()
	happens := func(share float64) bool {
		hit := p >= 0 && p < share
		p -= share
		return hit
	}
	at := 1 + m.rng.IntN(len(body)-1) // the start mark stays: doubled, it would do no harm
	m.open = false
	switch {
	case happens(m.Cut):
		m.Damaged++
		m.open = true
		return append(dst, body[:1+m.rng.IntN(len(body)-1)]...)
	case happens(m.Merge):
		m.Merged++
		m.open = true
		return append(dst, body...)
	case happens(m.LoseByte):
		m.Damaged++
		dst = append(dst, body[:at]...)
		return append(dst, line[at+1:]...)
	case happens(m.Double):
		m.Damaged++
		dst = append(dst, line[:at+1]...)
		return append(dst, line[at:]...)
	case happens(m.Flip):
		m.Damaged++
		n := len(dst)
		dst = append(dst, line...)
		dst[n+at] ^= 1 << m.rng.IntN(8)
		return dst
	case happens(m.Noise):
		m.Noisy++
		for range 1 + m.rng.IntN(20) {
			dst = append(dst, byte(m.rng.IntN(256)))
		}
		return append(dst, line...)
	case happens(m.Duplicate):
		m.Duplicated++
		dst = append(dst, line...)
		return append(dst, line...)
	case happens(m.Lose):
		m.Lost++
		m.burst = m.rng.IntN(max(1, m.Burst))
		return dst
	}
	return append(dst, line...)
}
