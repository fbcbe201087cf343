package wire

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

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
