package bench

import (
	"bufio"
	"fmt"
	"io"
	"strings"
	"sync"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// Terminal is an operator at a terminal, or a script behind a pipe.
type Terminal struct {
	out      io.Writer // one line for each pull saved
	talk     io.Writer // everything else
	live     bool      // talk can show the force on one line, over and over
	script   bool      // the lines of input wait until they fit
	commands chan Command
	done     chan struct{} // closed when the session is over
	once     sync.Once

	mu    sync.Mutex
	seen  *sync.Cond
	view  View
	width int // of the live line that stands on the screen
}

// NewTerminal reads answers from in, one a line. Of a script, which has all its
// answers ready, each waits until it fits what is asked; from a person an
// answer that does not fit is explained and forgotten.
func NewTerminal(in io.Reader, out, talk io.Writer, live, script bool) *Terminal {
	t := &Terminal{out: out, talk: talk, live: live, script: script,
		commands: make(chan Command), done: make(chan struct{})}
	t.seen = sync.NewCond(&t.mu)
	go t.read(in)
	return t
}

// Close tells the terminal that the session is over. A line that is being waited
// for is still read.
func (t *Terminal) Close() {
	t.once.Do(func() { close(t.done) })
	t.mu.Lock()
	t.clear()
	t.mu.Unlock()
	t.seen.Broadcast()
}

// over reports whether the session is over.
func (t *Terminal) over() bool {
	select {
	case <-t.done:
		return true
	default:
		return false
	}
}

// Commands gives the answers.
func (t *Terminal) Commands() <-chan Command { return t.commands }

// read turns lines into commands.
func (t *Terminal) read(in io.Reader) {
	defer close(t.commands)
	lines := bufio.NewScanner(in)
	for step := 1; lines.Scan(); {
		for {
			v, ok := t.await(step)
			if !ok {
				return
			}
			c, hint := parse(lines.Text(), v, t.script)
			if hint == "" {
				select {
				case t.commands <- c:
				case <-t.done:
					return
				}
				step = v.Step + 1
				break
			}
			if !t.script || v.Phase == Checks || v.Phase == Judging {
				t.print("%s\n", hint)
				break
			}
			step = v.Step + 1
		}
	}
}

// await returns the view once it has reached a step; false when the session is
// over.
func (t *Terminal) await(step int) (View, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for t.view.Step < step && !t.over() {
		t.seen.Wait()
	}
	return t.view, !t.over()
}

const (
	askChecks  = "Type yes when all of it was looked at."
	askMount   = "Enter takes the tare; undo takes the pull before back, skip REASON leaves this one out, q ends the session."
	askReady   = "The pull starts by itself. Enter takes the tare again."
	askPulling = "Type e when the pull is over and the tool has not noticed."
	askJudge   = "Enter confirms; s slipped, h held, x REASON void, or a force (10, 35+); a note after a semicolon."
	askUnclear = "The record alone cannot tell. Say: s slipped, h held, x REASON void, or a force (10, 35+)."
)

// parse reads one line as an answer to what is asked. hint is "" where it fits.
func parse(line string, v View, script bool) (c Command, hint string) {
	line = strings.TrimSpace(line)
	word, rest, _ := strings.Cut(line, " ")
	word, rest = strings.ToLower(word), strings.TrimSpace(rest)
	if word == "q" || word == "quit" {
		if v.Phase == Pulling {
			return c, askPulling
		}
		return Command{Verb: Quit}, ""
	}
	switch v.Phase {
	case Checks:
		if word == "y" || word == "yes" {
			return Command{Verb: Begin}, ""
		}
		return c, askChecks
	case Mounting, Settling, Ready:
		switch word {
		case "":
			if !script || v.Phase == Mounting {
				return Command{Verb: Tare}, ""
			}
		case "t", "tare":
			return Command{Verb: Tare}, ""
		case "u", "undo":
			return Command{Verb: Undo, Text: rest}, ""
		case "skip":
			return Command{Verb: Skip, Text: rest}, ""
		}
		return c, askMount
	case Pulling:
		if word == "e" || word == "end" {
			return Command{Verb: End}, ""
		}
		return c, askPulling
	case Judging:
		return parseJudgement(line, v)
	}
	return c, "the session is over"
}

// parseJudgement reads an answer to the tool's proposal.
func parseJudgement(line string, v View) (Command, string) {
	ask := askJudge
	if v.Proposal != nil && v.Proposal.Outcome == trial.Unclear {
		ask = askUnclear
	}
	answer, note, _ := strings.Cut(line, ";")
	note = strings.TrimSpace(note)
	switch strings.ToLower(strings.TrimSpace(answer)) {
	case "":
		return Command{Verb: Accept, Text: note}, ""
	case "s", "slipped":
		return Command{Verb: Slipped, Text: note}, ""
	case "h", "held":
		return Command{Verb: Held, Text: note}, ""
	}
	c, err := ParseReading(line, v.Unit)
	if err != nil {
		return Command{}, fmt.Sprintf("%v. %s", err, ask)
	}
	return c, ""
}

// print writes a text in place of the live line.
func (t *Terminal) print(format string, args ...any) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.clear()
	fmt.Fprintf(t.talk, format, args...)
}

// clear takes the live line off the screen.
func (t *Terminal) clear() {
	if t.width > 0 {
		fmt.Fprintf(t.talk, "\r%s\r", strings.Repeat(" ", t.width))
		t.width = 0
	}
}

// Show prints what is new, and the force on its own line where that can be
// written over.
func (t *Terminal) Show(v View) {
	t.mu.Lock()
	defer t.mu.Unlock()
	before := t.view
	t.view = v
	t.seen.Broadcast()
	for _, n := range v.Notices {
		t.clear()
		fmt.Fprintf(t.talk, "  %s\n", n.Text)
	}
	if l := v.Last; l != nil && (before.Last == nil || *l != *before.Last) {
		t.clear()
		fmt.Fprintln(t.out, l.Line(v.Unit))
	}
	if v.Phase != before.Phase || before.Planned == 0 || v.Next != before.Next {
		t.clear()
		io.WriteString(t.talk, introduction(v))
	}
	if t.live && (v.Phase == Ready || v.Phase == Pulling) {
		line := liveLine(v)
		fmt.Fprintf(t.talk, "\r%-*s", t.width, line)
		t.width = len([]rune(line))
	}
}

// introduction says what a phase asks for.
func introduction(v View) string {
	var b strings.Builder
	switch v.Phase {
	case Checks:
		for _, c := range trial.Cautions {
			fmt.Fprintf(&b, "! %s\n", c)
		}
		b.WriteString("Before the first pull:\n")
		for _, c := range trial.SetupChecks {
			fmt.Fprintf(&b, "  - %s\n", c)
		}
		fmt.Fprintln(&b, askChecks)
	case Mounting:
		fmt.Fprintf(&b, "\nPull %d of %d: %s\n%s\n", v.Done+1, v.Planned, v.Mount(), askMount)
	case Settling:
		b.WriteString("Taking the tare: let the link hang free.\n")
	case Ready:
		fmt.Fprintf(&b, "Ready. %s\n", askReady)
	case Pulling:
		b.WriteString("Pulling.\n")
	case Judging:
		b.WriteString(proposalText(v.Proposal, v.Unit))
	}
	return b.String()
}

// Mount says what is to be made ready for the next pull.
func (v View) Mount() string {
	p := v.Next
	text := p.Facing
	if p.Sample != "" {
		text += ", sample " + p.Sample
	}
	if p.Level != "" {
		text += "; clamp: " + p.Level
	}
	if v.Level.Weight > 0 {
		text += fmt.Sprintf(" (hang %g kg on the handle)", v.Level.Weight)
	}
	switch v.Clampings {
	case 0:
		return text + "; never clamped before"
	case 1:
		return text + "; clamped once before"
	}
	return text + fmt.Sprintf("; clamped %d times before", v.Clampings)
}

// mostWhy is how many sentences of evidence are shown to somebody at a vise.
const mostWhy = 4

func proposalText(p *Proposal, u unit.Unit) string {
	var b strings.Builder
	switch p.Outcome {
	case trial.Slipped:
		fmt.Fprintf(&b, "Slipped at %s", u.Format(p.Force, 4))
		if p.Result.Low < p.Result.High {
			fmt.Fprintf(&b, " (%s to %s)", u.Number(p.Result.Low, 4), u.Number(p.Result.High, 4))
		}
		if p.Result.Kind != "" {
			fmt.Fprintf(&b, ", %s", p.Result.Kind)
		}
	case trial.Held:
		fmt.Fprintf(&b, "Held, at least %s", u.Format(p.Force, 4))
	default:
		fmt.Fprintf(&b, "Unclear; greatest force %s", u.Format(p.Force, 4))
	}
	b.WriteString("\n")
	for i, w := range p.Why {
		if i == mostWhy {
			fmt.Fprintf(&b, "  (and %d more; `griptrial slip --why` shows all)\n", len(p.Why)-i)
			break
		}
		fmt.Fprintf(&b, "  %s\n", w)
	}
	for _, d := range p.Doubts {
		fmt.Fprintf(&b, "  ! %s\n", d)
	}
	if p.Outcome == trial.Unclear {
		fmt.Fprintln(&b, askUnclear)
	} else {
		fmt.Fprintln(&b, askJudge)
	}
	return b.String()
}

func liveLine(v View) string {
	line := fmt.Sprintf("  %8.*f %s", v.Places, v.Unit.FromSI(v.Force), v.Unit.Name)
	if v.Phase == Ready {
		return line
	}
	line += fmt.Sprintf("   peak %.*f   %.1f s", v.Places, v.Unit.FromSI(v.Peak), v.Elapsed)
	switch v.Load {
	case LoadHigh:
		line += "   80 % OF RATED LOAD"
	case LoadOver:
		line += "   OVER RATED LOAD: STOP"
	}
	return line
}

// Line says what was saved, in one line.
func (l Saved) Line(u unit.Unit) string {
	text := fmt.Sprintf("pull %d: %s", l.Pull, l.Planned.Facing)
	if l.Planned.Sample != "" {
		text += ", sample " + l.Planned.Sample
	}
	if l.Planned.Level != "" {
		text += ", " + l.Planned.Level
	}
	switch l.Outcome {
	case trial.Slipped:
		text += ": slipped at " + l.Shown(u)
	case trial.Held:
		text += ": held, at least " + l.Shown(u)
	default:
		text += ": void"
	}
	if l.Note != "" {
		text += " (" + l.Note + ")"
	}
	switch {
	case l.Undone:
		return "undone: " + text
	case l.Skipped:
		return "skipped: " + text
	}
	return "saved: " + text
}

// Shown is the force as it was typed, or else with four digits.
func (l Saved) Shown(u unit.Unit) string {
	if l.Digits != "" {
		return l.Digits + " " + u.Name
	}
	return u.Format(l.Force, 4)
}
