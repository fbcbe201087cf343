package bench_test

import (
	"context"
	"errors"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/bench"
	"griptrial/acquire/study"
	"griptrial/acquire/table"
	"griptrial/acquire/wire"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// slips is a pull that gives way at 50 N.
func (t *tape) slips() *tape { return t.rest(1.5).to(0, 50, 3).to(20, 22, 1).to(22, 0, 1).rest(2) }

// script answers each phase with the commands that are still left for it, and
// like somebody agreeable afterwards. What was replied is kept in order.
func script(t *testing.T, commands map[bench.Phase][]bench.Command, replies *[]bench.Reply) func(bench.View) (bench.Command, bool) {
	t.Helper()
	var waiting chan bench.Reply
	return func(v bench.View) (bench.Command, bool) {
		if waiting != nil {
			select {
			case r := <-waiting:
				*replies = append(*replies, r)
			default:
				t.Error("a command was not replied to")
			}
			waiting = nil
		}
		todo := commands[v.Phase]
		if len(todo) == 0 {
			return agreeable(v)
		}
		commands[v.Phase] = todo[1:]
		c := todo[0]
		waiting = make(chan bench.Reply, 1)
		c.Reply = waiting
		return c, true
	}
}

func unitN(t *testing.T) unit.Unit {
	t.Helper()
	u, err := unit.Lookup(unit.Force, "N")
	require.NoError(t, err)
	return u
}

func seconds(s float64) *float64 { return &s }

// The slip point that a person moved is what is saved, and the tool's own
// stands beside it.
func TestMarkMovedByHand(t *testing.T) {
	f := folder(t)
	var replies []bench.Reply
	var proposals []bench.Proposal
	answer := script(t, map[bench.Phase][]bench.Command{bench.Judging: {
		{Verb: bench.Place, To: bench.Placing{By: -10}},
		{Verb: bench.Place, To: bench.Placing{At: seconds(2)}},
		{Verb: bench.Place, To: bench.Placing{By: 3}},
		{Verb: bench.Place, To: bench.Placing{By: -1_000_000}}, // the beginning, where there is no load, or next to none
		{Verb: bench.Place, To: bench.Placing{Reset: true}},
		{Verb: bench.Place, To: bench.Placing{At: seconds(1)}},
		{Verb: bench.Slipped, Text: "saw it go"},
	}}, &replies)
	sum, _, _ := play(t, f, newTape().slips(), func(v bench.View) (bench.Command, bool) {
		if v.Phase == bench.Judging {
			proposals = append(proposals, *v.Proposal)
		}
		return answer(v)
	})
	assert.Equal(t, 1, sum.Slipped)
	require.Len(t, proposals, 7)
	tool := proposals[0].Tool
	require.NotNil(t, tool)
	assert.Nil(t, proposals[0].Person)
	assert.InDelta(t, 50, tool.Force, 0.2)
	assert.Equal(t, tool.Index-10, proposals[1].Person.Index, "ten samples back from where the tool had it")
	assert.Equal(t, tool, proposals[6].Tool, "the tool's own never moves")
	assert.InDelta(t, 2, proposals[2].Person.T-proposals[2].Began, 0.0051)
	assert.Equal(t, proposals[2].Person.Index+3, proposals[3].Person.Index)
	assert.Nil(t, proposals[5].Person, "back to the tool's")
	person := proposals[6].Person
	f = whole(t, f)
	row := f.Current()[0]
	assert.InEpsilon(t, person.Force, row.Force, 1e-12)
	assert.Equal(t, study.ByPerson, row.Judged)
	assert.Zero(t, row.High, "the tool's interval is not that of a person's mark")
	facts, err := f.Facts()
	require.NoError(t, err)
	last := facts[len(facts)-1]
	assert.Equal(t, study.Moved, last.What)
	assert.Equal(t, row.Pull, last.Pull)
	assert.Equal(t, study.Mark{T: tool.T, Force: tool.Force}, last.Tool)
	assert.Equal(t, study.Mark{T: person.T, Force: person.Force}, last.Person)

	file, err := os.Open(f.TracePath(row.Pull))
	require.NoError(t, err)
	defer file.Close()
	trace, err := table.ReadTrace("trace", file)
	require.NoError(t, err)
	assert.InDelta(t, trace.Trace.Force[person.Index], person.Force, 0.05, "it is what the trace says at that place, above rest")
}

// Each check is ticked by itself, and the pulls begin when all are.
func TestChecksAreTicked(t *testing.T) {
	f := folder(t)
	n := len(trial.SetupChecks)
	var commands []bench.Command
	for i := range n - 1 {
		commands = append(commands, bench.Command{Verb: bench.Tick, N: i, On: true})
	}
	commands = append(commands,
		bench.Command{Verb: bench.Begin, Ticked: true},           // one is missing
		bench.Command{Verb: bench.Tick, N: n, On: true},          // there is none
		bench.Command{Verb: bench.Tick, N: 0},                    // taken back
		bench.Command{Verb: bench.Tick, N: n - 1, On: true},      //
		bench.Command{Verb: bench.Begin, Ticked: true},           // the first is missing
		bench.Command{Verb: bench.Tick, N: 0, On: true},          //
		bench.Command{Verb: bench.Begin, Ticked: true, Step: 99}, // of another screen
		bench.Command{Verb: bench.Begin, Ticked: true},
	)
	var replies []bench.Reply
	_, _, _ = play(t, f, newTape().rest(1), script(t, map[bench.Phase][]bench.Command{bench.Checks: commands}, &replies))
	var refused []string
	for _, r := range replies {
		if !r.Done {
			refused = append(refused, r.Text)
		}
	}
	assert.Equal(t, []string{"not yet looked at: " + trial.SetupChecks[n-1], "there is no such check", "not yet looked at: " + trial.SetupChecks[0],
		"the session has gone on since; look again"}, refused)
	assert.True(t, replies[len(replies)-2].Stale)
	assert.Equal(t, replies[0].Step, replies[n].Step, "ticks leave the step as it is, and so does what was refused")
	facts, err := whole(t, f).Facts()
	require.NoError(t, err)
	require.Len(t, facts, n)
	for i, fact := range facts {
		assert.Equal(t, study.Looked, fact.What)
		assert.Equal(t, trial.SetupChecks[i], fact.Text)
	}
}

// A session that begins again soon finds the set-up looked at, and does not
// keep the same ticks twice; one that begins later does not.
func TestChecksAfterARestart(t *testing.T) {
	f := folder(t)
	now := clock()
	begin := func(after time.Duration) (ticked int, notices string) {
		now = now.Add(after)
		var o onlooker
		_, err := bench.Drive(context.Background(), bench.Config{Folder: f, Calibration: cell(), Now: func() time.Time { return now }, Operator: &o,
			Source: func(context.Context) bench.Source {
				return wire.NewReader(&newTape().rest(1).Buffer, wire.ReaderOptions{})
			}},
			func(v bench.View) (bench.Command, bool) {
				if v.Phase != bench.Checks {
					return bench.Command{Verb: bench.Quit}, true
				}
				for _, c := range v.Checks {
					if !c.At.IsZero() {
						ticked++
					}
				}
				return bench.Command{Verb: bench.Begin}, true
			})
		require.NoError(t, err)
		return ticked, strings.Join(o.notices, "\n")
	}
	count := func() int {
		facts, err := f.Facts()
		require.NoError(t, err)
		return len(facts)
	}
	n := len(trial.SetupChecks)
	ticked, _ := begin(0)
	assert.Zero(t, ticked)
	require.Equal(t, n, count())
	ticked, notices := begin(20 * time.Minute)
	assert.Equal(t, n, ticked)
	assert.Contains(t, notices, "the set-up was looked at a moment ago, at 10:00")
	assert.Equal(t, n, count(), "not noted again")
	ticked, _ = begin(3 * time.Hour)
	assert.Zero(t, ticked)
	assert.Equal(t, 2*n, count())
}

// Readings of a hand scale go through the same session.
func TestTypedReadings(t *testing.T) {
	f := folder(t)
	reading := func(line string) bench.Command {
		u := unitN(t)
		c, err := bench.ParseReading(line, u)
		require.NoError(t, err)
		return c
	}
	commands := make(chan bench.Command)
	var replies []bench.Reply
	steps := []bench.Command{{Verb: bench.Begin}, {Verb: bench.Slipped}, reading("42.50 ; crept"), reading("35+"), {Verb: bench.Undo, Text: "wrong strip"},
		reading("36+"), reading("x tie let go"), {Verb: bench.Void}, {Verb: bench.Tare}, {Verb: bench.Skip, Text: "strip tore"}, reading("12"), {Verb: bench.Undo}, reading("13"), {Verb: bench.Look}, {Verb: bench.Quit}}
	asked := make(chan struct{})
	go func() {
		defer close(asked)
		for _, c := range steps {
			ch := make(chan bench.Reply, 1)
			c.Reply = ch
			commands <- c
			replies = append(replies, <-ch)
		}
		close(commands)
	}()
	var last bench.View
	var o watcher
	o.commands, o.show = commands, func(v bench.View) { last = v }
	sum, err := bench.Run(context.Background(), bench.Config{Folder: f, Operator: &o, Now: clock, Stay: true})
	require.NoError(t, err)
	<-asked
	var refused []string
	for _, r := range replies {
		if !r.Done {
			refused = append(refused, r.Text)
		}
	}
	assert.Equal(t, []string{"type what was read: 10 (slipped at 10), 35+ (held at 35)", "a void pull needs a reason", "not now (typing)"}, refused)
	assert.Equal(t, bench.Summary{Slipped: 2, Held: 1, Void: 1}, sum)
	assert.Len(t, replies[13].Readings, 5)
	assert.Equal(t, bench.Over, last.Phase)
	assert.Equal(t, bench.NoCell, last.Cell.Link)
	rows := whole(t, f).Current()
	require.Len(t, rows, 5)
	assert.Equal(t, "42.50 ; crept", rows[0].Typed)
	assert.Equal(t, "crept", rows[0].Note)
	assert.InDelta(t, 36, rows[1].Force, 1e-12)
	assert.Equal(t, trial.Held, rows[1].Outcome)
	assert.InDelta(t, 13, rows[4].Force, 1e-12, "the last was undone when the plan was done, and typed again")
	facts, err := f.Facts()
	require.NoError(t, err)
	assert.Equal(t, study.Peeked, facts[len(facts)-1].What, "that somebody looked is kept")
}

// watcher is an operator made of two functions.
type watcher struct {
	show     func(bench.View)
	commands chan bench.Command
}

func (w *watcher) Show(v bench.View)              { w.show(v) }
func (w *watcher) Commands() <-chan bench.Command { return w.commands }

// The computer slept, or its clock was set: it is said, and a pull under way
// carries the doubt.
func TestClockJumps(t *testing.T) {
	f := folder(t)
	ticks := make(chan time.Time)
	commands := make(chan bench.Command)
	var notices []string
	o := &watcher{commands: commands, show: func(v bench.View) { notices = append(notices, texts(v.Notices)...) }}
	go func() {
		at := clock()
		for _, s := range []time.Duration{0, 1, 1, 900, 1, -60, 1} {
			at = at.Add(s * time.Second)
			ticks <- at
		}
		close(commands)
	}()
	_, err := bench.Run(context.Background(), bench.Config{Folder: f, Operator: o, Now: clock, Tick: ticks})
	require.NoError(t, err)
	text := strings.Join(notices, "\n")
	assert.Contains(t, text, "the computer slept, or its clock was set: 15m0s are missing before 10:15:02")
	assert.Contains(t, text, "the clock of the computer was set back by 1m0s")
	assert.Equal(t, 2, strings.Count(text, "Nothing that was saved is harmed"))
}

// The cable comes out in mid-pull and goes in again: the pull is void with its
// trace, and the same session goes on with it.
func TestRegained(t *testing.T) {
	f := folder(t)
	first := newTape().rest(1.5).to(0, 40, 2)
	second := newTape()
	second.Reset()
	second.rest(0.5)   // samples before the device has said who it is
	second.facts("T1") // now it does
	second.held()
	third := newTape().facts("T1").rest(1)
	tapes := []*tape{second, third}
	commands := make(chan bench.Command, 1)
	var links []bench.Link
	var phases []bench.Phase
	var notices []string
	o := &watcher{commands: commands}
	o.show = func(v bench.View) {
		notices = append(notices, texts(v.Notices)...)
		if n := len(links); n == 0 || links[n-1] != v.Cell.Link {
			links = append(links, v.Cell.Link)
		}
		if n := len(phases); n == 0 || phases[n-1] != v.Phase {
			phases = append(phases, v.Phase)
			if c, ok := agreeable(v); ok && v.Cell.Link != bench.Lost {
				commands <- c
			}
		}
	}
	regains := 0
	lost := errors.New("the device hung up")
	_, err := bench.Run(context.Background(), bench.Config{Folder: f, Calibration: cell(), Operator: o, Now: clock,
		Source: func(context.Context) bench.Source {
			return &ending{wire.NewReader(&first.Buffer, wire.ReaderOptions{}), lost}
		},
		Regain: func(context.Context) (bench.Source, error) {
			if regains == len(tapes) {
				return nil, context.Canceled
			}
			regains++
			return &ending{wire.NewReader(&tapes[regains-1].Buffer, wire.ReaderOptions{}), lost}, nil
		}})
	require.ErrorIs(t, err, bench.ErrSource)
	rows := whole(t, f).Current()
	require.NotEmpty(t, rows)
	assert.Equal(t, trial.Void, rows[0].Outcome)
	assert.Contains(t, rows[0].Note, "incomplete: the load cell is gone: the device hung up")
	assert.NotEmpty(t, rows[0].Trace)
	text := strings.Join(notices, "\n")
	assert.Contains(t, text, "Put the cable back; the session goes on by itself when the same device answers")
	assert.Contains(t, text, "the load cell is there again; the session goes on")
	assert.Contains(t, links, bench.Lost)
	assert.Contains(t, links, bench.Live)
}

// ending is a source with an error of its own at its end.
type ending struct {
	bench.Source
	err error
}

func (e *ending) Next() (wire.Event, error) {
	ev, err := e.Source.Next()
	if err != nil {
		return ev, e.err
	}
	return ev, nil
}
