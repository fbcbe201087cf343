package wire

import (
	"bytes"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// script is a source that plays steps against a clock of its own.
type script struct {
	steps []step
	now   time.Time
}

type step struct {
	wait time.Duration
	text string
	err  error
}

func (s *script) Read(b []byte) (int, error) {
	if len(s.steps) == 0 {
		return 0, io.EOF
	}
	st := s.steps[0]
	s.steps = s.steps[1:]
	s.now = s.now.Add(st.wait)
	if st.text == "" && st.err == nil {
		st.err = os.ErrDeadlineExceeded
	}
	return copy(b, st.text), st.err
}

func sampleText(seq uint16, t uint32, counts int32) string {
	return string(AppendSample(nil, seq, t, counts))
}

func kinds(t *testing.T, r *Reader) (found []Kind, last error) {
	t.Helper()
	for {
		e, err := r.Next()
		if err != nil {
			return found, err
		}
		found = append(found, e.Kind)
	}
}

func TestStalls(t *testing.T) {
	s := &script{now: time.Unix(1000, 0)}
	ms := time.Millisecond
	s.steps = []step{
		{wait: 2000 * ms}, // nothing yet: the device may still start
		{text: sampleText(0, 0, 1)},
		{wait: 12 * ms, text: sampleText(1, 12500, 2)},
		{wait: 250 * ms}, {wait: 250 * ms}, // not yet too long
		{wait: 250 * ms}, {wait: 250 * ms}, // once
		{wait: 2500 * ms}, // a person should look
		{wait: 250 * ms, text: sampleText(2, 25000, 3)},
		{wait: 600 * ms, text: sampleText(3, 37500, 3)}, // again
	}
	r := NewReader(s, ReaderOptions{Now: func() time.Time { return s.now }})
	found, err := kinds(t, r)
	assert.ErrorIs(t, err, io.EOF)
	assert.Equal(t, []Kind{KindSegment, KindSample, KindSample, KindStalled, KindStalled, KindSample, KindStalled, KindSample}, found)
	a := r.Account()
	assert.EqualValues(t, 2, a.Stalls)
	assert.EqualValues(t, 4, a.Samples)
}

func TestLongSilenceBeginsASegment(t *testing.T) {
	s := &script{now: time.Unix(1000, 0)}
	s.steps = []step{
		{text: sampleText(0, 0, 1) + sampleText(1, 12500, 2) + sampleText(2, 25000, 3)},
		{wait: 40 * time.Minute, text: sampleText(60, 700_000_000, 3) + sampleText(61, 700_012_500, 4)},
	}
	r := NewReader(s, ReaderOptions{Now: func() time.Time { return s.now }})
	_, err := kinds(t, r)
	assert.ErrorIs(t, err, io.EOF)
	assert.Equal(t, 2, r.Account().Segments)
	assert.Zero(t, r.Account().Lost, "nobody knows")
}

// The machine sleeps, or its clock is set, in the middle of a stream: the times
// and numbers of the samples are the device's and stay right, and silence is
// told of as before.
func TestClockJumps(t *testing.T) {
	ms := time.Millisecond
	for _, c := range []struct {
		name         string
		jump         time.Duration
		next         int // number of the first sample after it, of 10
		segments     int
		lost, stalls int64
	}{
		{"set back by an hour", -time.Hour, 10, 1, 0, 1},
		{"set forward by an hour, the device went on", time.Hour, 10, 1, 0, 2},
		{"asleep for a minute, the device's lines of it are lost", time.Minute, 10 + 60*80, 1, 60 * 80, 2},
		{"asleep for ten minutes", 10 * time.Minute, 10 + 600*80, 1, 600 * 80, 2},
		// After 71.58 minutes the device's clock has wrapped once, unseen.
		{"asleep for ninety minutes", 90 * time.Minute, 10 + 5400*80, 2, 0, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := &script{now: time.Unix(1_000_000, 0)}
			s.steps = []step{{text: line80(0, 10)}, {wait: c.jump, text: line80(c.next, 5)}, {wait: 600 * ms, text: line80(c.next+5, 5)}}
			r := NewReader(s, ReaderOptions{Now: func() time.Time { return s.now }})
			samples := drain(t, r)
			a := r.Account()
			assert.EqualValues(t, 20, a.Samples)
			assert.Equal(t, c.segments, a.Segments)
			assert.Equal(t, c.lost, a.Lost)
			assert.Equal(t, c.stalls, a.Stalls)
			for i := 1; i < len(samples); i++ {
				p, q := samples[i-1], samples[i]
				if p.Segment == q.Segment {
					assert.Equal(t, 12500*(q.Seq-p.Seq), q.T-p.T, "sample %d", i)
					assert.Equal(t, int64(q.Counts-p.Counts), (q.Seq-p.Seq)&0xffff, "sample %d", i)
				}
			}
		})
	}
}

func TestAsksForFacts(t *testing.T) {
	ms := time.Millisecond
	var asked bytes.Buffer
	s := &script{now: time.Unix(1000, 0)}
	s.steps = []step{{wait: ms}, {wait: 2000 * ms}, {wait: 900 * ms}}
	r := NewReader(s, ReaderOptions{Now: func() time.Time { return s.now }, Ask: &asked, Joined: true})
	_, _ = kinds(t, r)
	assert.Empty(t, asked.String(), "a boot loader must not be disturbed")

	tests := []struct {
		name, text string
		seen       string
	}{
		{"silent", "", "nothing came at all"},
		{"bytes", "\x00\x00\xf8\x80", "no end of a line"},
		{"lines", "abc\nabd\nabe\n", "lines came and none was whole"},
		{"samples", sampleText(0, 0, 1), "does not say who it is"},
	}
	for _, test := range tests {
		asked.Reset()
		s = &script{now: time.Unix(1000, 0)}
		s.steps = []step{{wait: ms, text: test.text}, {wait: 3100 * ms}, {wait: 3100 * ms}}
		r = NewReader(s, ReaderOptions{Now: func() time.Time { return s.now }, Ask: &asked, Joined: true})
		seen := ""
		for {
			e, err := r.Next()
			if err != nil {
				break
			}
			if e.Kind == KindNoFacts {
				seen = e.Seen
			}
		}
		assert.Equal(t, "?", asked.String(), test.name)
		assert.Contains(t, seen, test.seen, test.name)
	}

	// A board that was running already is asked soon.
	asked.Reset()
	s = &script{now: time.Unix(1000, 0)}
	s.steps = []step{{wait: ms, text: sampleText(0, 0, 1)}, {wait: 600 * ms, text: sampleText(1, 12500, 1)},
		{wait: 10 * ms, text: string(AppendFact(nil, "name", "x"))}, {wait: 3100 * ms}}
	r = NewReader(s, ReaderOptions{Now: func() time.Time { return s.now }, Ask: &asked})
	found, _ := kinds(t, r)
	assert.Equal(t, "?", asked.String())
	assert.NotContains(t, found, KindNoFacts)
}

func TestJoinedDropsThePieceAtTheStart(t *testing.T) {
	text := "00,12*0000\n" + sampleText(1, 12500, 1) + "00,12*0000\n"
	r := NewReader(strings.NewReader(text), ReaderOptions{Joined: true})
	_, err := kinds(t, r)
	assert.ErrorIs(t, err, io.EOF)
	assert.EqualValues(t, 1, r.Account().Rejected, "only the second one")

	// A first line that is whole counts.
	r = NewReader(strings.NewReader(sampleText(1, 12500, 1)), ReaderOptions{Joined: true})
	_, _ = kinds(t, r)
	assert.EqualValues(t, 1, r.Account().Samples)
}

func TestReaderErrors(t *testing.T) {
	broken := errors.New("the cable burned")
	s := &script{steps: []step{{text: sampleText(0, 0, 1) + ":1,125"}, {err: broken}}}
	r := NewReader(s, ReaderOptions{})
	found, err := kinds(t, r)
	assert.ErrorIs(t, err, broken)
	assert.Equal(t, []Kind{KindSegment, KindSample, KindDamaged}, found)
	_, err = r.Next()
	assert.ErrorIs(t, err, broken, "and again")

	r = NewReader(empty{}, ReaderOptions{})
	_, err = r.Next()
	assert.ErrorIs(t, err, io.ErrNoProgress, "a source that gives nothing must not be spun on for ever")
}

type empty struct{}

func (empty) Read([]byte) (int, error) { return 0, nil }
