package bench_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/bench"
	"griptrial/acquire/loadcell"
	"griptrial/acquire/study"
	"griptrial/acquire/wire"
)

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
