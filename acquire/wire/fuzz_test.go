package wire

import (
	"bytes"
	"errors"
	"io"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/require"
)

// FuzzReader feeds any bytes, with the line lost and regained in between. Each
// line of its events is accounted for, within a segment both counters rise, what
// is handed on was on the wire, and the size of the pieces makes no difference.
func FuzzReader(f *testing.F) {
	var s stream
	s.fact("boot", "1")
	seq, at := s.at80(65_530, 4_294_900_000, 12)
	s.WriteString("\x00\xff:12,")
	s.at80(seq, at, 5)
	s.fact("boot", "2")
	s.at80(0, 515, 12)
	f.Add(s.Bytes(), uint16(200))
	f.Add([]byte(line80(0, 9)+line80(300, 3)+line80(2, 3)), uint16(90))
	f.Add([]byte("#id=a*0000\n"+factsText("id", "a", "sps", "80")+line80(0, 3)+factsText("id", "b")), uint16(40))
	f.Fuzz(func(t *testing.T, data []byte, at uint16) {
		first, second := data[:min(len(data), int(at))], data[min(len(data), int(at)):]
		a, events := readTwice(t, bytes.NewReader(first), bytes.NewReader(second))
		b, again := readTwice(t, iotest.OneByteReader(bytes.NewReader(first)), iotest.OneByteReader(bytes.NewReader(second)))
		require.Equal(t, a, b)
		require.Equal(t, events, again)
	})
}

// readTwice reads one stream and then another as the same device's, and checks
// the account against the events.
func readTwice(t *testing.T, first, second io.Reader) (Account, []Event) {
	t.Helper()
	r := NewReader(first, ReaderOptions{Now: func() time.Time { return time.Unix(1000, 0) }})
	var events []Event
	var samples, lost, segments int64
	var last Sample
	for round := 0; ; {
		e, err := r.Next()
		if err != nil {
			var other *OtherDevice
			if round++; round == 2 || errors.As(err, &other) {
				break
			}
			r.Rejoin(second, nil)
			continue
		}
		events = append(events, e)
		switch e.Kind {
		case KindSegment:
			segments++
			require.EqualValues(t, segments-1, e.Segment.Segment)
		case KindSample:
			s := e.Sample
			require.GreaterOrEqual(t, s.Lost, int64(0))
			require.EqualValues(t, segments-1, s.Segment)
			require.Equal(t, uint16(s.Seq), s.RawSeq)
			require.Equal(t, uint32(s.T), s.RawT)
			if samples > 0 && s.Segment == last.Segment {
				require.Equal(t, s.Seq-last.Seq-1, s.Lost)
				require.Greater(t, s.T, last.T)
			}
			samples++
			lost += s.Lost
			last = s
		}
	}
	a := r.Account()
	require.Equal(t, samples, a.Samples)
	require.Equal(t, lost, a.Lost)
	require.EqualValues(t, segments, a.Segments)
	return a, events
}
