package wire

import (
	"bytes"
	"unicode/utf8"
)

// Bounds of the fields of a sample line.
const (
	maxSeq    = 1<<16 - 1
	maxTime   = 1<<32 - 1
	maxCounts = 1<<23 - 1
	minCounts = -1 << 23
	maxLine   = 64 // bytes of the longest line, LF not counted
)

// line is a sample line as it stood on the wire.
type line struct {
	seq    uint16
	t      uint32 // us
	counts int32
}

// Why a line was rejected.
const (
	whyLong     = "too long"
	whyChecksum = "checksum does not match"
	whyGrammar  = "not a sample and not a fact"
	whySuspect  = "does not fit the lines around it"
	whyConflict = "same number as the line before, other content"
	whyFacts    = "too many different facts"
)

// parseSample reads a sample line without its LF: grammar first, then checksum.
func parseSample(b []byte) (l line, ok bool) {
	if len(b) > maxLine || len(b) < len(":0,0,0*0000") || b[0] != ':' {
		return line{}, false
	}
	body, crc, ok := splitCheck(b)
	if !ok {
		return line{}, false
	}
	body = body[1:]
	rest := body
	seq, rest, ok1 := number(rest, ',', maxSeq)
	t, rest, ok2 := number(rest, ',', maxTime)
	negative := len(rest) > 0 && rest[0] == '-'
	limit := uint64(maxCounts)
	if negative {
		rest, limit = rest[1:], -minCounts
	}
	counts, rest, ok3 := number(rest, 0, limit)
	if !ok1 || !ok2 || !ok3 || len(rest) > 0 || negative && counts == 0 || CRC16(body) != crc {
		return line{}, false
	}
	l = line{uint16(seq), uint32(t), int32(counts)}
	if negative {
		l.counts = -l.counts
	}
	return l, true
}

// parseFact reads a fact line without its LF. The key holds letters, digits,
// '_', '-' and '.'; the value is UTF-8 text without control characters.
func parseFact(b []byte) (key, value string, ok bool) {
	if len(b) > maxLine || len(b) < len("#k=*0000") || b[0] != '#' {
		return "", "", false
	}
	body, crc, ok := splitCheck(b)
	if !ok || CRC16(body) != crc {
		return "", "", false
	}
	k, v, ok := bytes.Cut(body[1:], []byte{'='})
	if !ok || len(k) == 0 || !utf8.Valid(v) {
		return "", "", false
	}
	for _, c := range k {
		letter := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9'
		if !letter && c != '_' && c != '-' && c != '.' {
			return "", "", false
		}
	}
	for _, c := range v {
		if c < ' ' || c == 0x7F {
			return "", "", false
		}
	}
	return string(k), string(v), true
}

// splitCheck takes the checksum off a line. Lower-case digits are refused: a
// flipped bit that only changes the case would pass otherwise.
func splitCheck(b []byte) (body []byte, crc uint16, ok bool) {
	star := len(b) - 5
	if star < 1 || b[star] != '*' {
		return nil, 0, false
	}
	for _, c := range b[star+1:] {
		switch {
		case c >= '0' && c <= '9':
			crc = crc<<4 | uint16(c-'0')
		case c >= 'A' && c <= 'F':
			crc = crc<<4 | uint16(c-'A'+10)
		default:
			return nil, 0, false
		}
	}
	return b[:star], crc, true
}

// number reads an unsigned decimal number without leading zeros, up to end (0:
// up to the end of b), and returns what stands behind end.
func number(b []byte, end byte, limit uint64) (v uint64, rest []byte, ok bool) {
	i := 0
	for ; i < len(b) && b[i] >= '0' && b[i] <= '9'; i++ {
		v = v*10 + uint64(b[i]-'0')
		if v > limit {
			return 0, nil, false
		}
	}
	if i == 0 || i > 1 && b[0] == '0' {
		return 0, nil, false
	}
	if end == 0 {
		return v, b[i:], true
	}
	if i == len(b) || b[i] != end {
		return 0, nil, false
	}
	return v, b[i+1:], true
}

// looksWhole tells whether a rejected line has the outline of a line, so that
// the checksum is the likely reason.
func looksWhole(b []byte) bool {
	_, _, ok := splitCheck(b)
	return ok && (b[0] == ':' || b[0] == '#')
}
