package port

import (
	"fmt"
	"strings"
)

// ParseFraming reads how the bits of a character are framed, as "8N1" or "7E2":
// data bits, parity (N none, O odd, E even), stop bits. "" is 8N1.
func ParseFraming(s string) (Options, error) {
	if s == "" {
		return Options{}, nil
	}
	t := strings.ToUpper(strings.TrimSpace(s))
	if len(t) != 3 || !strings.Contains("78", t[:1]) || !strings.Contains("NOE", t[1:2]) || !strings.Contains("12", t[2:]) {
		return Options{}, fmt.Errorf("%q is not a framing; write data bits (7 or 8), parity (N, O or E) and stop bits (1 or 2), like 8N1 or 7E2", s)
	}
	return Options{DataBits: int(t[0] - '0'), Parity: map[byte]Parity{'N': NoParity, 'O': OddParity, 'E': EvenParity}[t[1]], StopBits: int(t[2] - '0')}, nil
}
