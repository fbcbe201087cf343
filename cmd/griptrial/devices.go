package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"griptrial/acquire/port"
)

func devicesCommand(a *app) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "devices",
		Short: "List the serial ports that are plugged in",
		Long: `devices lists the serial ports of this machine, USB devices first, with the
names by which "record", "calibrate" and "bench" find them. The identity
(usb:...) stays with the device whatever port the system gives it, so it is the
best name to write into a study. A pseudo-terminal is not listed but may be
given by its path.`,
		Example: `  griptrial devices
  griptrial devices --json`,
		Args: exactly(0, "no arguments"),
		RunE: func(*cobra.Command, []string) error {
			devices, err := port.List()
			if err != nil {
				return err
			}
			if asJSON {
				return printJSON(a.stdout, devices)
			}
			if len(devices) == 0 {
				fmt.Fprintln(a.stderr, "no serial port found; plug the load cell in, or give --port the path of a pseudo-terminal")
				return nil
			}
			t := textTable{columns: []textColumn{{head: "port"}, {head: "identity"}, {head: "device", breaks: true}}}
			for _, d := range devices {
				identity := ""
				if id, ok := d.Identity(); ok {
					identity = id.String()
				}
				t.add(d.Path, identity, d.Name)
			}
			_, err = io.WriteString(a.stdout, t.text(lookOf(a.stdout), 0))
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON list")
	return cmd
}
