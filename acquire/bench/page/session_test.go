package page

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/bench"
	"griptrial/analysis/trial"
)

// mounted takes the tare and waits until a pull may begin.
func (b *browser) mounted(g *rig) {
	b.t.Helper()
	b.phase("mounting")
	b.does(Command{Do: "tare"})
	g.to(b.s.ctx, 0, 0, 1.6)
	b.phase("ready")
}

// A session as a person sees it: checks, a pull that held, one that slipped
// with its mark moved, a void one, undo, skip, the results, the end.
func TestSession(t *testing.T) {
	g := newRig(100)
	s := begin(t, "cell", g, nil)
	b := s.open("vise", "")
	assert.Equal(t, Writer, b.hello.Role)
	state := b.phase("checks")
	assert.Equal(t, "waiting", state.Cell.State)
	g.facts(s.ctx).to(s.ctx, 0, 0, 0.2)
	b.until("the cell", func() bool { return b.state.Cell.State == "live" && b.state.Cell.Name == "tape" })
	status, body := b.send(Command{Do: "begin"})
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, body, "not yet looked at: "+trial.SetupChecks[0])
	b.looked()

	state = b.phase("mounting")
	require.NotNil(t, state.Next)
	assert.Equal(t, []string{"facing", "sample", "weight"}, state.Next.Changes)
	assert.True(t, state.Next.NewBlock)
	assert.InDelta(t, 3, *state.Next.WeightKg, 1e-12)
	assert.NotEmpty(t, state.Reminder)
	b.mounted(g)
	g.to(s.ctx, 0, 50, 3)
	b.phase("pulling")
	b.until("the force", func() bool { return b.live.Force != nil && *b.live.Force > 40 && b.live.Peak != nil })
	g.to(s.ctx, 50, 0, 1).to(s.ctx, 0, 0, 2)
	state = b.phase("judging")
	require.NotNil(t, state.Proposal)
	assert.Equal(t, "held", state.Proposal.Outcome)
	assert.InDelta(t, 50, state.Proposal.Force, 0.1)
	assert.Nil(t, state.Proposal.Tool)
	assert.NotEmpty(t, state.Proposal.Why)
	var r Record
	status, body = s.get("/trace")
	require.Equal(t, http.StatusOK, status)
	require.NoError(t, json.Unmarshal([]byte(body), &r))
	assert.True(t, r.Whole)
	assert.Equal(t, state.Proposal.Samples, len(r.T))
	assert.InDelta(t, state.Proposal.Span[0], r.T[0], 1e-9)
	b.does(Command{Do: "accept", Text: "never moved"})
	state = b.phase("mounting")
	assert.Equal(t, "saved: pull 1: "+state.Last.Facing+", sample "+state.Last.Sample+", usual: held, at least "+state.Last.Force+" (never moved)", replaceForce(state.Last))
	assert.Equal(t, 1, state.Progress.Held)
	assert.Nil(t, state.Progress.MinutesLeft)

	b.mounted(g)
	g.to(s.ctx, 0, 50, 3).to(s.ctx, 20, 22, 1).to(s.ctx, 22, 0, 0.5).to(s.ctx, 0, 0, 2)
	state = b.phase("judging")
	assert.Equal(t, "slipped", state.Proposal.Outcome)
	require.NotNil(t, state.Proposal.Tool)
	at := state.Proposal.Tool.T - 0.5
	b.does(Command{Do: "mark", T: &at})
	b.until("the mark", func() bool { return b.state.Proposal != nil && b.state.Proposal.Person != nil })
	b.does(Command{Do: "mark", By: 2})
	b.until("the mark", func() bool {
		p := b.state.Proposal
		return p != nil && p.Person != nil && p.Person.T > at+0.015
	})
	moved := *b.state.Proposal.Person
	assert.Equal(t, state.Proposal.Tool, b.state.Proposal.Tool)
	b.does(Command{Do: "slipped"})
	b.phase("mounting")

	b.mounted(g)
	g.to(s.ctx, 0, 30, 2).to(s.ctx, 0, 0, 2)
	state = b.phase("judging")
	assert.Equal(t, "unclear", state.Proposal.Outcome, "the load vanished at once: the tie may have let go")
	assert.True(t, state.Proposal.Ask)
	status, _ = b.send(Command{Do: "accept"})
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	status, _ = b.send(Command{Do: "void"})
	assert.Equal(t, http.StatusUnprocessableEntity, status, "no reason")
	b.does(Command{Do: "void", Text: "the tie let go"})
	state = b.phase("mounting")
	assert.True(t, state.Next.Again)
	assert.Empty(t, state.Next.Changes)
	assert.NotNil(t, state.Progress.MinutesLeft)

	b.does(Command{Do: "undo", Text: "it did not"})
	state = b.phase("mounting")
	assert.True(t, state.Last.Undone)
	status, body = b.send(Command{Do: "look"})
	require.Equal(t, http.StatusOK, status)
	var results Results
	require.NoError(t, json.Unmarshal([]byte(body), &results))
	require.Len(t, results.Facings, 2)
	assert.Equal(t, 1, results.Facings[0].Held+results.Facings[1].Held)
	assert.Equal(t, 1, results.Facings[0].Slipped+results.Facings[1].Slipped)
	assert.Contains(t, results.Text, "2 of 4 planned pulls")
	b.does(Command{Do: "skip", Text: "strip tore"})
	b.until("the skip", func() bool { return b.state.Last != nil && b.state.Last.Skipped })
	b.does(Command{Do: "quit"})
	b.until("the end", func() bool { return b.over && b.state.Over != nil })
	assert.Equal(t, "over", b.state.Phase)
	assert.Equal(t, 1, b.state.Over.Left)
	status, body = b.send(Command{Do: "undo"})
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, body, "the session is over")

	f := s.check()
	rows := f.Current()
	require.Len(t, rows, 3)
	assert.InDelta(t, moved.Force, rows[1].Force, 1e-4)
	facts, err := f.Facts()
	require.NoError(t, err)
	var whats []string
	for _, fact := range facts {
		whats = append(whats, fact.What)
	}
	assert.Equal(t, []string{"check", "check", "check", "check", "check", "check", "mark", "results"}, whats)
}

// replaceForce words a saved pull with the force as the page shows it.
func replaceForce(l *Saved) string {
	return fmt.Sprintf("saved: pull %d: %s, sample %s, %s: held, at least %s (%s)", l.Pull, l.Facing, l.Sample, l.Level, l.Force, l.Note)
}

// A command that comes twice, or ten times at once, is done once.
func TestNothingIsSavedTwice(t *testing.T) {
	s := begin(t, "hand", nil, nil)
	b := s.open("vise", "")
	b.looked()
	step := b.phase("typing").Step
	var wait sync.WaitGroup
	codes := make([]int, 10)
	for i := range codes {
		wait.Go(func() { codes[i], _ = b.send(Command{Do: "typed", Text: "10", Step: step}) })
	}
	wait.Wait()
	count := map[int]int{}
	for _, c := range codes {
		count[c]++
	}
	assert.Equal(t, map[int]int{http.StatusOK: 1, http.StatusConflict: 9}, count)
	assert.Len(t, s.check().Current(), 1)
}

// Readings of a hand scale are typed on the page, with the grammar of `log`.
func TestReadingsAreTyped(t *testing.T) {
	s := begin(t, "hand", nil, nil)
	b := s.open("vise", "")
	b.looked()
	state := b.phase("typing")
	assert.Equal(t, "typed", state.Mode)
	assert.Equal(t, "none", state.Cell.State)
	for _, c := range []struct {
		text   string
		status int
		say    string
	}{
		{"", 422, "nothing typed"}, {"ten", 422, "not a number"}, {"10 @P240", 422, "the plan says what is pulled"}, {"1,250", 422, "may mean"},
		{"10,5 ; crept", 200, ""}, {"35+", 200, ""}, {"x", 422, "needs its reason"}, {"x tie let go", 200, ""}, {"8", 200, ""}, {"9", 200, ""},
	} {
		status, body := b.send(Command{Do: "typed", Text: c.text})
		assert.Equal(t, c.status, status, c.text)
		assert.Contains(t, body, c.say)
		if status == 200 {
			var a Answer
			require.NoError(t, json.Unmarshal([]byte(body), &a))
			b.until("the state", func() bool { return b.state.Step >= a.Step })
		}
	}
	state = b.phase("done")
	assert.Nil(t, state.Next)
	assert.Equal(t, "9 N", state.Last.Force)
	b.does(Command{Do: "undo"})
	b.phase("typing")
	b.does(Command{Do: "void", Text: "scale slipped"})
	assert.True(t, b.phase("typing").Next.Again)
	rows := s.check().Current()
	require.Len(t, rows, 5)
	assert.Equal(t, "10,5 ; crept", rows[0].Typed)
	assert.Equal(t, trial.Held, rows[1].Outcome)
}

// A page that is loaded again in mid-pull has its role, the state and the whole
// trace; the session did not wait for it.
func TestReloadInMidPull(t *testing.T) {
	g := newRig(1000)
	s := begin(t, "cell", g, nil)
	b := s.open("vise", "")
	g.facts(s.ctx)
	b.looked()
	b.mounted(g)
	g.to(s.ctx, 0, 40, 2)
	b.phase("pulling")
	b.close()
	g.to(s.ctx, 40, 50, 1) // nobody looks
	again := s.open("vise", b.client)
	assert.Equal(t, b.client, again.client)
	assert.Equal(t, Writer, again.hello.Role)
	again.phase("pulling")
	again.until("the trace", func() bool { n := len(again.trace); return n > 0 && again.trace[n-1][2] > 49.5 })
	assert.Less(t, again.trace[0][0], -0.9, "with what came before the load")
	g.to(s.ctx, 50, 0, 1).to(s.ctx, 0, 0, 1.5)
	state := again.phase("judging")
	again.until("the whole trace", func() bool { n := len(again.trace); return n > 0 && again.trace[n-1][0] > state.Proposal.Span[1]-0.011 })
	last := -10.0
	for _, p := range again.trace {
		require.Greater(t, p[0], last)
		require.LessOrEqual(t, p[1], p[2])
		require.LessOrEqual(t, p[0]-last, 10.0)
		if last > -9 {
			require.Less(t, p[0]-last, 0.021, "no hole")
		}
		last = p[0]
	}
	again.does(Command{Do: "held"})
	assert.Len(t, s.check().Current(), 1)
}

// One page has the say. Another can take it, and gets it where nobody has it.
func TestOneWriter(t *testing.T) {
	s := begin(t, "hand", nil, nil)
	first := s.open("vise", "")
	second := s.open("vise", "")
	shop := s.open("live", "")
	assert.Equal(t, Writer, first.hello.Role)
	assert.Equal(t, Watcher, second.hello.Role)
	second.until("who has the say", func() bool { return second.role.Writer })
	assert.Equal(t, Watcher, shop.hello.Role)
	second.phase("checks")
	shop.phase("checks")
	tick := Command{Do: "tick", On: true}
	status, body := second.send(tick)
	assert.Equal(t, http.StatusForbidden, status)
	assert.Contains(t, body, "another screen has the say; take over first")
	for _, do := range []string{"take", "tick"} { // who looks on cannot even take over
		status, body = shop.send(Command{Do: do})
		assert.Equal(t, http.StatusForbidden, status)
		assert.Contains(t, body, "this page is not known here")
	}
	assert.Equal(t, Writer, second.does(Command{Do: "take"}).Role)
	first.until("that it only watches", func() bool { return first.role.Role == Watcher && first.role.Why == "another screen took over" })
	second.does(tick)
	status, _ = first.send(tick)
	assert.Equal(t, http.StatusForbidden, status)

	second.close()
	first.until("that the seat is free", func() bool { return !first.role.Writer })
	third := s.open("vise", "") // comes fresh, and nobody is there
	assert.Equal(t, Writer, third.hello.Role)
	back := s.open("vise", second.client)
	assert.Equal(t, Watcher, back.hello.Role)
	third.does(Command{Do: "leave"})
	back.until("that the seat is free", func() bool { return !back.role.Writer })
	status, _ = third.send(tick)
	assert.Equal(t, http.StatusForbidden, status)

	twin := s.open("vise", first.client) // a tab that was duplicated
	first.until("that it was replaced", func() bool { return first.role.Why == "replaced" })
	<-first.done
	assert.Equal(t, first.client, twin.client)
}

// The cable comes out in mid-pull: the page says so, the pull is void with its
// trace, and the session goes on when the cell is back.
func TestCableOut(t *testing.T) {
	g, again := newRig(100), newRig(100)
	plugged := make(chan struct{})
	s := begin(t, "cell", g, func(c *bench.Config) {
		c.Regain = func(ctx context.Context) (bench.Source, error) {
			select {
			case <-plugged:
				return again.source(ctx), nil
			case <-ctx.Done():
				return nil, ctx.Err()
			}
		}
	})
	b := s.open("vise", "")
	g.facts(s.ctx)
	b.looked()
	b.mounted(g)
	g.to(s.ctx, 0, 40, 2)
	b.phase("pulling")
	close(g.cut)
	state := b.phase("mounting")
	assert.Equal(t, "lost", state.Cell.State)
	assert.Contains(t, state.Cell.Text, "Put the cable back")
	assert.Equal(t, "void", state.Last.Outcome)
	assert.True(t, state.Next.Again)
	grave := false
	for _, n := range state.Notices {
		grave = grave || n.Grave
	}
	assert.True(t, grave)
	b.until("no force", func() bool { return b.live.Force == nil })
	status, body := b.send(Command{Do: "tare"})
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, body, "put the cable back first")

	close(plugged)
	again.to(s.ctx, 0, 0, 0.1)
	assert.Equal(t, "lost", state.Cell.State, "a device that has not said who it is")
	again.facts(s.ctx).to(s.ctx, 0, 0, 0.1)
	b.until("the cell", func() bool { return b.state.Cell.State == "live" && b.state.Cell.Text == "" })
	b.mounted(again)
	again.to(s.ctx, 0, 50, 3).to(s.ctx, 50, 0, 1).to(s.ctx, 0, 0, 2)
	b.phase("judging")
	b.does(Command{Do: "accept"})
	rows := s.check().Current()
	require.Len(t, rows, 2)
	assert.NotEmpty(t, rows[0].Trace)
	assert.Equal(t, trial.Held, rows[1].Outcome)
}
