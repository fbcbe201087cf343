package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"runtime"
	"time"

	"griptrial/acquire/bench"
	"griptrial/acquire/bench/page"
	"griptrial/acquire/study"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// runPage runs a session on the bench page until it is over.
func runPage(ctx context.Context, a *app, f benchFlags, setup trial.Study, c bench.Config) (sum bench.Summary, err error) {
	l, err := page.Listen(f.listen)
	if err != nil {
		return sum, err
	}
	away := !page.Loopback(l.Addr())
	var server *page.Server
	tell := func() {
		atVise, toWatch := server.Addresses(l)
		tellAddresses(a.stderr, atVise, toWatch, away)
	}
	server = page.New(page.Options{Setup: setup, Practice: f.practice, Port: f.port, Now: a.now, Tokens: away, Used: func() {
		fmt.Fprintln(a.stderr, "A screen came in by the address of the vise. A fresh one, for another:")
		tell()
	}})
	server.Serve(l)
	defer func() { err = errors.Join(err, server.Close()) }()
	tell()
	fmt.Fprintln(a.stderr, "Ctrl-C ends the session; a pull under way is then saved as void.")
	if !f.noBrowser && !away && a.browse != nil && !returns(ctx, a, c.Folder, server) {
		atVise, _ := server.Addresses(l)
		if err := a.browse(atVise[0]); err != nil {
			fmt.Fprintf(a.stderr, "No browser opened (%v); open the address yourself.\n", err)
		}
	}
	u, err := unit.Lookup(unit.Force, setup.Unit)
	if err != nil {
		return sum, err
	}
	pen := newScribe(server, a, u)
	c.Operator, c.Sampled, c.Stay = pen, server.Sampled, true
	sum, err = bench.Run(ctx, c)
	pen.close()
	text := fmt.Sprintf("The session has ended: %d pulls saved, %d left in the plan.", sum.Saved(), sum.Left)
	if errors.Is(err, context.Canceled) {
		server.End(text, nil, sum.Left)
	} else {
		server.End(text, err, sum.Left)
	}
	return sum, err
}

// justNow is how long ago a session was whose page may still be open.
const justNow = 30 * time.Minute

// returnIn is how soon such a page connects again; a busy machine that tests
// needs longer.
var returnIn = 4 * time.Second

// returns waits for the page of a session that was here a moment ago: after a
// restart it connects by itself, and a second one would only be in the way.
func returns(ctx context.Context, a *app, folder *study.Folder, server *page.Server) bool {
	facts, err := folder.Facts()
	if err != nil || len(facts) == 0 || a.now().Sub(facts[len(facts)-1].Time) > justNow {
		return false
	}
	wait := time.NewTimer(returnIn)
	defer wait.Stop()
	select {
	case <-server.Arrived():
		return true
	case <-wait.C:
	case <-ctx.Done():
	}
	return false
}

// tellAddresses says where the page is. Away from this computer the address of
// the vise opens once; its code is for a phone to scan.
func tellAddresses(w io.Writer, atVise, toWatch []string, away bool) {
	for _, address := range atVise {
		fmt.Fprintf(w, "The bench page: %s\n", address)
	}
	if away {
		if code, err := page.QR(atVise[0], terminal(w)); err == nil { // without it the address is typed
			fmt.Fprintf(w, "\n%s\nThis address opens once; a fresh one is shown when it was used.\n", code)
		}
	}
	for _, address := range toWatch {
		fmt.Fprintf(w, "To look on:     %s\n", address)
	}
}

// scribe is the page, and writes on the terminal what was saved and said. A
// terminal may stand still, as one does while somebody selects text in it, and
// the session must not.
type scribe struct {
	*page.Server
	unit           unit.Unit
	last           bench.Saved
	stdout, stderr io.Writer
	lines          chan line
	done           chan struct{}
}

// line is a line for the terminal.
type line struct {
	to   io.Writer
	text string
}

const mostLines = 1000 // that wait for a terminal that stands still; later ones are lost to it, never to the study

func newScribe(server *page.Server, a *app, u unit.Unit) *scribe {
	s := &scribe{Server: server, unit: u, stdout: a.stdout, stderr: a.stderr, lines: make(chan line, mostLines), done: make(chan struct{})}
	go func() {
		defer close(s.done)
		for l := range s.lines {
			fmt.Fprintln(l.to, l.text)
		}
	}()
	return s
}

// close waits until everything is written.
func (s *scribe) close() {
	close(s.lines)
	<-s.done
}

func (s *scribe) write(to io.Writer, text string) {
	select {
	case s.lines <- line{to, text}:
	default:
	}
}

// Show passes the session on and prints what is new.
func (s *scribe) Show(v bench.View) {
	s.Server.Show(v)
	for _, n := range v.Notices {
		s.write(s.stderr, "  "+n.Text)
	}
	if v.Last != nil && *v.Last != s.last {
		s.last = *v.Last
		s.write(s.stdout, v.Last.Line(s.unit))
	}
}

// openBrowser opens an address in the person's browser, where there is a screen.
func openBrowser(address string) error {
	name, args := "xdg-open", []string{address}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", address}
	default:
		if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
			return errors.New("there is no screen here")
		}
	}
	cmd := exec.Command(name, args...)
	if err := cmd.Start(); err != nil {
		return err
	}
	go func() { _ = cmd.Wait() }() // the browser lives as long as it likes
	return nil
}
