package port

import (
	"golang.org/x/sys/unix"
)

// keepLine keeps the modem lines of a port as they are when it is closed, so
// that opening it again does not reset the board behind them; many boards reset
// on every opening otherwise. The first opening after plugging in does so all
// the same. It must come before the driver claims the port for itself, and its
// end must wait for the driver, so that the lines do not fall in between.
//
// Whatever goes wrong here the driver meets as well, and says it better.
func keepLine(path string) (end func()) {
	fd, err := unix.Open(path, unix.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return func() {}
	}
	if t, err := unix.IoctlGetTermios(fd, unix.TCGETS); err == nil && t.Cflag&unix.HUPCL != 0 {
		t.Cflag &^= unix.HUPCL
		_ = unix.IoctlSetTermios(fd, unix.TCSETS, t)
	}
	return func() { _ = unix.Close(fd) }
}
