package wire

import "bytes"

// scanned is one thing found in the byte stream: a sample, a fact, or bytes
// that are neither.
type scanned struct {
	kind       Kind // KindSample, KindFact or KindDamaged
	line       line
	key, value string
	raw        []byte // KindDamaged; valid until the next call of feed
	why        string
	part       bool // KindDamaged: more of the same line follows
}

// scanner cuts bytes into lines. Its memory is bounded whatever comes.
type scanner struct {
	buf     []byte // the unfinished line
	partial bool   // bytes of this line were already handed on as damaged
	first   bool   // the first line may be a piece: not reported when bad
}

const (
	// keepTail is how much of an over-long line is kept in the hope of a
	// whole line at its end.
	keepTail = maxLine + 1
	maxBuf   = 512
)

// feed consumes b and calls emit for each thing found.
func (s *scanner) feed(b []byte, emit func(scanned)) {
	for len(b) > 0 {
		end := bytes.IndexByte(b, '\n')
		chunk := b
		if end >= 0 {
			chunk = b[:end]
		}
		for len(chunk) > 0 {
			n := min(len(chunk), maxBuf-len(s.buf))
			s.buf = append(s.buf, chunk[:n]...)
			chunk = chunk[n:]
			if len(s.buf) == maxBuf {
				s.overflow(emit)
			}
		}
		if end < 0 {
			return
		}
		s.finish(emit)
		b = b[end+1:]
	}
}

// overflow hands the head of an over-long line on and keeps its tail.
func (s *scanner) overflow(emit func(scanned)) {
	cut := len(s.buf) - keepTail
	if !s.first {
		emit(scanned{kind: KindDamaged, raw: s.buf[:cut], why: whyLong, part: true})
	}
	s.buf = append(s.buf[:0], s.buf[cut:]...)
	s.partial = true
}

// finish looks at the line in buf and clears it.
func (s *scanner) finish(emit func(scanned)) {
	b := s.buf
	if n := len(b); n > 0 && b[n-1] == '\r' {
		b = b[:n-1]
	}
	quiet := s.first
	s.first = false
	partial := s.partial
	s.partial = false
	s.buf = s.buf[:0]
	if len(b) == 0 && !partial {
		return // an empty line carries nothing that could be lost
	}
	if !partial {
		if found, ok := whole(b); ok {
			emit(found)
			return
		}
	}
	damaged := recoverLines(b, emit)
	if (len(damaged) > 0 || partial) && !quiet {
		emit(scanned{kind: KindDamaged, raw: damaged, why: reason(damaged, partial)})
	}
}

// rest reports the unfinished line at the end of the stream.
func (s *scanner) rest(emit func(scanned)) {
	if len(s.buf) > 0 || s.partial {
		s.finish(emit)
	}
}

func whole(b []byte) (scanned, bool) {
	if l, ok := parseSample(b); ok {
		return scanned{kind: KindSample, line: l}, true
	}
	if key, value, ok := parseFact(b); ok {
		return scanned{kind: KindFact, key: key, value: value}, true
	}
	return scanned{}, false
}

// recoverLines looks for whole lines behind the start marks of a damaged line:
// a line cut short or a lost LF glues its neighbour to it. It returns what is
// left over.
func recoverLines(b []byte, emit func(scanned)) (damaged []byte) {
	at := nextMark(b, 0)
	damaged = append(damaged, b[:at]...)
	for at < len(b) {
		if found, ok := whole(b[at:]); ok {
			emit(found)
			return damaged
		}
		next := nextMark(b, at+1)
		if found, ok := whole(b[at:next]); ok {
			emit(found)
		} else {
			damaged = append(damaged, b[at:next]...)
		}
		at = next
	}
	return damaged
}

// nextMark is the place of the first start mark at or after from, len(b) if
// there is none.
func nextMark(b []byte, from int) int {
	for i := from; i < len(b); i++ {
		if b[i] == ':' || b[i] == '#' {
			return i
		}
	}
	return len(b)
}

func reason(b []byte, partial bool) string {
	switch {
	case partial || len(b) > maxLine:
		return whyLong
	case looksWhole(b):
		return whyChecksum
	}
	return whyGrammar
}
