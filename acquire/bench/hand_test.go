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
	"griptrial/acquire/loadcell"
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

// A known weight that reads true is kept, and one that does not is said.
func TestKnownWeight(t *testing.T) {
	for _, c := range []struct {
		text, kept, refused string
		hangs               float64 // N
	}{
		{"2 kg", "2 kg hung: 19.61", "", 19.6133},
		{"20 N", "20 N hung: 20.09", "", 20.09}, // 0.45 % off
		{"20 N", "more than 0.5 % off: calibrate again before the next pull", "", 20.11},
		{"2 kg", "more than 0.5 % off", "", 19},
		{"2 m", "", `write what hangs like "2 kg"`, 19.6},
		{"0 kg", "", "above zero", 19.6},
	} {
		f := folder(t)
		hung := false
		var replies []bench.Reply
		answer := script(t, map[bench.Phase][]bench.Command{bench.Mounting: {{Verb: bench.Weigh}, {Verb: bench.Tare}, {Verb: bench.Quit}}, bench.Weighing: {{Verb: bench.Weighed, Text: c.text}, {Verb: bench.Back}}}, &replies)
		asked := []bool{}
		tape := newTape().rest(2).to(c.hangs, c.hangs, 3)
		_, notices, _ := play(t, f, tape, func(v bench.View) (bench.Command, bool) {
			if v.Phase == bench.Mounting {
				asked = append(asked, v.Weigh)
			}
			if v.Phase == bench.Weighing && !hung { // until it has hung for a second and more
				hung = v.HasForce && v.Force > 5 && tape.Len() < 3000
				return bench.Command{}, false
			}
			return answer(v)
		})
		if c.refused != "" {
			assert.Contains(t, replies[1].Text, c.refused)
			continue
		}
		assert.Equal(t, []bool{true, false}, asked[:2], "once in a block")
		if strings.Contains(c.kept, "off") {
			require.Len(t, replies, 3)
			assert.Contains(t, replies[2].Text, c.kept, "no pull begins")
		} else {
			assert.True(t, replies[2].Done)
		}
		assert.Contains(t, notices, c.kept)
		facts, err := whole(t, f).Facts()
		require.NoError(t, err)
		assert.Equal(t, study.Weighed, facts[len(facts)-1].What)
		assert.Contains(t, facts[len(facts)-1].Text, c.text+" hung: ")
	}
}

// A weight that was off stops the sessions after as well, until the cell is
// calibrated again or the weight reads true; one that read true today need not be
// hung again.
func TestKnownWeightOfASessionBefore(t *testing.T) {
	before := clock().Add(-time.Hour)
	zero, hung := []int32{5000, 5000}, func(force float64) []int32 {
		n := int32(5000 + 1000*force)
		return []int32{n, n}
	}
	begin := func(f *study.Folder, c loadcell.Calibration) (asked bool, refused string) {
		replies := []bench.Reply{}
		answer := script(t, map[bench.Phase][]bench.Command{bench.Mounting: {{Verb: bench.Tare}, {Verb: bench.Quit}}, bench.Settling: {{Verb: bench.Quit}}}, &replies)
		var o onlooker
		_, err := bench.Drive(context.Background(), bench.Config{Folder: f, Calibration: c, Now: clock, Operator: &o,
			Source: func(context.Context) bench.Source {
				return wire.NewReader(&newTape().rest(1).Buffer, wire.ReaderOptions{})
			}}, func(v bench.View) (bench.Command, bool) {
			if v.Phase == bench.Mounting {
				asked = v.Weigh
			}
			return answer(v)
		})
		require.NoError(t, err)
		require.NotEmpty(t, replies)
		return asked, replies[0].Text
	}
	f := folder(t)
	asked, refused := begin(f, cell())
	assert.True(t, asked)
	assert.Empty(t, refused)
	for _, c := range []struct {
		force   float64
		at      time.Time
		asked   bool
		refused string
	}{
		{20.05, before.Add(-24 * time.Hour), true, ""}, // true, but not of today
		{20.05, before, false, ""},
		{20.2, before, true, "20 N hung: 20.200 N read, 20.000 N expected (+1.00 %), more than 0.5 % off"},
		{20.05, before, false, ""}, // hung again
		{20.2, before.Add(-24 * time.Hour), true, "more than 0.5 % off"},
	} {
		w, err := cell().Weigh("20 N", zero, hung(c.force))
		require.NoError(t, err)
		require.NoError(t, f.Note(study.Fact{Time: c.at, What: study.Weighed, Text: w.String()}))
		asked, refused := begin(f, cell())
		assert.Equal(t, c.asked, asked, "%+v", c)
		assert.Contains(t, refused, c.refused)
		assert.Equal(t, c.refused == "", refused == "", refused)
	}
	anew := cell()
	for i := range anew.Rows {
		anew.Rows[i].Counts *= 1.01
	}
	_, refused = begin(f, anew)
	assert.Empty(t, refused, "calibrated since")
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

// The alarm sounds at 80 and at 100 % of the rated load of 100 N; going over it
// is kept, and beyond 150 % a known weight must show that the cell is well.
func TestOverloadAlarm(t *testing.T) {
	for _, c := range []struct {
		peak   float64
		load   bench.Load
		kept   string
		stops  bool
		notice string
	}{
		{79.5, bench.LoadFine, "", false, ""},
		{80.5, bench.LoadHigh, "", false, "80 % of the rated load of 100 N is reached"},
		{99.5, bench.LoadHigh, "", false, "80 % of the rated load of 100 N is reached"},
		{100.5, bench.LoadOver, "101 % of the rated load", false, "OVER the rated load of 100 N: stop and let down"},
		{149, bench.LoadOver, "149 % of the rated load", false, "OVER the rated load"},
		{155, bench.LoadOver, "155 % of the rated load", true, "hang a known weight before the next pull"},
	} {
		f := folder(t)
		var most bench.Load
		pull := newTape().rest(1.5).to(0, c.peak, 3).to(c.peak, c.peak, 0.3).to(c.peak, 0, 1).rest(2)
		var refused string
		ask := make(chan bench.Reply, 1)
		_, notices, err := play(t, f, pull, func(v bench.View) (bench.Command, bool) {
			most = max(most, v.Load)
			switch {
			case v.Phase == bench.Judging:
				return bench.Command{Verb: bench.Held}, true
			case v.Phase == bench.Mounting && v.Done > 0 && len(ask) == 0 && refused == "":
				refused = "asked"
				return bench.Command{Verb: bench.Tare, Reply: ask}, true
			case v.Phase == bench.Mounting && v.Done > 0:
				return bench.Command{Verb: bench.Quit}, true
			}
			return agreeable(v)
		})
		require.True(t, err == nil || errors.Is(err, bench.ErrSource), "%v", err)
		assert.Equal(t, c.load, most, "%g N", c.peak)
		assert.Contains(t, notices, c.notice)
		assert.Equal(t, c.notice == "", !strings.Contains(notices, "rated load"), "%g N", c.peak)
		reply := <-ask
		assert.Equal(t, c.stops, !reply.Done, "%g N: %s", c.peak, reply.Text)
		f = whole(t, f)
		facts, err := f.Facts()
		require.NoError(t, err)
		last := facts[len(facts)-1]
		if c.kept == "" {
			assert.NotEqual(t, study.Overloaded, last.What)
			continue
		}
		assert.Equal(t, study.Overloaded, last.What)
		assert.Equal(t, c.kept, last.Text)
		assert.Equal(t, 1, last.Pull)
		assert.Contains(t, f.Current()[0].Note, "the load went to "+c.kept)

		// The session after knows.
		ask = make(chan bench.Reply, 1)
		asked := false
		_, _, err = play(t, f, newTape().rest(1), func(v bench.View) (bench.Command, bool) {
			if v.Phase != bench.Mounting {
				return agreeable(v)
			}
			if asked {
				return bench.Command{Verb: bench.Quit}, true
			}
			asked = true
			return bench.Command{Verb: bench.Tare, Reply: ask}, true
		})
		require.True(t, err == nil || errors.Is(err, bench.ErrSource), "%v", err)
		reply = <-ask
		assert.Equal(t, c.stops, !reply.Done, "%g N: %s", c.peak, reply.Text)
	}
}
