package page

import (
	"errors"
	"fmt"
	"net"
	"net/url"
	"strings"

	"rsc.io/qr"
)

// usual is where the page stands unless that is taken, so that a browser finds
// the program again after a restart.
const usual = "127.0.0.1:7420"

// Listen opens the port of the page. "" is this computer only, where nothing
// but this computer can reach; otherwise an address as "192.168.1.20:7420",
// ":7420" for every network, or a host with the usual port.
func Listen(address string) (net.Listener, error) {
	if address == "" {
		l, err := net.Listen("tcp", usual)
		if err == nil {
			return l, nil
		}
		return net.Listen("tcp", "127.0.0.1:0") // another bench has it
	}
	if _, _, err := net.SplitHostPort(address); err != nil {
		_, port, _ := net.SplitHostPort(usual)
		address = net.JoinHostPort(strings.Trim(address, "[]"), port)
	}
	l, err := net.Listen("tcp", address)
	var wrong *net.OpError
	if errors.As(err, &wrong) {
		return nil, fmt.Errorf("the page cannot listen at %s: %w; this computer has %s", address, wrong.Err, strings.Join(append(addresses(), "127.0.0.1"), ", "))
	}
	return l, err
}

// Loopback reports whether only this computer can reach an address.
func Loopback(a net.Addr) bool {
	tcp, ok := a.(*net.TCPAddr)
	return ok && tcp.IP.IsLoopback()
}

// addresses are those of this computer on its networks.
func addresses() []string {
	var out []string
	all, err := net.InterfaceAddrs()
	if err != nil {
		return nil // then only the loopback names are known
	}
	for _, a := range all {
		if n, ok := a.(*net.IPNet); ok && !n.IP.IsLoopback() && !n.IP.IsLinkLocalUnicast() {
			out = append(out, n.IP.String())
		}
	}
	return out
}

// Addresses gives the addresses to type or scan: of the vise, which opens once
// where tokens are asked for, and of the view for others. On several networks
// there is one of each for each network.
func (s *Server) Addresses(l net.Listener) (atVise, toWatch []string) {
	tcp, ok := l.Addr().(*net.TCPAddr)
	if !ok {
		return nil, nil
	}
	hosts := []string{tcp.IP.String()}
	if tcp.IP.IsUnspecified() {
		if hosts = addresses(); len(hosts) == 0 {
			hosts = []string{"127.0.0.1"}
		}
	}
	s.guard.mu.Lock()
	tokenVise, tokenWatch := s.guard.vise, s.guard.watch
	s.guard.mu.Unlock()
	for _, h := range hosts {
		base := url.URL{Scheme: "http", Host: net.JoinHostPort(h, fmt.Sprint(tcp.Port))}
		vise, watch := base, base
		vise.Path, watch.Path = "/vise", "/"
		if s.options.Tokens {
			vise.RawQuery, watch.RawQuery = "token="+tokenVise, "token="+tokenWatch
		}
		atVise, toWatch = append(atVise, vise.String()), append(toWatch, watch.String())
	}
	return atVise, toWatch
}

// quietZone is the white edge of a code, in modules, that readers need.
const quietZone = 3

// QR draws a text as a code of half blocks for a terminal, dark on light.
// Without colour it draws the light modules, for a dark terminal.
func QR(text string, colour bool) (string, error) {
	code, err := qr.Encode(text, qr.L)
	if err != nil {
		return "", fmt.Errorf("draw a code: %w", err)
	}
	var b strings.Builder
	for y := -quietZone; y < code.Size+quietZone; y += 2 {
		if colour {
			b.WriteString("\x1b[38;5;231;48;5;16m")
		}
		for x := -quietZone; x < code.Size+quietZone; x++ {
			upper, lower := !code.Black(x, y), !code.Black(x, y+1) // light
			switch {
			case upper && lower:
				b.WriteRune('█')
			case upper:
				b.WriteRune('▀')
			case lower:
				b.WriteRune('▄')
			default:
				b.WriteByte(' ')
			}
		}
		if colour {
			b.WriteString("\x1b[0m")
		}
		b.WriteByte('\n')
	}
	return b.String(), nil
}
