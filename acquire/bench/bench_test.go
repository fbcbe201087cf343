package bench_test

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/bench"
	"griptrial/acquire/bench/practice"
	"griptrial/acquire/simrig"
	"griptrial/acquire/study"
	"griptrial/acquire/wire"
	"griptrial/analysis/trial"
)

// shop is a study of four pulls and the simulated shop for it.
func shop(t *testing.T, dir string) (*study.Folder, simrig.Shop) {
	t.Helper()
	s := trial.Study{Format: 1, Name: "blanks", Unit: "N", Facings: []trial.Facing{
		{Name: "ground steel", Control: true, Samples: []string{"1", "2"}},
		{Name: "bonded P240 cloth", Samples: []string{"1", "2"}}},
		Levels: []trial.Level{{Name: "usual", Weight: 3, Usual: true}},
		Plan:   trial.Plan{Blocks: 1, Repeats: 2}, Pull: trial.PullSetup{How: "straight", Faces: 2}, Scale: trial.Scale{Kind: "cell"}}
	f, err := study.Create(dir, s, "test")
	require.NoError(t, err)
	require.NoError(t, f.Draw(7))
	shop := practice.Shop(s)
	shop.TieFails = 0
	return f, shop
}

// line reads a device as fast as it is read from. After fail lines it ends.
type line struct {
	d    *simrig.Device
	left []byte
	fail func() error // asked before each line; nil: never fails
}

func (l *line) Read(p []byte) (int, error) {
	if len(l.left) == 0 {
		if l.fail != nil {
			if err := l.fail(); err != nil {
				return 0, err
			}
		}
		l.left, _ = l.d.Next(l.left[:0])
	}
	n := copy(p, l.left)
	l.left = l.left[n:]
	return n, nil
}

// person answers each new step of a session by a function; ok false says
// nothing.
type person struct {
	answer   func(bench.View) (c bench.Command, ok bool)
	commands chan bench.Command
	step     int
	views    []bench.View // one for each step
	notices  []string
	saved    []bench.Saved
}

func newPerson(answer func(bench.View) (bench.Command, bool)) *person {
	return &person{answer: answer, commands: make(chan bench.Command, 16)}
}

func (p *person) Commands() <-chan bench.Command { return p.commands }

func (p *person) Show(v bench.View) {
	p.notices = append(p.notices, v.Notices...)
	if v.Last != nil && (len(p.saved) == 0 || p.saved[len(p.saved)-1] != *v.Last) {
		p.saved = append(p.saved, *v.Last)
	}
	if v.Step == p.step {
		return
	}
	p.step = v.Step
	p.views = append(p.views, v)
	if c, ok := p.answer(v); ok {
		p.commands <- c
	}
}

// agreeable takes the set-up as good, and confirms what is proposed; what is
// unclear it calls void.
func agreeable(v bench.View) (bench.Command, bool) {
	switch v.Phase {
	case bench.Checks:
		return bench.Command{Verb: bench.Begin}, true
	case bench.Mounting:
		return bench.Command{Verb: bench.Tare}, true
	case bench.Judging:
		if v.Proposal.Outcome == trial.Unclear {
			return bench.Command{Verb: bench.Void, Text: "could not tell"}, true
		}
		return bench.Command{Verb: bench.Accept}, true
	}
	return bench.Command{}, false
}

// run runs a session on a simulated device that pulls when it may. fail is asked
// before each line of the device; nil: it never fails.
func run(t *testing.T, f *study.Folder, shop simrig.Shop, answer func(bench.View) (bench.Command, bool), fail func() error, change func(*bench.Config)) (bench.Summary, error) {
	t.Helper()
	d := simrig.NewDevice(shop, 3)
	c := bench.Config{Folder: f, Calibration: practice.Calibration(shop), Now: clock,
		Source: func(ctx context.Context) bench.Source {
			return wire.NewReader(&line{d: d, fail: fail}, wire.ReaderOptions{})
		},
		Ready: func(p trial.PlannedPull) {
			require.NoError(t, d.Order(simrig.Order{Facing: p.Facing, Sample: p.Sample, Level: p.Level}))
		}}
	if change != nil {
		change(&c)
	}
	return bench.Drive(context.Background(), c, answer)
}

func clock() time.Time { return time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC) }

func TestWholeSession(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "blanks")
	f, shop := shop(t, dir)
	sum, err := run(t, f, shop, agreeable, nil, nil)
	require.NoError(t, err)
	assert.Equal(t, 4, sum.Saved())
	assert.Zero(t, sum.Left)
	require.NoError(t, f.Close())
	again, err := study.Open(dir)
	require.NoError(t, err)
	assert.Empty(t, again.Check())
}
