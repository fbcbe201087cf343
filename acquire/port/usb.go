//go:build !darwin || cgo

package port

import "go.bug.st/serial/enumerator"

// usbDetails returns what USB says about each port, by path.
func usbDetails() (map[string]Device, error) {
	list, err := enumerator.GetDetailedPortsList()
	if err != nil {
		return nil, err
	}
	details := map[string]Device{}
	for _, d := range list {
		if d.Name == "" || !d.IsUSB {
			continue // a port without a device entry comes back without a name
		}
		name := d.Product
		if d.Manufacturer != "" && name != "" {
			name = d.Manufacturer + " " + name
		}
		details[d.Name] = Device{USB: true, Vendor: d.VID, Product: d.PID, Serial: d.SerialNumber, Name: name}
	}
	return details, nil
}
