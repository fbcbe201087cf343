package main

import (
	"bufio"
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"griptrial/acquire/study"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// newAnswers are what `new` must know, as text: from flags or from answers.
type newAnswers struct {
	name, question     string
	facings, levels    []string
	usual              string
	unit               string
	division, capacity string
	arm                string
	scale              string
	samples            int
	blocks, repeats    int
	given              func(flag string) bool // whether a flag was written
}

// called is an answer's name in an error: a flag's where it came from one.
func (n newAnswers) called(name string) string {
	if n.given(name) {
		return "--" + name
	}
	return name
}

func newCommand(a *app) *cobra.Command {
	var n newAnswers
	cmd := &cobra.Command{
		Use:   "new [flags] DIR",
		Short: "Make a study folder, from flags or a few questions",
		Long: `new makes a folder DIR with study.toml, which says what is asked and how the
trial is rigged. Without --facing it asks a few questions (answers may be piped,
one a line, an empty one for what is proposed). Where the answers end before the
questions do, nothing is made. Edit study.toml afterwards: every line of it is
explained there.

A folder that holds anything is never written to.`,
		Example: `  griptrial new blanks
  griptrial new blanks --facing "ground steel" --facing "bonded P240 cloth" \
    --facing "cast polyurethane sheet" --facing "fine cross-cut serration" \
    --level "2 kg" --level "5 kg" --usual "5 kg" --samples 2 --division "0.5 kgf"`,
		Args: exactly(1, "the folder to make"),
		RunE: func(cmd *cobra.Command, args []string) error {
			n.given = cmd.Flags().Changed
			if len(n.facings) == 0 {
				if err := n.ask(a); err != nil {
					return err
				}
			}
			return runNew(a, args[0], n)
		},
	}
	f := cmd.Flags()
	f.StringVar(&n.name, "name", "", "name of the study (default: the folder's)")
	f.StringVar(&n.question, "question", "", "what the trial is to answer")
	f.StringArrayVar(&n.facings, "facing", nil, "what faces the jaws; repeat, the first is the control")
	f.StringArrayVar(&n.levels, "level", nil, `weight on the handle ("5 kg") or measured clamp force ("800 N"); repeat`)
	f.StringVar(&n.usual, "usual", "", "the level that the shop uses today")
	f.StringVar(&n.unit, "unit", "kgf", "unit in which forces are typed and shown")
	f.StringVar(&n.division, "division", "", `step the scale is read to, as "0.5 kgf" (default: read exactly)`)
	f.StringVar(&n.capacity, "capacity", "", `end of the scale, as "50 kgf"`)
	f.StringVar(&n.arm, "arm", "", `handle arm from the screw axis to the weight, as "150 mm"`)
	f.StringVar(&n.scale, "scale", "hand", `what reads the force: "hand" or "cell"`)
	f.IntVar(&n.samples, "samples", 2, "specimens of each facing; 0: not told apart")
	f.IntVar(&n.blocks, "blocks", 1, "sessions; each holds every facing at every level")
	f.IntVar(&n.repeats, "repeats", 2, "pulls of each facing and level in a block")
	return cmd
}

func runNew(a *app, dir string, n newAnswers) error {
	s, err := n.study(dir)
	if err != nil {
		return usageError{err}
	}
	f, err := study.CreateOn(a.files(), dir, s, "griptrial new")
	if err != nil {
		return n.asAnswered(err)
	}
	s = f.Setup()
	if err := f.Close(); err != nil {
		return err
	}
	pulls := s.Plan.Blocks * s.Plan.Repeats * len(s.Facings) * len(s.Levels)
	fmt.Fprintf(a.stdout, "made %s: %s × %s, %s\n", dir, counted(len(s.Facings), "facing"), counted(len(s.Levels), "clamp level"), counted(pulls, "pull"))
	fmt.Fprintf(a.stdout, "look over %s, then: griptrial plan %s\n", filepath.Join(dir, study.SetupFile), dir)
	return nil
}

// asAnswered words what study.toml would not take by the flag or the answer
// that it came from, because the file was not written.
func (n newAnswers) asAnswered(err error) error {
	var errs []error
	for _, e := range parts(errors.Unwrap(err)) { // below the words "new study"
		var bad *study.SetupError
		if !errors.As(e, &bad) {
			return err
		}
		table, key, _ := strings.Cut(bad.Key, ".")
		flag, _, _ := strings.Cut(table, "[")
		switch {
		case table == "plan" || table == "handle" || bad.Key == "scale.division" || bad.Key == "scale.capacity":
			flag = key
		case strings.Contains(key, "usual"):
			flag = "usual"
		}
		errs = append(errs, fmt.Errorf("%s: %s (nothing was written)", n.called(flag), bad.What))
	}
	return usageError{errors.Join(errs...)}
}

// counted writes a number and its noun.
func counted(n int, noun string) string {
	if n != 1 {
		noun += "s"
	}
	return fmt.Sprintf("%d %s", n, noun)
}

// study turns the answers into a study in SI.
func (n newAnswers) study(dir string) (trial.Study, error) {
	s := trial.Study{Name: n.name, Question: n.question, Unit: n.unit,
		Plan:  trial.Plan{Blocks: n.blocks, Repeats: n.repeats},
		Scale: trial.Scale{Kind: n.scale},
		Pull:  trial.PullSetup{How: "straight", Faces: 2},
	}
	if s.Name == "" {
		s.Name = filepath.Base(filepath.Clean(dir))
	}
	if s.Question == "" {
		s.Question = "Which facing holds, and with how little squeeze?"
	}
	switch {
	case n.samples < 0 || n.samples > 100:
		return s, fmt.Errorf("%s: %d is not from 0 to 100", n.called("samples"), n.samples)
	case n.blocks < 1:
		return s, fmt.Errorf("%s: %d is not 1 or more", n.called("blocks"), n.blocks)
	case n.repeats < 1:
		return s, fmt.Errorf("%s: %d is not 1 or more", n.called("repeats"), n.repeats)
	}
	for i, name := range n.facings {
		f := trial.Facing{Name: strings.TrimSpace(name), Control: i == 0}
		for k := range n.samples {
			f.Samples = append(f.Samples, strconv.Itoa(k+1))
		}
		s.Facings = append(s.Facings, f)
	}
	s.Typed = map[string]string{}
	for i, text := range n.levels {
		l, err := parseLevel(text)
		if err != nil {
			return s, fmt.Errorf("%s: %w", n.called("level"), err)
		}
		if _, u, err := unit.Parse(unit.Mass, text); err == nil {
			s.Typed[fmt.Sprintf("level[%d].weight", i)] = u.Name
		} else if _, u, err := unit.Parse(unit.Force, text); err == nil {
			s.Typed[fmt.Sprintf("level[%d].clamp", i)] = u.Name
		}
		s.Levels = append(s.Levels, l)
	}
	if len(s.Levels) == 0 {
		s.Levels = []trial.Level{{Name: "usual", Usual: true}}
	}
	if n.usual != "" {
		found := false
		for i := range s.Levels {
			s.Levels[i].Usual = s.Levels[i].Name == n.usual
			found = found || s.Levels[i].Usual
		}
		if !found {
			return s, fmt.Errorf("%s: %q is not one of the levels", n.called("usual"), n.usual)
		}
	}
	var err error
	if _, err = unit.Lookup(unit.Force, n.unit); err != nil {
		return s, fmt.Errorf("%s: %w", n.called("unit"), err)
	}
	for _, q := range []struct {
		name, key, text string
		kind            unit.Kind
		si              *float64
	}{
		{"division", "scale.division", n.division, unit.Force, &s.Scale.Division},
		{"capacity", "scale.capacity", n.capacity, unit.Force, &s.Scale.Capacity},
		{"arm", "handle.arm", n.arm, unit.Length, &s.Handle.Arm},
	} {
		if q.text == "" {
			continue
		}
		var u unit.Unit
		if *q.si, u, err = unit.Parse(q.kind, q.text); err != nil {
			return s, fmt.Errorf("%s: %w", n.called(q.name), err)
		}
		s.Typed[q.key] = u.Name
		if *q.si <= 0 {
			return s, fmt.Errorf("%s: %s is not above zero", n.called(q.name), q.text)
		}
	}
	return s, nil
}

// parseLevel takes a mass as a handle weight and a force as a clamp force.
func parseLevel(text string) (trial.Level, error) {
	l := trial.Level{Name: strings.TrimSpace(text)}
	w, _, massErr := unit.Parse(unit.Mass, text)
	f, _, forceErr := unit.Parse(unit.Force, text)
	switch {
	case massErr == nil:
		l.Weight = w
	case forceErr == nil:
		l.Clamp = f
	default:
		return l, fmt.Errorf("%q: %w; a level is a weight such as \"5 kg\" or a clamp force such as \"800 N\"", text, massErr)
	}
	if l.Weight+l.Clamp <= 0 {
		return l, fmt.Errorf("%s is not above zero", text)
	}
	return l, nil
}

// terminal reports whether a stream is a terminal at which a person sits.
func terminal(stream any) bool {
	f, ok := stream.(interface{ Fd() uintptr })
	return ok && term.IsTerminal(int(f.Fd()))
}

// ask puts the questions whose answers were not given as flags. At a terminal
// a bad answer is asked again; from a pipe it is an error.
// Input that ends before the last answer makes nothing: what it would have been
// is not known.
func (n *newAnswers) ask(a *app) error {
	lines := bufio.NewScanner(a.stdin)
	person := terminal(a.stdin)
	count := func(into *int, least int) func(string) error {
		return func(s string) error {
			v, err := strconv.Atoi(s)
			if err != nil || v < least {
				return fmt.Errorf("%q is not a whole number from %d on", s, least)
			}
			*into = v
			return nil
		}
	}
	force := func(into *string) func(string) error {
		return func(s string) error {
			// The unit has just been said.
			if _, err := strconv.ParseFloat(s, 64); err == nil {
				s += " " + n.unit
			}
			*into = s
			_, _, err := unit.Parse(unit.Force, s)
			return err
		}
	}
	for _, q := range []struct {
		flag, text string
		take       func(string) error // "" is not passed on: the default stands
	}{
		{"facing", "What faces the jaws? The control first, commas between: ", func(s string) error { n.facings = listed(s); return distinct(n.facings) }},
		{"level", "Weights hung on the handle, commas between, as 2 kg, 5 kg (Enter: one level): ", func(s string) error {
			n.levels = listed(s)
			for _, l := range n.levels {
				if _, err := parseLevel(l); err != nil {
					return err
				}
			}
			return distinct(n.levels)
		}},
		{"unit", "Unit of force on the scale (Enter: kgf): ", func(s string) error { n.unit = s; _, err := unit.Lookup(unit.Force, s); return err }},
		{"division", "Step the scale is read to, as 0.5 {unit} (Enter: read exactly): ", force(&n.division)},
		{"samples", "Specimens of each facing (Enter: 2): ", count(&n.samples, 0)},
		{"repeats", "Pulls of each facing at each level in a session (Enter: 2): ", count(&n.repeats, 1)},
		{"blocks", "Sessions (Enter: 1): ", count(&n.blocks, 1)},
	} {
		if n.given(q.flag) {
			continue
		}
		for {
			fmt.Fprint(a.stderr, strings.ReplaceAll(q.text, "{unit}", n.unit))
			answer, more := "", lines.Scan()
			if more {
				answer = strings.TrimSpace(lines.Text())
			}
			if err := lines.Err(); err != nil {
				return fmt.Errorf("reading the answers: %w", err)
			}
			if !person || !more {
				fmt.Fprintln(a.stderr, answer)
			}
			if !more {
				return usageError{fmt.Errorf("the answers ended before this question (nothing was written); answer each, with an empty line for what is proposed, or give it as --%s", q.flag)}
			}
			var err error
			switch {
			case answer != "":
				err = q.take(answer)
			case q.flag == "facing":
				err = errors.New("a trial needs at least one facing; name it, or use --facing")
			}
			if err == nil {
				break
			}
			if !person {
				return usageError{fmt.Errorf("%s: %w (nothing was written)", q.flag, err)}
			}
			fmt.Fprintln(a.stderr, err)
		}
	}
	return nil
}

// listed splits an answer at commas and drops what is empty.
func listed(s string) []string {
	var out []string
	for _, x := range strings.Split(s, ",") {
		if x = strings.TrimSpace(x); x != "" {
			out = append(out, x)
		}
	}
	return out
}

// distinct refuses a name that is given twice; capitals do not matter.
func distinct(names []string) error {
	seen := map[string]bool{}
	for _, name := range names {
		fold := strings.ToLower(name)
		if seen[fold] {
			return fmt.Errorf("%q is named twice", name)
		}
		seen[fold] = true
	}
	return nil
}
