//go:build darwin && !cgo

package port

// usbDetails knows nothing here: on macOS USB identities need a C compiler at
// build time. Ports are listed and opened by path all the same.
func usbDetails() (map[string]Device, error) { return nil, nil }
