// Package acquiretest holds stand-ins for tests of everything that reads an
// instrument: a clock that moves only when told, a player of recorded streams,
// a line that damages what passes and keeps account, and a load cell on a
// pseudo-terminal that can be unplugged.
package acquiretest

import (
	"context"
	"slices"
	"sync"
	"time"
)

// Clock is a clock that stands still until Advance moves it. Its zero value is
// not ready; use NewClock.
type Clock struct {
	mu      sync.Mutex
	changed *sync.Cond
	now     time.Time
	waiting []waiter
}

type waiter struct {
	at   time.Time
	ring chan time.Time
}

// NewClock is a clock that shows start.
func NewClock(start time.Time) *Clock {
	c := &Clock{now: start}
	c.changed = sync.NewCond(&c.mu)
	return c
}

// Now is what the clock shows.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// After gives a channel that receives once the clock has been moved by d. With
// d of zero or less it receives at once.
func (c *Clock) After(d time.Duration) <-chan time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	ring := make(chan time.Time, 1)
	if d <= 0 {
		ring <- c.now
		return ring
	}
	c.waiting = append(c.waiting, waiter{c.now.Add(d), ring})
	c.changed.Broadcast()
	return ring
}

// Sleep returns once the clock has been moved by d, or with ctx's error when
// ctx ends.
func (c *Clock) Sleep(ctx context.Context, d time.Duration) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	ring := c.After(d)
	select {
	case <-ring:
		return nil
	case <-ctx.Done():
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.waiting = slices.DeleteFunc(c.waiting, func(w waiter) bool { return w.ring == ring })
	return ctx.Err()
}

// Advance moves the clock and rings what has come due.
func (c *Clock) Advance(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
	var still []waiter
	for _, w := range c.waiting {
		if w.at.After(c.now) {
			still = append(still, w)
			continue
		}
		w.ring <- c.now
	}
	c.waiting = still
}

// AwaitWaiters returns when at least n calls of After are waiting: then
// whoever is to be woken by the next Advance has gone to sleep.
func (c *Clock) AwaitWaiters(n int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for len(c.waiting) < n {
		c.changed.Wait()
	}
}

// Next moves the clock to the earliest time that something waits for, after at
// least one waiter has come, and returns by how much.
func (c *Clock) Next() time.Duration {
	c.AwaitWaiters(1)
	c.mu.Lock()
	first := c.waiting[0].at
	for _, w := range c.waiting {
		if w.at.Before(first) {
			first = w.at
		}
	}
	d := first.Sub(c.now)
	c.mu.Unlock()
	c.Advance(d)
	return d
}
