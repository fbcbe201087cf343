package port

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"time"
)

// regainEvery is how long lies between two looks for a device that is gone.
const regainEvery = 250 * time.Millisecond

// Regain waits until the device that lost had open is plugged in again, and
// opens it as lost was opened. It closes lost first: while a dead port is held
// the device may come back under another name.
//
// A USB device is known by its identity, whatever name the system gives it now;
// without a serial number of its own, two devices alike cannot be told apart,
// and Regain waits until there is one. Anything else is known by the path that
// was given, and may then be another device: hold its facts against those from
// before, as wire.Reader.Rejoin does.
//
// Regain never gives up by itself; it ends with the error of ctx, together with
// the latest reason why the device could not be opened. tell is given each such
// reason once, and may be nil.
func Regain(ctx context.Context, lost *Port, tell func(error)) (*Port, error) {
	return seeker{list: List, wait: wait, folder: "/dev"}.regain(ctx, lost, tell)
}

// seeker is how Regain sees the world.
type seeker struct {
	list   func() ([]Device, error)
	wait   func(context.Context, time.Duration) error
	folder string // where the system shows its ports
}

func wait(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
	case <-ctx.Done():
	}
	return ctx.Err()
}

func (s seeker) regain(ctx context.Context, lost *Port, tell func(error)) (*Port, error) {
	if err := lost.Close(); err != nil && tell != nil {
		tell(err) // a dead port may close badly; it is gone all the same
	}
	var reason error
	for {
		// The wait comes first: a device that hangs up as soon as it is opened
		// must not be opened over and over without rest.
		if err := s.wait(ctx, regainEvery); err != nil {
			return nil, errors.Join(err, reason)
		}
		p, err := s.again(lost)
		switch {
		case err == nil:
			return p, nil
		case errors.Is(err, os.ErrNotExist):
			// Gone, as it was.
		case reason == nil || reason.Error() != err.Error():
			// The system may still be making it ready, so this is no end.
			reason = err
			if tell != nil {
				tell(err)
			}
		}
	}
}

// again opens the device once, if it is there.
func (s seeker) again(lost *Port) (*Port, error) {
	id, ok := lost.device.Identity()
	if !ok {
		return openPath(lost.path, lost.options, lost.device)
	}
	if !anyUSB(s.folder) {
		return nil, fmt.Errorf("%s: %w", id, os.ErrNotExist)
	}
	devices, err := s.list()
	if err != nil {
		return nil, err
	}
	d, err := choose(id, devices)
	if err != nil {
		return nil, err
	}
	return openPath(d.open(), lost.options, d)
}

// anyUSB tells whether a device folder holds a port that could belong to USB.
// Making the list opens built-in ports, so it is not made for nothing while
// somebody looks for a cable. Where there is no such folder it says yes.
func anyUSB(folder string) bool {
	entries, err := os.ReadDir(folder)
	return err != nil || slices.ContainsFunc(entries, func(e os.DirEntry) bool { return maybeUSB(e.Name()) })
}
