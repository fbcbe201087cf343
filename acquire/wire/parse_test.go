package wire

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// check puts a true checksum behind any text.
func check(body string) string {
	covered := strings.TrimPrefix(body, ":")
	return body + fmt.Sprintf("*%04X", CRC16([]byte(covered)))
}

func TestParseSampleGrammar(t *testing.T) {
	good := map[string]line{
		":0,12500,-1234*6320":              {0, 12500, -1234},
		check(":65535,4294967295,8388607"): {65535, 4294967295, 8388607},
		check(":0,0,0"):                    {0, 0, 0},
		check(":9,10,-8388608"):            {9, 10, -8388608},
	}
	for text, want := range good {
		got, ok := parseSample([]byte(text))
		require.True(t, ok, text)
		assert.Equal(t, want, got)
	}
	bad := []string{
		"", ":", "*6320", ":0,12500,-1234", ":0,12500,-1234*632", ":0,12500,-1234*63200",
		":0,12500,-1234*6321",              // another checksum
		"0,12500,-1234*6320",               // no start mark
		strings.ToLower(check(":1,2,-38")), // lower-case checksum: below
		check(":65536,0,0"),                // too large
		check(":0,4294967296,0"), check(":0,0,8388608"), check(":0,0,-8388609"),
		check(":00,0,0"), check(":0,01,0"), check(":0,0,-01"), check(":0,0,-0"),
		check(":+1,0,0"), check(":0,0,+1"), check(": 0,0,0"), check(":0,0, 1"), check(":0,0,1 "),
		check(":0,0"), check(":0,0,1,2"), check(":,0,0"), check(":0,,0"), check(":0,0,"), check(":0,0,-"), check(":0,-1,0"),
		check(":0,0,1x"), check(":0x1,0,1"), check(":99999999999999999999999,0,1"),
	}
	for _, text := range bad {
		_, ok := parseSample([]byte(text))
		assert.False(t, ok, text)
	}
	require.NotEqual(t, check(":1,2,-38"), strings.ToLower(check(":1,2,-38")), "the example has letters in its checksum")
}

func TestParseFactGrammar(t *testing.T) {
	for _, text := range []string{"#sps=80", "#name=bench cell, left", "#fw=1.2:beta=x", "#note=", "#adc_bits=24", "#n=Zelle für 500 N"} {
		key, value, ok := parseFact([]byte(check(text)))
		require.True(t, ok, text)
		assert.Equal(t, text, "#"+key+"="+value)
	}
	for _, text := range []string{"sps=80", "#sps", "#=80", "#s ps=80", "#s=\x01", "#s=\x7f", "#s=\xff", "#s*=1", "#" + strings.Repeat("k", 60) + "=1"} {
		_, _, ok := parseFact([]byte(check(text)))
		assert.False(t, ok, text)
	}
	_, _, ok := parseFact([]byte("#sps=80*0000"))
	assert.False(t, ok)
}

// scanAll cuts text into lines, in pieces of n bytes.
func scanAll(text string, n int) (found []string) {
	var s scanner
	emit := func(f scanned) {
		switch f.kind {
		case KindSample:
			found = append(found, fmt.Sprintf("sample %d", f.line.seq))
		case KindFact:
			found = append(found, "fact "+f.key)
		default:
			found = append(found, fmt.Sprintf("%s %t %q", f.why, f.part, f.raw))
		}
	}
	for len(text) > n {
		s.feed([]byte(text[:n]), emit)
		text = text[n:]
	}
	s.feed([]byte(text), emit)
	s.rest(emit)
	return found
}

func TestScanRecovers(t *testing.T) {
	one, two, boot := check(":1,100,5"), check(":2,200,6"), check("#boot=2")
	tests := []struct {
		name, text string
		want       []string
	}{
		{"whole lines", one + "\n" + two + "\r\n" + boot + "\n", []string{"sample 1", "sample 2", "fact boot"}},
		{"no last LF", one + "\n" + two, []string{"sample 1", "sample 2"}},
		{"empty lines", "\n\r\n" + one + "\n", []string{"sample 1"}},
		{"cut line glued to a good one", ":1,10" + two + "\n", []string{"sample 2", `not a sample and not a fact false ":1,10"`}},
		{"noise before a mark", "\x00\xffab" + two + "\n", []string{"sample 2", `not a sample and not a fact false "\x00\xffab"`}},
		{"only the LF was lost", one + two + "\n", []string{"sample 1", "sample 2"}},
		{"reset in a line", ":1,1" + boot + "\n", []string{"fact boot", `not a sample and not a fact false ":1,1"`}},
		{"good line then rubbish", one + ":3,3\n", []string{"sample 1", `not a sample and not a fact false ":3,3"`}},
		{"checksum", ":1,100,5*0000\n", []string{`checksum does not match false ":1,100,5*0000"`}},
		{"noise twice as long as a line", strings.Repeat("z", 130) + two + "\n", []string{"sample 2", fmt.Sprintf("too long false %q", strings.Repeat("z", 130))}},
	}
	for _, test := range tests {
		for _, n := range []int{1, 3, 4096} {
			assert.Equal(t, test.want, scanAll(test.text, n), "%s in pieces of %d", test.name, n)
		}
	}
}

func TestScanBoundedAndWhole(t *testing.T) {
	// A line without end: memory stays bounded and every byte is handed on.
	noise := strings.Repeat("0123456789", 1_000_00)
	good := check(":7,7,7")
	var s scanner
	total, lines, samples := 0, 0, 0
	emit := func(f scanned) {
		if f.kind == KindSample {
			samples++
			return
		}
		total += len(f.raw)
		if !f.part {
			lines++
		}
	}
	for i := 0; i < len(noise); i += 1000 {
		s.feed([]byte(noise[i:i+1000]), emit)
		require.LessOrEqual(t, cap(s.buf), 2*maxBuf)
	}
	s.feed([]byte(good+"\n"), emit)
	assert.Equal(t, len(noise), total)
	assert.Equal(t, 1, lines, "counted once")
	assert.Equal(t, 1, samples, "the good line at its end is found")
}

func FuzzScanner(f *testing.F) {
	f.Add([]byte(":0,12500,-1234*6320\n#boot=1*0000\n"), uint8(3))
	f.Add([]byte(check("#boot=1")+"\n"+check(":0,515,0")+"\n"+check(":1,13015,0")+"\n"+check(":0,515,0")+"\n"), uint8(1))
	f.Add([]byte(strings.Repeat(":", 700)+"\n"), uint8(255))
	f.Fuzz(func(t *testing.T, data []byte, piece uint8) {
		found := 0
		var s scanner
		emit := func(e scanned) {
			found += len(e.raw)
			if e.kind == KindSample {
				found += len(AppendSample(nil, e.line.seq, e.line.t, e.line.counts)) - 1
			}
			if e.kind == KindFact {
				found += len(AppendFact(nil, e.key, e.value)) - 1
			}
		}
		n := int(piece) + 1
		for i := 0; i < len(data); i += n {
			s.feed(data[i:min(len(data), i+n)], emit)
		}
		s.rest(emit)
		ends := 0
		for i, c := range data {
			if c == '\n' {
				ends++
				if i > 0 && data[i-1] == '\r' {
					ends++
				}
			}
		}
		if n := len(data); n > 0 && data[n-1] == '\r' {
			ends++
		}
		if found+ends != len(data) {
			t.Fatalf("%d bytes found and %d line ends of %d bytes", found, ends, len(data))
		}
	})
}
