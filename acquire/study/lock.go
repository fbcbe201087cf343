package study

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/gofrs/flock"
)

func join(dir, name string) string { return filepath.Join(dir, name) }

// ErrBusy is wrapped by the error that a second writer gets.
var ErrBusy = errors.New("another program is writing to this study")

// Idle tells that no program is writing to a folder, as far as its lock tells.
func Idle(dir string) bool {
	l := flock.New(join(dir, lockFile))
	got, err := l.TryLock()
	return err == nil && got && l.Unlock() == nil
}

// lock takes the study for writing. The operating system holds the lock and
// lets it go when the process ends, however it ends. Who holds it stands in a
// file beside it, for the message only.
func lock(dir, who string) (*flock.Flock, error) {
	l := flock.New(join(dir, lockFile))
	got, err := l.TryLock()
	if err != nil {
		return nil, fmt.Errorf("%s: cannot be opened for writing: %w", dir, err)
	}
	if !got {
		holder := "it is not known which"
		if b, err := os.ReadFile(join(dir, holderFile)); err == nil {
			if s := strings.TrimSpace(string(b)); s != "" {
				holder = s
			}
		}
		return nil, fmt.Errorf("%s: %w: %s; close it first", dir, ErrBusy, holder)
	}
	holder := fmt.Sprintf("%s, process %d", who, os.Getpid())
	if host, err := os.Hostname(); err == nil {
		holder += " on " + host
	}
	// A message that cannot be written must not stop the work.
	_ = os.WriteFile(join(dir, holderFile), []byte(holder+"\n"), 0o666)
	return l, nil
}
