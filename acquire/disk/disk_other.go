//go:build !windows

package disk

import (
	"errors"
	"os"
	"syscall"
)

func rename(from, to string) error { return os.Rename(from, to) }

// syncDir syncs a folder. A file system that cannot sync folders, as some
// network and user-space ones, says so at once; it promises no more with it than
// without.
func syncDir(name string) error {
	d, err := os.Open(name)
	if err != nil {
		return err
	}
	err = d.Sync()
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, errors.ErrUnsupported) {
		err = nil
	}
	return errors.Join(err, d.Close())
}
