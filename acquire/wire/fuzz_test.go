package wire

import (
	"bytes"
	"encoding/binary"
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
