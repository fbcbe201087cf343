package acquiretest

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"sync"
)

// Player replays a recorded stream as a port would deliver it: in pieces that
// need not end at a line. It takes what is written to it and keeps it.
type Player struct {
	mu      sync.Mutex
	rest    []byte
	most    int
	rng     *rand.Rand
	written bytes.Buffer
	closed  bool
}

// Play makes a player of a stream. Reads give 1 to most bytes, drawn with the
// seed; most below 1 gives whatever the reader has room for.
func Play(stream []byte, most int, seed uint64) *Player {
	return &Player{rest: stream, most: most, rng: rand.New(rand.NewPCG(seed, 0x91a7))}
}

// Read gives the next piece, then io.EOF.
func (p *Player) Read(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch {
	case p.closed:
		return 0, io.ErrClosedPipe
	case len(p.rest) == 0:
		return 0, io.EOF
	case p.most > 0 && len(b) > 0:
		b = b[:min(len(b), 1+p.rng.IntN(p.most))]
	}
	n := copy(b, p.rest)
	p.rest = p.rest[n:]
	return n, nil
}

// Write keeps what the reader sent to the instrument.
func (p *Player) Write(b []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed {
		return 0, io.ErrClosedPipe
	}
	return p.written.Write(b)
}

// Written is everything the reader sent.
func (p *Player) Written() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.written.String()
}

// Close ends the replay. It fails if part of the stream was never read: a test
// that stops early would otherwise pass unseen.
func (p *Player) Close() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.closed = true
	if len(p.rest) > 0 {
		return fmt.Errorf("acquiretest: %d bytes of the stream were not read, from %.60q", len(p.rest), p.rest)
	}
	return nil
}
