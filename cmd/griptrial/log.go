package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"griptrial/acquire/study"
	"griptrial/acquire/study/entry"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

func logCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "log DIR",
		Short: "Type readings in, pull by pull",
		Long: `log shows the next pull of the plan and takes what was read:

` + logHelp + `
Every pull is on disk before the next is shown. Lines may be piped, one a pull;
the first that cannot be taken then ends the command, because the readings after
it would be taken for the wrong pulls. Lines that start with # are passed over.

Before you pull (a person sees it before the first pull of a day):
` + cautionText(),
		Example: `  griptrial log blanks
  printf '10\n35+\nx tie let go\n35+\n' | griptrial log blanks
  echo '10 @ground steel#1/5 kg' | griptrial log unplanned`,
		Args: exactly(1, "a study folder"),
		RunE: func(cmd *cobra.Command, args []string) error { return runLog(cmd.Context(), a, args[0]) },
	}
}

const logHelp = `  10              slipped at 10, in the study's unit
  10.5 kgf        slipped at 10.5 kgf; 10,5 is taken too
  35+             held at 35: it carried 35 and did not slip
  x tie let go    void, and why; the pull is asked for again
  skip strip tore void, and why; the pull is not asked for again
  10 ; crept      with a note after the semicolon
  10 @P240#2/5 kg with facing, sample and level, where there is no plan
  undo            take the last pull back (undo and why, if you like); again
                  to go further back
  ?               this list
  q               stop; log goes on from here next time
`

// cautionText stands at the head of whatever leads to a pull.
func cautionText() string {
	var b strings.Builder
	for _, c := range trial.Cautions {
		fmt.Fprintf(&b, "! %s\n", c)
	}
	b.WriteString("Before the first pull:\n")
	for _, c := range trial.SetupChecks {
		fmt.Fprintf(&b, "  [ ] %s\n", c)
	}
	return b.String()
}

func printCautions(w io.Writer) { fmt.Fprintln(w, cautionText()) }

// caution shows a person everything before the first pull of the day in this
// study. What is piped, and who goes on, gets the gravest line and where the
// others are.
func (l *logger) caution() {
	today := l.now()
	begun := slices.ContainsFunc(l.f.History(), func(r study.Row) bool {
		return r.Time.In(today.Location()).Format(time.DateOnly) == today.Format(time.DateOnly)
	})
	if l.person && !begun {
		printCautions(l.stderr)
		return
	}
	fmt.Fprintf(l.stderr, "! %s All cautions and the checklist: griptrial log --help\n", trial.Cautions[1])
}

func runLog(ctx context.Context, a *app, dir string) (err error) {
	f, err := study.OpenForWritingOn(a.files(), dir, "griptrial log")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	l := &logger{app: a, f: f, person: terminal(a.stdin)}
	if l.unit, err = unit.Lookup(unit.Force, f.Setup().Unit); err != nil {
		return err
	}
	for _, p := range f.Recovered() {
		fmt.Fprintf(a.stderr, "note: %v\n", p)
	}
	l.caution()
	fmt.Fprintf(a.stderr, "Forces in %s. Type ? for what can be typed.\n", l.unit.Name)
	lines := typedLines(ctx, a.stdin)
	for number := 1; ; number++ {
		l.prompt()
		var line typedLine
		more := false
		select {
		case line, more = <-lines:
		case <-ctx.Done():
		}
		if !more {
			return l.goodbye()
		}
		if line.err != nil {
			return fmt.Errorf("reading what was typed: %w", line.err)
		}
		if !l.person {
			fmt.Fprintln(a.stderr, line.text)
		}
		stop, err := l.take(strings.TrimSpace(line.text))
		var bad *entry.Error
		switch {
		case stop:
			return l.goodbye()
		case err == nil:
		case l.person:
			fmt.Fprintf(a.stderr, "  not taken: %v\n", err)
		case errors.As(err, &bad):
			return fmt.Errorf("standard input:%d:%d: %s; the lines before it are saved, the rest was not read", number, bad.Column, bad.What)
		default:
			return fmt.Errorf("standard input:%d: %w; the lines before it are saved, the rest was not read", number, err)
		}
	}
}

type typedLine struct {
	text string
	err  error
}

// typedLines reads lines on the side, so that an interrupt need not wait for
// the next one.
func typedLines(ctx context.Context, r io.Reader) <-chan typedLine {
	out := make(chan typedLine)
	go func() {
		defer close(out)
		send := func(l typedLine) bool {
			select {
			case out <- l:
				return true
			case <-ctx.Done():
				return false
			}
		}
		lines := bufio.NewScanner(r)
		n := 1
		for ; lines.Scan(); n++ {
			if !send(typedLine{text: lines.Text()}) {
				return
			}
		}
		if err := lines.Err(); err != nil {
			if errors.Is(err, bufio.ErrTooLong) {
				err = fmt.Errorf("line %d is far too long for a reading", n)
			}
			send(typedLine{err: err})
		}
	}()
	return out
}

// logger is one session of typing.
type logger struct {
	*app
	f      *study.Folder
	unit   unit.Unit
	person bool
	saved  int
}

// prompt shows the next pull.
func (l *logger) prompt() {
	p, ok := l.f.Next()
	switch {
	case !l.f.HasPlan():
		fmt.Fprint(l.stderr, "reading, as 10 @facing#sample > ")
	case !ok:
		fmt.Fprint(l.stderr, "the plan is done (undo, or q) > ")
	default:
		fmt.Fprintf(l.stderr, "%d of %d: %s > ", p.Order, len(l.f.Plan()), where(p.Facing, p.Sample, p.Level))
	}
}

// where says what is in the vise and how it is clamped.
func where(facing, sample, level string) string {
	s := facing
	if sample != "" {
		s += " #" + sample
	}
	if level != "" {
		s += " at " + level
	}
	return s
}

// take does what one line asks; stop is true when the session is to end.
func (l *logger) take(line string) (stop bool, err error) {
	word, rest, _ := strings.Cut(line, " ")
	switch strings.ToLower(word) {
	case "":
		return false, nil
	case "q", "quit":
		return true, nil
	case "?", "help":
		fmt.Fprint(l.stderr, logHelp)
		return false, nil
	case "undo":
		return false, l.undo(rest)
	case "skip":
		return false, l.save("x "+rest, true)
	}
	if strings.HasPrefix(line, "#") {
		return false, nil
	}
	return false, l.save(line, false)
}

func (l *logger) undo(reason string) error {
	reason = strings.TrimSpace(reason)
	// A number is no reason: who types it means that pull, or that many.
	if _, err := strconv.ParseFloat(strings.TrimPrefix(reason, "#"), 64); err == nil {
		return fmt.Errorf("undo takes the last pull back, not number %s; to go further back, undo again; to say why, type undo and words", reason)
	}
	old, err := l.f.Undo(reason, l.now())
	if err != nil {
		return err
	}
	l.saved = max(0, l.saved-1)
	fmt.Fprintf(l.stdout, "undone  pull %d: %s\n", old.Pull, l.said(old.Reading))
	return nil
}

// asRead writes a force with no more digits than it was read with.
func asRead(si float64, u unit.Unit) string {
	return strconv.FormatFloat(u.FromSI(si), 'g', 6, 64) + " " + u.Name
}

// said words a reading.
func (l *logger) said(r trial.Reading) string {
	at := where(r.Facing, r.Sample, r.Level)
	switch r.Outcome {
	case trial.Slipped:
		return fmt.Sprintf("%s slipped at %s", at, asRead(r.Force, l.unit))
	case trial.Held:
		return fmt.Sprintf("%s held at %s", at, asRead(r.Force, l.unit))
	}
	return fmt.Sprintf("%s void: %s", at, r.Note)
}

func (l *logger) save(line string, skip bool) error {
	typed, err := entry.Parse(line, l.unit)
	if err != nil {
		return err
	}
	e := study.Entry{Outcome: typed.Outcome, Force: typed.Force, Digits: typed.Digits, Typed: line, Note: typed.Note, Judged: study.ByPerson, Skip: skip, Time: l.now()}
	if end := l.f.Setup().Scale.Capacity; end > 0 && e.Force > end {
		return fmt.Errorf("%s is beyond the scale's end, %s; type what was read", asRead(e.Force, l.unit), asRead(end, l.unit))
	}
	if l.f.HasPlan() {
		err = l.planned(&e, typed)
	} else {
		err = l.unplanned(&e, typed)
	}
	if err != nil {
		return err
	}
	pull, err := l.f.Append(e)
	if err != nil {
		return err
	}
	l.saved++
	r, _ := l.f.Row(pull)
	fmt.Fprintf(l.stdout, "saved   pull %d: %s\n", pull, l.said(r.Reading))
	if step := r.Division; step > 0 && r.High == 0 && !onStep(r.Force, step) {
		other := ""
		if typed.Unit != "" {
			other = fmt.Sprintf("; you typed %s, the study is in %s", typed.Unit, l.unit.Name)
		}
		fmt.Fprintf(l.stderr, "Is that right? %s is no step of the scale, which is read to %s%s. It is saved as typed; undo takes it back.\n", asRead(r.Force, l.unit), asRead(step, l.unit), other)
	}
	return nil
}

// onStep reports whether a reading stands on a step of the scale, as far as
// units that do not divide each other allow.
func onStep(force, step float64) bool {
	n := force / step
	return math.Abs(n-math.Round(n)) < 1e-6*math.Max(1, n)
}

// planned puts an entry in its place in the plan.
func (l *logger) planned(e *study.Entry, typed entry.Entry) error {
	p, ok := l.f.Next()
	if typed.Facing != "" {
		var names []string
		for _, x := range l.f.Setup().Facings {
			names = append(names, x.Name)
		}
		if _, err := oneNamed("facing", typed.Facing, names); err != nil {
			return fmt.Errorf("%q is not in the plan (%s); leave the @ away, the plan knows what is next", typed.Facing, strings.Join(names, ", "))
		}
		return errors.New("the plan knows which facing is next; leave the @ and what follows away")
	}
	if !ok {
		return errors.New("the plan is done; `undo` takes the last pull back")
	}
	e.Order = p.Order
	return nil
}

// unplanned finds what was named in study.toml. A name may be cut short.
func (l *logger) unplanned(e *study.Entry, typed entry.Entry) (err error) {
	s := l.f.Setup()
	if typed.Facing == "" {
		return errors.New("there is no plan, so say what was in the vise: 10 @facing#sample (or draw one: griptrial plan)")
	}
	var facings, levels []string
	for _, x := range s.Facings {
		facings = append(facings, x.Name)
	}
	for _, x := range s.Levels {
		levels = append(levels, x.Name)
	}
	if e.Facing, err = oneNamed("facing", typed.Facing, facings); err != nil {
		return err
	}
	switch {
	case typed.Level != "":
		if e.Level, err = oneNamed("level", typed.Level, levels); err != nil {
			return err
		}
	case len(levels) == 1:
		e.Level = levels[0]
	default:
		return fmt.Errorf("say the clamp level too: 10 @facing#sample/%s", levels[0])
	}
	e.Sample = typed.Sample
	for _, x := range s.Facings {
		if x.Name == e.Facing && len(x.Samples) > 0 && e.Sample == "" {
			if len(x.Samples) > 1 {
				return fmt.Errorf("say which sample of %s: 10 @%s#%s", x.Name, typed.Facing, x.Samples[0])
			}
			e.Sample = x.Samples[0]
		}
	}
	return nil
}

// oneNamed finds the one name that was meant: spelled out, or a part of it
// that no other name has; capitals do not matter.
func oneNamed(what, typed string, names []string) (string, error) {
	var fit []string
	for _, n := range names {
		if strings.EqualFold(n, typed) {
			return n, nil
		}
		if strings.Contains(strings.ToLower(n), strings.ToLower(typed)) {
			fit = append(fit, n)
		}
	}
	switch len(fit) {
	case 1:
		return fit[0], nil
	case 0:
		return "", fmt.Errorf("%q is not a %s of this study (%s)", typed, what, strings.Join(names, ", "))
	}
	return "", fmt.Errorf("%q may be %s", typed, strings.Join(fit, " or "))
}

// goodbye says where the session stands.
func (l *logger) goodbye() error {
	fmt.Fprintln(l.stderr)
	switch {
	case !l.f.HasPlan():
		fmt.Fprintf(l.stdout, "%s saved in %s\n", counted(l.saved, "pull"), l.f.Dir())
	case l.f.Left() > 0:
		fmt.Fprintf(l.stdout, "%s saved in %s, %d of the plan to do\n", counted(l.saved, "pull"), l.f.Dir(), l.f.Left())
	default:
		fmt.Fprintf(l.stdout, "%s saved in %s; the plan is done. Next: griptrial report %s\n", counted(l.saved, "pull"), l.f.Dir(), l.f.Dir())
	}
	return nil
}
