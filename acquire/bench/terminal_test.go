package bench

import (
	"bytes"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

func newtons(t *testing.T) unit.Unit {
	t.Helper()
	u, err := unit.Lookup(unit.Force, "kgf")
	require.NoError(t, err)
	return u
}

func TestParse(t *testing.T) {
	u := newtons(t)
	judging := View{Phase: Judging, Unit: u, Proposal: &Proposal{Outcome: trial.Slipped}}
	unclear := View{Phase: Judging, Unit: u, Proposal: &Proposal{Outcome: trial.Unclear}}
	for _, c := range []struct {
		view   View
		line   string
		script bool
		want   Command
		hint   string // part of it
	}{
		{View{Phase: Checks}, "yes", false, Command{Verb: Begin}, ""},
		{View{Phase: Checks}, " Y ", true, Command{Verb: Begin}, ""},
		{View{Phase: Checks}, "", false, Command{}, "Type yes"},
		{View{Phase: Mounting}, "", true, Command{Verb: Tare}, ""},
		{View{Phase: Ready}, "", false, Command{Verb: Tare}, ""},
		{View{Phase: Ready}, "", true, Command{}, "Enter takes the tare"},
		{View{Phase: Ready}, "t", true, Command{Verb: Tare}, ""},
		{View{Phase: Settling}, "undo wrong strip", false, Command{Verb: Undo, Text: "wrong strip"}, ""},
		{View{Phase: Ready}, "u", false, Command{Verb: Undo}, ""},
		{View{Phase: Mounting}, "skip strip tore", false, Command{Verb: Skip, Text: "strip tore"}, ""},
		{View{Phase: Mounting}, "35+", false, Command{}, "Enter takes the tare"},
		{View{Phase: Mounting}, "q", false, Command{Verb: Quit}, ""},
		{View{Phase: Pulling}, "q", false, Command{}, "Type e"},
		{View{Phase: Pulling}, "e", false, Command{Verb: End}, ""},
		{View{Phase: Pulling}, "", false, Command{}, "Type e"},
		{judging, "", false, Command{Verb: Accept}, ""},
		{judging, "; crept first", false, Command{Verb: Accept, Text: "crept first"}, ""},
		{judging, "S", false, Command{Verb: Slipped}, ""},
		{judging, "held; seen to stay", false, Command{Verb: Held, Text: "seen to stay"}, ""},
		{judging, "x tie let go", false, Command{Verb: Void, Text: "tie let go", Typed: "x tie let go"}, ""},
		{judging, "10", false, Command{Verb: Slipped, Force: u.ToSI(10), Digits: "10", Typed: "10"}, ""},
		{judging, "35+ ; end of the scale", false, Command{Verb: Held, Force: u.ToSI(35), Digits: "35", Text: "end of the scale", Typed: "35+ ; end of the scale"}, ""},
		{judging, "10 @P240", false, Command{}, "the plan says what is pulled"},
		{judging, "perhaps", false, Command{}, "Enter confirms"},
		{unclear, "perhaps", false, Command{}, "The record alone cannot tell"},
		{View{Phase: Over}, "", false, Command{}, "over"},
	} {
		got, hint := parse(c.line, c.view, c.script)
		assert.Equal(t, c.want, got, "%v %q", c.view.Phase, c.line)
		if c.hint == "" {
			assert.Empty(t, hint, "%v %q", c.view.Phase, c.line)
		} else {
			assert.Contains(t, hint, c.hint, "%v %q", c.view.Phase, c.line)
		}
	}
}

// Of a script, an answer waits until it is asked for; from a person, one out of
// turn is explained and forgotten.
func TestWhenAnAnswerIsTaken(t *testing.T) {
	next := func(term *Terminal) Command {
		select {
		case c := <-term.Commands():
			return c
		case <-time.After(10 * time.Second):
			t.Fatal("no command came")
			return Command{}
		}
	}
	for _, script := range []bool{true, false} {
		var talk bytes.Buffer
		in, keys := io.Pipe()
		term := NewTerminal(in, io.Discard, &talk, false, script)
		term.Show(View{Step: 1, Phase: Pulling, Unit: newtons(t)})
		_, err := io.WriteString(keys, "held\n")
		require.NoError(t, err)
		if !script {
			_, err = io.WriteString(keys, "e\n") // read once the line before was dealt with
			require.NoError(t, err)
			assert.Equal(t, Command{Verb: End}, next(term))
			assert.Contains(t, talk.String(), askPulling)
		} else {
			term.Show(View{Step: 2, Phase: Judging, Unit: newtons(t), Proposal: &Proposal{}})
			assert.Equal(t, Command{Verb: Held}, next(term))
			assert.NotContains(t, talk.String(), askPulling)
		}
		require.NoError(t, keys.Close())
		term.Close()
	}
}

func TestScreen(t *testing.T) {
	var out, talk bytes.Buffer
	term := NewTerminal(strings.NewReader(""), &out, &talk, true, false)
	defer term.Close()
	u := newtons(t)
	next := trial.PlannedPull{Order: 3, Block: "1", Facing: "ground steel", Sample: "2", Level: "usual"}
	v := View{Step: 1, Phase: Mounting, Unit: u, Places: 2, Next: next, Level: trial.Level{Name: "usual", Weight: 3}, Clampings: 1, Done: 2, Planned: 8}
	term.Show(v)
	assert.Contains(t, talk.String(), "Pull 3 of 8: ground steel, sample 2; clamp: usual (hang 3 kg on the handle); clamped once before\n")
	talk.Reset()
	v.Step, v.Phase, v.Force, v.Peak, v.Elapsed, v.Load = 2, Pulling, u.ToSI(9.5), u.ToSI(10), 1.25, LoadOver
	term.Show(v)
	assert.True(t, strings.HasSuffix(talk.String(), "\r      9.50 kgf   peak 10.00   1.2 s   OVER RATED LOAD: STOP"), "%q", talk.String())
	talk.Reset()
	v.Step, v.Phase = 3, Judging
	v.Proposal = &Proposal{Outcome: trial.Slipped, Force: u.ToSI(10), Result: slip.Result{Low: u.ToSI(9.9), High: u.ToSI(10.1), Kind: slip.Sharp},
		Why: []string{"1", "2", "3", "4", "5"}, Doubts: []string{"5 samples were lost on the way"}}
	term.Show(v)
	assert.Contains(t, talk.String(), "Slipped at 10.00 kgf (9.900 to 10.10), sharp\n  1\n  2\n  3\n  4\n  (and 1 more; `griptrial slip --why` shows all)\n  ! 5 samples were lost on the way\n"+askJudge)
	talk.Reset()
	v.Step, v.Phase, v.Last = 4, Mounting, &Saved{Pull: 3, Planned: next, Outcome: trial.Held, Force: u.ToSI(35), Note: "firm"}
	term.Show(v)
	undone := *v.Last
	undone.Undone = true
	v.Last = &undone
	term.Show(v)
	assert.Equal(t, "saved: pull 3: ground steel, sample 2, usual: held, at least 35.00 kgf (firm)\n"+
		"undone: pull 3: ground steel, sample 2, usual: held, at least 35.00 kgf (firm)\n", out.String())
}
