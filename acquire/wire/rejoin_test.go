package wire

import (
	"bytes"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// line80 is a stream of n lines at 80/s from a number on, as a device sends them
// whose clock and numbering began at 0.
func line80(from, n int) string {
	var s stream
	s.at80(uint16(from), uint32(515+from*12500), n)
	return s.String()
}

func factsText(pairs ...string) string {
	var s stream
	for i := 0; i < len(pairs); i += 2 {
		s.fact(pairs[i], pairs[i+1])
	}
	return s.String()
}

var errUnplugged = errors.New("unplugged")

func TestRejoin(t *testing.T) {
	facts := func(boot string) string {
		return factsText("name", "bench cell", "id", "LC-17", "boot", boot, "sps", "80")
	}
	for _, c := range []struct {
		name, after string
		lost        int64
		segments    int
	}{
		{"booted, all of it came", facts("2") + line80(0, 30), 0, 2},
		{"booted, three lines came too early", facts("2") + line80(3, 30), 3, 2},
		{"booted, and the facts come late", line80(3, 5) + facts("2") + line80(8, 30), 3, 2},
		{"kept its power and went on", line80(60, 5) + facts("1") + line80(65, 30), 40, 2},
		{"kept its power, the facts come first", facts("1") + line80(60, 30), 40, 2},
		{"booted after it had come back", facts("2") + line80(0, 10) + facts("3") + line80(0, 10), 0, 3},
		{"the same first line again", facts("2") + line80(19, 1) + line80(20, 10), 19, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := &script{now: time.Unix(1000, 0)}
			s.steps = []step{{text: facts("1") + line80(0, 20) + ":20,2"}, {err: errUnplugged}}
			r := NewReader(s, ReaderOptions{Now: func() time.Time { return s.now }})
			_, err := kinds(t, r)
			require.ErrorIs(t, err, errUnplugged)

			s.steps = []step{{wait: time.Minute, text: "0,3*1234\n" + c.after}}
			r.Rejoin(s, nil)
			var why []string
			var samples []Sample
			for {
				e, err := r.Next()
				if err != nil {
					break
				}
				switch e.Kind {
				case KindSegment:
					why = append(why, e.Segment.Why)
				case KindSample:
					samples = append(samples, e.Sample)
				}
			}
			require.NotEmpty(t, why)
			assert.Equal(t, WhyRegain, why[0])
			assert.Equal(t, 1, samples[0].Segment)
			a := r.Account()
			assert.Equal(t, c.segments, a.Segments)
			assert.Equal(t, c.lost, a.Lost)
			assert.EqualValues(t, 20+len(samples), a.Samples)
			assert.EqualValues(t, 1, a.Rejected, "the piece before; the piece at the start is not counted")
			assert.Zero(t, a.Stalls+a.Duplicates, "being away is no stall")
		})
	}
}

func TestRejoinBeforeAnySample(t *testing.T) {
	s := &script{steps: []step{{err: errUnplugged}}}
	r := NewReader(s, ReaderOptions{})
	_, err := r.Next()
	require.ErrorIs(t, err, errUnplugged)
	s.steps = []step{{text: line80(0, 3)}}
	r.Rejoin(s, nil)
	found, _ := kinds(t, r)
	assert.Equal(t, []Kind{KindSegment, KindSample, KindSample, KindSample}, found)
}

// After five hours away the counters of a device that kept its power have
// wrapped nobody knows how often.
func TestRejoinAfterLong(t *testing.T) {
	s := &script{now: time.Unix(1000, 0), steps: []step{{text: line80(40_000, 20)}, {err: errUnplugged}}}
	r := NewReader(s, ReaderOptions{Now: func() time.Time { return s.now }})
	_, _ = kinds(t, r)
	s.steps = []step{{wait: 5 * time.Hour, text: line80(40_050, 20)}}
	r.Rejoin(s, nil)
	_, _ = kinds(t, r)
	a := r.Account()
	assert.EqualValues(t, 40, a.Samples)
	assert.Equal(t, 2, a.Segments)
	assert.NotEqual(t, int64(30), a.Lost, "the gap in the numbering is not the truth")
}

func TestRejoinRefusesAnotherDevice(t *testing.T) {
	s := &script{steps: []step{{text: factsText("name", "bench cell", "id", "LC-17") + line80(0, 5)}, {err: errUnplugged}}}
	r := NewReader(s, ReaderOptions{})
	_, _ = kinds(t, r)

	var other *OtherDevice
	s.steps = []step{{text: factsText("name", "bench cell", "id", "LC-18", "ready", "1") + line80(0, 5)}}
	r.Rejoin(s, nil)
	found, err := kinds(t, r)
	require.ErrorAs(t, err, &other)
	assert.Equal(t, OtherDevice{"id", "LC-17", "LC-18"}, *other)
	assert.ErrorContains(t, err, `its id is "LC-18", and was "LC-17"`)
	assert.Equal(t, []Kind{KindFact}, found, "nothing of it is passed on but the name that agrees")
	_, err = r.Next()
	assert.ErrorAs(t, err, &other, "and again")

	s.steps = []step{{text: factsText("name", "bench cell", "id", "LC-17", "ready", "1") + line80(0, 5)}}
	r.Rejoin(s, nil)
	found, err = kinds(t, r)
	assert.NotErrorAs(t, err, &other)
	assert.Len(t, found, 3+1+5)
	assert.Equal(t, "LC-17", r.Account().Facts["id"])
	assert.EqualValues(t, 10, r.Account().Samples)
}

// A board that came back is asked for its facts and diagnosed like at first.
func TestRejoinAsks(t *testing.T) {
	var asked bytes.Buffer
	s := &script{now: time.Unix(1000, 0), steps: []step{{text: factsText("id", "LC-17") + line80(0, 5)}, {err: errUnplugged}}}
	r := NewReader(s, ReaderOptions{Now: func() time.Time { return s.now }, Ask: &asked})
	_, _ = kinds(t, r)
	assert.Empty(t, asked.String())
	s.steps = []step{{wait: time.Millisecond}, {wait: 3100 * time.Millisecond}, {wait: 3100 * time.Millisecond}}
	r.Rejoin(s, &asked)
	seen := ""
	for {
		e, err := r.Next()
		if err != nil {
			break
		}
		if e.Kind == KindNoFacts {
			seen = e.Seen
		}
		assert.NotEqual(t, KindStalled, e.Kind, "it may boot in peace")
	}
	assert.Equal(t, "?", asked.String())
	assert.Contains(t, seen, "nothing came at all", "of what came before the line was lost nothing counts here")
}
