package wire

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// stream is a text of sample lines.
type stream struct{ bytes.Buffer }

func (s *stream) sample(seq uint16, t uint32, counts int32) {
	s.Write(AppendSample(nil, seq, t, counts))
}

func (s *stream) fact(key, value string) { s.Write(AppendFact(nil, key, value)) }

// at80 adds n samples at 80/s from seq and t on; counts are the numbers.
func (s *stream) at80(seq uint16, t uint32, n int) (uint16, uint32) {
	for range n {
		s.sample(seq, t, int32(seq)+1)
		seq++
		t += 12500
	}
	return seq, t
}

// read returns the account, the samples and the reasons of the segments.
func read(t *testing.T, s *stream) (Account, []Sample, []string) {
	t.Helper()
	r := NewReader(s, ReaderOptions{})
	var samples []Sample
	var why []string
	for {
		e, err := r.Next()
		if errors.Is(err, io.EOF) {
			return r.Account(), samples, why
		}
		require.NoError(t, err)
		switch e.Kind {
		case KindSample:
			samples = append(samples, e.Sample)
		case KindSegment:
			why = append(why, e.Segment.Why)
		}
	}
}

func TestTrackWraps(t *testing.T) {
	var s stream
	s.at80(65_530, 4_294_900_000, 20)
	a, samples, why := read(t, &s)
	assert.Equal(t, []string{WhyStart}, why)
	assert.EqualValues(t, 20, a.Samples)
	assert.Zero(t, a.Lost)
	last := samples[19]
	assert.EqualValues(t, 65_549, last.Seq)
	assert.EqualValues(t, 4_294_900_000+19*12500, last.T)
	assert.EqualValues(t, 13, last.RawSeq)
}

func TestTrackGapOverOneWrapOfSeq(t *testing.T) {
	// Twenty minutes are lost: more than one round of the numbering, but the
	// clock tells.
	var s stream
	s.at80(100, 1_000_000, 10)
	n := 96_000
	s.at80(uint16(100+n), uint32(1_000_000+n*12500), 2)
	a, _, why := read(t, &s)
	assert.Equal(t, []string{WhyStart}, why)
	assert.EqualValues(t, 12, a.Samples)
	assert.EqualValues(t, n-10, a.Lost)
}

func TestTrackLostAndDuplicates(t *testing.T) {
	var s stream
	seq, at := s.at80(5, 100, 10)
	seq, at = s.at80(seq-1, at-12500, 3)   // one again
	seq, at = s.at80(seq-3, at-3*12500, 4) // three again
	s.at80(seq+7, at+7*12500, 5)
	a, _, _ := read(t, &s)
	assert.EqualValues(t, 10+2+1+5, a.Samples)
	assert.EqualValues(t, 4, a.Duplicates)
	assert.EqualValues(t, 7, a.Lost)
	assert.Zero(t, a.Rejected)
}

func TestTrackSameNumberOtherContent(t *testing.T) {
	var s stream
	seq, at := s.at80(5, 100, 5)
	s.sample(seq-1, at-12500, 777_777)
	s.at80(seq, at, 5)
	a, _, _ := read(t, &s)
	assert.EqualValues(t, 10, a.Samples)
	assert.EqualValues(t, 1, a.Rejected)
	assert.Zero(t, a.Duplicates)
}

func TestTrackReset(t *testing.T) {
	for _, boot := range []string{"seen", "first seen", "not seen"} {
		var s stream
		if boot == "seen" {
			s.fact("boot", "1")
		}
		s.at80(2000, 25_000_515, 50)
		if boot != "not seen" {
			s.fact("boot", "2")
		}
		s.at80(3, 515+3*12500, 50) // the first three were lost
		a, samples, why := read(t, &s)
		assert.Equal(t, []string{WhyStart, WhyReset}, why, boot)
		assert.EqualValues(t, 100, a.Samples, boot)
		assert.EqualValues(t, 3, a.Lost, boot)
		assert.EqualValues(t, 1, samples[50].Segment)
		assert.EqualValues(t, 3, samples[50].Seq)
		assert.InDelta(t, 80, *a.RateHz, 1e-9, "the step over the reset does not count")
	}
}

func TestTrackBootFactRepeated(t *testing.T) {
	// Facts come every 10 s; the same boot count is no reset.
	var s stream
	s.fact("boot", "7")
	seq, at := s.at80(0, 515, 100)
	s.fact("boot", "7")
	s.at80(seq, at, 100)
	a, _, why := read(t, &s)
	assert.Equal(t, []string{WhyStart}, why)
	assert.EqualValues(t, 200, a.Samples)
}

func TestTrackFirstLinesAfterBootLost(t *testing.T) {
	var s stream
	s.fact("boot", "1")
	s.fact("sps", "80")
	s.at80(2, 515+2*12500, 10)
	a, _, _ := read(t, &s)
	assert.EqualValues(t, 2, a.Lost)

	// Joined in the middle: what came before is not ours.
	s.Reset()
	s.fact("boot", "1")
	s.fact("sps", "80")
	s.at80(20_000, 515+20_000*12500, 10)
	a, _, _ = read(t, &s)
	assert.Zero(t, a.Lost)
}

func TestTrackSuspectLine(t *testing.T) {
	// A wrong line that passes the checksum: the next one shows that it was
	// wrong, and its conversion counts as lost.
	var s stream
	seq, at := s.at80(100, 5000, 20)
	s.sample(seq+9000, at+77, 1)
	s.at80(seq+1, at+12500, 20)
	a, _, why := read(t, &s)
	assert.Equal(t, []string{WhyStart}, why)
	assert.EqualValues(t, 40, a.Samples)
	assert.EqualValues(t, 1, a.Lost)
	assert.EqualValues(t, 1, a.Rejected)
}

func TestTrackLateClock(t *testing.T) {
	// One clock reading comes 6 ms late. It lies between its neighbours, so the
	// sample is kept.
	var s stream
	seq, at := s.at80(100, 5000, 20)
	s.sample(seq, at+6000, 42)
	s.at80(seq+1, at+12500, 20)
	a, samples, why := read(t, &s)
	assert.Equal(t, []string{WhyStart}, why)
	assert.EqualValues(t, 41, a.Samples)
	assert.Zero(t, a.Lost+a.Rejected)
	assert.EqualValues(t, 42, samples[20].Counts)
}

func TestTrackRateChange(t *testing.T) {
	var s stream
	s.fact("sps", "80")
	seq, at := s.at80(100, 5000, 200)
	at += 100_000 - 12_500
	for range 30 {
		s.sample(seq, at, int32(seq))
		seq++
		at += 100_000
	}
	a, samples, why := read(t, &s)
	assert.Equal(t, []string{WhyStart, WhyRate}, why)
	assert.EqualValues(t, 230, a.Samples)
	assert.Zero(t, a.Lost+a.Rejected)
	assert.EqualValues(t, 1, samples[200].Segment)
}

func TestTrackRateChangeAtEnd(t *testing.T) {
	var s stream
	seq, at := s.at80(100, 5000, 20)
	for i := range uint16(5) {
		s.sample(seq+i, at+100_000*uint32(i+1), 7+int32(i))
	}
	a, _, _ := read(t, &s)
	assert.EqualValues(t, 25, a.Samples, "what is held at the end is not dropped")
	assert.Zero(t, a.Lost+a.Rejected)
}

func TestTrackPause(t *testing.T) {
	// The converter paused for 2 s: numbering goes on, the clock jumps.
	var s stream
	seq, at := s.at80(100, 1_250_515, 20)
	s.at80(seq+2, at+2_000_000, 20)
	a, _, why := read(t, &s)
	assert.Equal(t, []string{WhyStart, WhyPause}, why)
	assert.EqualValues(t, 40, a.Samples)
	assert.EqualValues(t, 2, a.Lost)
}

func TestTrackLastLineAfterGap(t *testing.T) {
	var s stream
	seq, at := s.at80(100, 5000, 20)
	s.at80(seq+200, at+200*12500, 1)
	a, _, why := read(t, &s)
	assert.Equal(t, []string{WhyStart}, why)
	assert.EqualValues(t, 21, a.Samples)
	assert.EqualValues(t, 200, a.Lost)
}

func TestTrackGapBeforeRateIsKnown(t *testing.T) {
	var s stream
	s.sample(100, 5000, 1)
	s.at80(300, 5000+200*12500, 20)
	a, _, why := read(t, &s)
	assert.Equal(t, []string{WhyStart}, why)
	assert.EqualValues(t, 21, a.Samples)
	assert.EqualValues(t, 199, a.Lost)
}

func TestFlags(t *testing.T) {
	var s stream
	s.fact("sps", "80")
	for i := range uint16(100) {
		counts := int32(i)
		switch {
		case i >= 10 && i < 15:
			counts = 8_388_607
		case i >= 15 && i < 18:
			counts = -8_388_608
		case i >= 40 && i < 70:
			counts = -1
		}
		s.sample(i, uint32(i)*300, counts) // forty times too fast
	}
	a, samples, _ := read(t, &s)
	assert.EqualValues(t, 8, a.Saturated)
	assert.EqualValues(t, 1, a.Stuck)
	assert.False(t, samples[58].Stuck)
	assert.True(t, samples[59].Stuck)
	assert.True(t, samples[69].Stuck)
	assert.False(t, samples[70].Stuck)
	var codes []string
	for _, w := range a.Warnings {
		codes = append(codes, w.Code)
	}
	assert.Equal(t, []string{"rate-off", "stuck", "saturated"}, codes)

	s.Reset()
	s.fact("adc_bits", "20")
	s.sample(0, 0, 524_287)
	a, _, _ = read(t, &s)
	assert.EqualValues(t, 1, a.Saturated)
}

func TestFactsAreBounded(t *testing.T) {
	var s stream
	for i := range 200 {
		s.fact(fmt.Sprintf("k%d", i), "v")
	}
	a, _, _ := read(t, &s)
	assert.Len(t, a.Facts, maxFacts)
	assert.EqualValues(t, 200-maxFacts, a.Rejected)
	assert.Equal(t, "many-facts", a.Warnings[0].Code)
}

func TestAccountJSON(t *testing.T) {
	var s stream
	s.fact("name", "bench cell")
	s.at80(0, 515, 1)
	a, _, _ := read(t, &s)
	b, err := json.Marshal(a)
	require.NoError(t, err)
	assert.JSONEq(t, `{"samples":1,"lost":0,"rejected":0,"duplicates":0,"segments":1,"saturated":0,
		"stalls":0,"rate_hz":null,"stuck":0,"facts":{"name":"bench cell"}}`, string(b))
}

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

// FuzzTracker feeds any sequence of counters: within a segment both counters
// must rise, and nothing may be counted below zero.
func FuzzTracker(f *testing.F) {
	f.Add([]byte("0123456701234567012345670123456701234567"))
	f.Fuzz(func(t *testing.T, data []byte) {
		var s stream
		lines := 0
		var seq uint16
		var at uint32
		for ; len(data) >= 4; data = data[4:] {
			switch data[0] % 8 {
			case 0:
				s.fact("boot", string('0'+data[1]%3))
				continue
			case 1:
				seq = binary.LittleEndian.Uint16(data[1:])
				at = uint32(data[3]) << 24
			case 2:
				seq += uint16(data[1])
				at += uint32(data[2]) * 12500
			default:
				seq++
				at += 12500
			}
			s.sample(seq, at, int32(data[3]))
			lines++
		}
		a, samples, _ := read(t, &s)
		if int(a.Samples+a.Duplicates+a.Rejected) != lines || len(samples) != int(a.Samples) || a.Lost < 0 {
			t.Fatalf("%d lines: %+v", lines, a)
		}
		for i := 1; i < len(samples); i++ {
			p, q := samples[i-1], samples[i]
			if q.Segment == p.Segment && (q.Seq <= p.Seq || q.T <= p.T || q.Seq-p.Seq-1 != q.Lost) {
				t.Fatalf("%+v then %+v", p, q)
			}
			if q.Lost < 0 || q.Segment < p.Segment {
				t.Fatalf("%+v then %+v", p, q)
			}
		}
	})
}
