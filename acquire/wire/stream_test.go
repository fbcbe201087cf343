package wire

import (
	"bytes"
	"errors"
	"io"
	"testing"

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
