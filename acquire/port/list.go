package port

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"go.bug.st/serial"
)

// Device is a serial port that is plugged in, with what USB says about it.
type Device struct {
	Path    string `json:"path"`              // as the system names it; may change at the next plugging
	Stable  string `json:"stable,omitempty"`  // a path that stays with the device; "": none
	USB     bool   `json:"usb"`               // the fields below are known
	Vendor  string `json:"vendor,omitempty"`  // four upper-case hex digits
	Product string `json:"product,omitempty"` // likewise
	Serial  string `json:"serial,omitempty"`  // "": the device has none
	Name    string `json:"name,omitempty"`    // in the maker's words
}

// Identity returns the device's USB identity; ok is false if it has none.
func (d Device) Identity() (id Identity, ok bool) {
	return Identity{d.Vendor, d.Product, d.Serial}, d.USB && d.Vendor != "" && d.Product != ""
}

// open is the best path to open: one that stays with the device if there is one.
func (d Device) open() string {
	if d.Stable != "" {
		return d.Stable
	}
	return d.Path
}

// Identity names a USB device whatever port the system gives it.
type Identity struct {
	Vendor, Product string // four upper-case hex digits
	Serial          string // "": any
}

// String writes the identity as ParseIdentity reads it.
func (id Identity) String() string {
	s := "usb:" + id.Vendor + ":" + id.Product
	if id.Serial != "" {
		s += ":" + id.Serial
	}
	return s
}

// ParseIdentity reads "usb:VVVV:PPPP" or "usb:VVVV:PPPP:SERIAL", with vendor and
// product in hex. ok is false, without error, for a text that does not begin
// with "usb:".
func ParseIdentity(s string) (id Identity, ok bool, err error) {
	rest, found := strings.CutPrefix(s, "usb:")
	if !found {
		return Identity{}, false, nil
	}
	parts := strings.SplitN(rest, ":", 3)
	if len(parts) < 2 || !fourHex(parts[0]) || !fourHex(parts[1]) {
		return Identity{}, false, fmt.Errorf("%q is not a USB identity; write usb:VVVV:PPPP or usb:VVVV:PPPP:SERIAL as `griptrial devices` shows it", s)
	}
	id = Identity{Vendor: strings.ToUpper(parts[0]), Product: strings.ToUpper(parts[1])}
	if len(parts) == 3 {
		id.Serial = parts[2]
	}
	return id, true, nil
}

func fourHex(s string) bool {
	return len(s) == 4 && strings.Trim(s, "0123456789abcdefABCDEF") == ""
}

// matches tells whether d is the device that id names.
func (id Identity) matches(d Device) bool {
	return d.USB && d.Vendor == id.Vendor && d.Product == id.Product && (id.Serial == "" || d.Serial == id.Serial)
}

// List returns the serial ports that are plugged in, USB devices first, each
// group by path. Pseudo-terminals are never listed but can be opened by path.
func List() ([]Device, error) {
	paths, err := serial.GetPortsList()
	if err != nil {
		return nil, fmt.Errorf("list serial ports: %w", err)
	}
	details, err := usbDetails()
	if err != nil {
		return nil, fmt.Errorf("list USB serial ports: %w", err)
	}
	stable := stablePaths("/dev/serial/by-id")
	devices := make([]Device, 0, len(paths))
	for _, path := range paths {
		d := details[path]
		d.Path = path
		d.Stable = stable[path]
		devices = append(devices, d)
	}
	slices.SortFunc(devices, func(a, b Device) int {
		if a.USB != b.USB {
			if a.USB {
				return -1
			}
			return 1
		}
		return strings.Compare(a.Path, b.Path)
	})
	return devices, nil
}

// stablePaths maps a port to the link in dir that points at it. A folder that
// is not there (another system, or no device) gives no links.
func stablePaths(dir string) map[string]string {
	links := map[string]string{}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return links
	}
	for _, e := range entries {
		link := filepath.Join(dir, e.Name())
		if target, err := filepath.EvalSymlinks(link); err == nil {
			links[target] = link
		}
	}
	return links
}

// find returns the one plugged-in device that id names.
func find(id Identity) (Device, error) {
	devices, err := List()
	if err != nil {
		return Device{}, err
	}
	return choose(id, devices)
}

func choose(id Identity, devices []Device) (Device, error) {
	var found []Device
	for _, d := range devices {
		if id.matches(d) {
			found = append(found, d)
		}
	}
	switch len(found) {
	case 0:
		return Device{}, fmt.Errorf("no device %s is plugged in; `griptrial devices` lists the ports: %w", id, os.ErrNotExist)
	case 1:
		return found[0], nil
	}
	var paths []string
	for _, d := range found {
		paths = append(paths, d.Path)
	}
	return Device{}, fmt.Errorf("%d devices answer to %s (%s); add the serial number or give the path", len(found), id, strings.Join(paths, ", "))
}

// lookUp returns what is known about the device behind a path given by hand.
func lookUp(path string) Device {
	real, err := filepath.EvalSymlinks(path)
	if err != nil || !maybeUSB(real) {
		return Device{Path: path}
	}
	devices, err := List()
	if err != nil {
		// The port may well open; only its USB identity stays unknown.
		return Device{Path: path}
	}
	for _, d := range devices {
		if d.Path == real {
			return d
		}
	}
	return Device{Path: path}
}

// maybeUSB tells by its name whether a port can belong to a USB device. Only
// then is the list worth asking for: making it opens built-in ports, which may
// disturb what hangs on them.
func maybeUSB(path string) bool {
	base := filepath.Base(path)
	for _, prefix := range []string{"ttyUSB", "ttyACM", "COM", "cu.", "tty.", "cuaU"} {
		if strings.HasPrefix(base, prefix) {
			return true
		}
	}
	return false
}
