//go:build !linux && !darwin

package simrig

import (
	"errors"
	"fmt"
	"runtime"
)

// PTY is the device's end of a pseudo-terminal; this system has none.
type PTY struct{}

// OpenPTY tells that this system has no pseudo-terminals.
func OpenPTY() (*PTY, error) {
	return nil, fmt.Errorf("a simulated serial port needs a pseudo-terminal, and %s has none; use the demo without --live: %w",
		runtime.GOOS, errors.ErrUnsupported)
}

// Path is empty: there is no PTY to open.
func (p *PTY) Path() string { return "" }

// Write fails: there is no PTY.
func (p *PTY) Write([]byte) (int, error) { return 0, errors.ErrUnsupported }

// Offer fails: there is no PTY.
func (p *PTY) Offer([]byte) (int, error) { return 0, errors.ErrUnsupported }

// Poll receives nothing.
func (p *PTY) Poll([]byte) int { return 0 }

// Dropped is zero: nothing can be sent.
func (p *PTY) Dropped() int { return 0 }

// Unread is zero: nothing can be sent.
func (p *PTY) Unread() int { return 0 }

// Close does nothing.
func (p *PTY) Close() error { return nil }
