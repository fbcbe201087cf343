package page

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/study"
)

// copyStudy copies a study folder as it is at this moment.
func copyStudy(t *testing.T, dir string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "copy")
	require.NoError(t, os.CopyFS(to, os.DirFS(dir)))
	return to
}

// The program is killed in mid-pull and started again: it says what it found,
// and goes on with the same pull.
func TestKilledInMidPull(t *testing.T) {
	g := newRig(100)
	s := begin(t, "cell", g, nil)
	b := s.open("vise", "")
	g.facts(s.ctx)
	b.looked()
	order := b.phase("mounting").Next.Order
	b.mounted(g)
	g.to(s.ctx, 0, 40, 2)
	b.until("the force", func() bool { return b.live.Force != nil && *b.live.Force > 38.5 })
	copied := copyStudy(t, s.f.Dir()) // as a kill would leave it
	s.close()

	f, err := study.OpenForWriting(copied, "test")
	require.NoError(t, err)
	g = newRig(100)
	s = resume(t, f, g, nil)
	old := b.client
	b = s.open("vise", old)
	assert.NotEqual(t, old, b.client, "another run knows nothing of the pages of the one before")
	state := b.phase("checks")
	require.NotEmpty(t, state.Notices)
	assert.Contains(t, state.Notices[0].Text, "a recording was cut off before its pull was judged; what there is of it is kept here")
	for _, c := range state.Checks {
		assert.True(t, c.Done, "a moment ago")
	}
	b.does(Command{Do: "begin"})
	state = b.phase("judging") // what there is of it
	assert.Equal(t, order, state.Next.Order)
	assert.True(t, state.Proposal.Ask)
	assert.Contains(t, state.Proposal.Doubts, "the program ended before this pull was judged")
	assert.InDelta(t, 39.5, state.Proposal.Peak, 1)
	assert.InDelta(t, -1.6, state.Proposal.Span[0], 0.5)
	b.until("the trace", func() bool {
		n := len(b.trace)
		return n > 0 && math.Abs(b.trace[n-1][0]-state.Proposal.Span[1]) < 0.011
	})
	b.does(Command{Do: "void", Text: "not to its end"})
	assert.Equal(t, order, b.phase("mounting").Next.Order)
	b.does(Command{Do: "quit"})
	f = s.check()
	require.Len(t, f.Current(), 1)
	assert.NotEmpty(t, f.Current()[0].Trace)
}

// Killed while a finished pull waits to be judged, nothing of the pull is lost.
func TestKilledWhileJudging(t *testing.T) {
	g := newRig(100)
	s := begin(t, "cell", g, nil)
	b := s.open("vise", "")
	g.facts(s.ctx)
	b.looked()
	b.mounted(g)
	g.to(s.ctx, 0, 50, 3).to(s.ctx, 20, 22, 1).to(s.ctx, 22, 0, 0.5).to(s.ctx, 0, 0, 2)
	proposed := b.phase("judging").Proposal
	copied := copyStudy(t, s.f.Dir())
	s.close()

	f, err := study.OpenForWriting(copied, "test")
	require.NoError(t, err)
	s = resume(t, f, newRig(100), nil) // the cell is not even there yet
	b = s.open("vise", "")
	b.phase("checks")
	b.does(Command{Do: "begin"})
	again := b.phase("judging").Proposal
	assert.Equal(t, proposed.Tool, again.Tool)
	assert.Equal(t, proposed.Samples, again.Samples)
	b.does(Command{Do: "slipped"})
	b.phase("mounting")
	rows := s.check().Current()
	require.Len(t, rows, 1)
	assert.InDelta(t, proposed.Tool.Force, rows[0].Force, 1e-5)
	assert.NotZero(t, rows[0].High, "the interval of the tool's slip point")
}
