package port

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.bug.st/serial"
)

// What a user writes arrives at the driver. A pseudo-terminal ignores it, so
// that only the settings can be looked at.
func TestFraming(t *testing.T) {
	for text, want := range map[string]serial.Mode{
		"":     {BaudRate: 4800, DataBits: 8, Parity: serial.NoParity, StopBits: serial.OneStopBit},
		"8N1":  {BaudRate: 4800, DataBits: 8, Parity: serial.NoParity, StopBits: serial.OneStopBit},
		"7E2":  {BaudRate: 4800, DataBits: 7, Parity: serial.EvenParity, StopBits: serial.TwoStopBits},
		"7o1 ": {BaudRate: 4800, DataBits: 7, Parity: serial.OddParity, StopBits: serial.OneStopBit},
	} {
		o, err := ParseFraming(text)
		require.NoError(t, err, text)
		o.Baud = 4800
		m, err := o.mode()
		require.NoError(t, err, text)
		assert.Equal(t, want, *m, text)
	}
	for _, text := range []string{"8", "9N1", "8X1", "8N3", "8N1.5", "eight"} {
		_, err := ParseFraming(text)
		assert.ErrorContains(t, err, "like 8N1 or 7E2", text)
	}
	for _, o := range []Options{{DataBits: 5}, {Parity: 9}, {StopBits: 3}} {
		_, err := o.mode()
		assert.Error(t, err, "%+v", o)
	}
}
