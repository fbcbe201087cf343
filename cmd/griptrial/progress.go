package main

import (
	"fmt"
	"strings"
	"time"
)

// progress is a bar on stderr for work that takes longer than patience. It is
// drawn only where stderr is a terminal, so that nothing of it lands in a file.
type progress struct {
	a           *app
	what        string
	n, total    int
	start, last time.Time
	quiet       bool
	drawn       bool
}

// patience is how long work may take without a word.
const patience = 2 * time.Second

// newProgress counts up to total steps.
func newProgress(a *app, what string, total int) *progress {
	p := &progress{a: a, what: what, total: total, quiet: !terminal(a.stderr)}
	if !p.quiet {
		p.start = a.now()
	}
	return p
}

// step counts one, and draws the bar ten times a second once patience is over.
func (p *progress) step() {
	p.n++
	if p.quiet {
		return
	}
	now := p.a.now()
	if now.Sub(p.start) < patience || now.Sub(p.last) < 100*time.Millisecond {
		return
	}
	p.last, p.drawn = now, true
	const wide = 30
	full := wide * p.n / p.total
	fmt.Fprintf(p.a.stderr, "\r%s [%s%s] %3d %%", p.what, strings.Repeat("=", full), strings.Repeat(" ", wide-full), 100*p.n/p.total)
}

// done takes the bar away.
func (p *progress) done() {
	if p.drawn {
		fmt.Fprint(p.a.stderr, "\r\x1b[K")
	}
}
