package table

import (
	"bytes"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// fastNumber reads one number by the fast rows of a trace; ok is false where
// the text was left to the slow ones.
func fastNumber(t testing.TB, text string) (v float64, ok bool) {
	s := newSource("n", strings.NewReader("t [s],force [N]\n1,"+text+"\n"))
	defer s.release()
	p := traceParser{s: s, f: &TraceFile{}, block: &s.room.block}
	var err error
	p.h, err = readHead(s, "", &p.ps)
	require.NoError(t, err)
	require.True(t, p.makePlan())
	region, err := s.whole()
	require.NoError(t, err)
	_, rows := p.parse(len(region), batch)
	return p.block[slotForce][0], rows == 1
}

// checkNumber compares both readers of numbers with strconv, bit by bit.
func checkNumber(t testing.TB, text string) {
	want, err := strconv.ParseFloat(text, 64)
	got, ours := parseNumber([]byte(text), false)
	if ours == nil {
		require.NoError(t, err, text)
		require.Equal(t, math.Float64bits(want), math.Float64bits(got), text)
	} else if err == nil && strings.Trim(text, "+-0123456789.eE") == "" {
		t.Fatalf("%q is a number: %v", text, ours)
	}
	if strings.ContainsAny(text, ",\n\r\"") {
		return
	}
	if v, ok := fastNumber(t, text); ok {
		require.NoError(t, ours, text)
		require.Equal(t, math.Float64bits(want), math.Float64bits(v), text)
	}
}

var numbers = []string{"0", "-0", "1", "0.1", "12345678", "123456789", "1234567.8", "0.12345678", "-0.0000001", "9007199254740993",
	"9007199254740992", "90071992547.40993", "0.30000000000000004", "1.7976931348623157e308", "5e-324", "1e-400", "1e400", "00012.5000", ".5", "5.", ".", "-", "+3",
	"1e5", "1E+05", "1e", "e5", "--1", "1.2.3", "0x10", "1_0", "Inf", "nan", "12345678901234567890123", "9999999999.9999999", "0.000000000000000000000000000001", ""}

func TestNumbersToTheLastBit(t *testing.T) {
	for _, text := range numbers {
		checkNumber(t, text)
	}
	rng := rand.New(rand.NewPCG(3, 4))
	fast := 0
	for range 20000 {
		v := math.Float64frombits(rng.Uint64())
		text := strconv.FormatFloat(v, "gfe"[rng.IntN(3)], rng.IntN(20)-1, 64)
		if rng.IntN(2) == 0 {
			text = strconv.FormatFloat(rng.NormFloat64()*math.Pow10(rng.IntN(9)-2), 'f', rng.IntN(9), 64)
		}
		checkNumber(t, text)
		if _, ok := fastNumber(t, text); ok {
			fast++
		}
	}
	assert.Greater(t, fast, 8000, "most plain decimals go the fast way")
}

func FuzzNumber(f *testing.F) {
	for _, text := range numbers {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) { checkNumber(t, text) })
}

// FuzzReadTrace: whatever the bytes, no panic; what comes out is finite and
// increases; the same comes out in pieces and a second time.
func FuzzReadTrace(f *testing.F) {
	f.Add([]byte("# a: b\nt [s],force [N]\n0,1\n1,2\n"), 3)
	f.Add([]byte("\ufefft [ms];force [kgf];travel [mm]\r\n0;1,5;0\r\n1;\"2\";1\r\n"), 1)
	f.Add([]byte(SampleHeader+"0,1,2,0\n1,5,-3,0\n0,1,1,1\n"), 7)
	f.Add([]byte("t [s]\tforce [N]\n0\t\"1\n2\"\n\x00"), 2)
	f.Add([]byte("t [s],force [N]\n0,1e300\n1,-1e300\n2e300,12345678.12345678\n"), 5)
	f.Fuzz(func(t *testing.T, text []byte, size int) {
		one, err := ReadTrace("f", bytes.NewReader(text))
		two, again := ReadTrace("f", &pieces{text, 1 + size&1023})
		require.Equal(t, one, two)
		require.Equal(t, err, again)
		for i, v := range one.Trace.T {
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
			require.True(t, i == 0 || v > one.Trace.T[i-1])
		}
		for _, v := range append(append([]float64(nil), one.Trace.Force...), one.Trace.Travel...) {
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
		}
		n := len(one.Trace.T)
		for _, c := range [][]int64{one.Seq, one.Counts, one.Segment, one.Micros} {
			require.True(t, c == nil || len(c) == n)
		}
		require.True(t, one.Trace.Force == nil || len(one.Trace.Force) == n)
		require.True(t, err != nil || n > 0)
	})
}

// FuzzReadReadings: whatever the bytes, no panic, only lawful readings, and
// what AppendReading writes of them reads back.
func FuzzReadReadings(f *testing.F) {
	f.Add([]byte("facing,force [N],clamp [N],outcome,division [N],note\na,1,2,held,,\"x\ny\"\nb,,,void,1,\n"))
	f.Add([]byte("pull;facing;force [lbf];order;clampings;weight [lb]\n1;#a;1,5;1;0;5\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		got, err := ReadReadings("f", bytes.NewReader(text))
		require.True(t, err != nil || len(got.Readings) > 0)
		require.Len(t, got.Line, len(got.Readings))
		require.Len(t, got.Fields, len(got.Readings))
		if len(got.Readings) == 0 {
			return
		}
		out := AppendRecord(nil, ReadingColumns(got.Force)...)
		for _, r := range got.Readings {
			require.NotEmpty(t, r.Facing)
			require.True(t, r.Clamp >= 0 && r.Force > -math.MaxFloat64 && r.Division >= 0 && r.Weight >= 0)
			out = AppendReading(out, r, got.Force)
		}
		back, err := ReadReadings("back", bytes.NewReader(out))
		require.NoError(t, err, "%q", out)
		require.Len(t, back.Readings, len(got.Readings))
		for i, r := range got.Readings {
			require.Equal(t, r.Facing, back.Readings[i].Facing)
			require.Equal(t, r.Outcome, back.Readings[i].Outcome)
			require.InEpsilon(t, 1+math.Abs(r.Force), 1+math.Abs(back.Readings[i].Force), 1e-15)
		}
	})
}
