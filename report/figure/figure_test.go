package figure

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/report"
	"griptrial/report/internal/example"
	"griptrial/report/internal/golden"
)

// sample is the example with the traces of its first pulls: what slipped, held
// and was void are among them.
func sample() report.Input {
	in := example.Input()
	in.Traces = append(in.Traces[11:13:13], in.Traces[14])
	return in
}

func svg(t *testing.T, write func(io.Writer) error) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, write(&b))
	return b.String()
}

func TestGolden(t *testing.T) {
	figures := All(sample())
	require.Len(t, figures, 11)
	for _, f := range figures {
		golden.Equal(t, f.Name+".svg", []byte(svg(t, f.SVG)))
	}
	bound := sample()
	bound.Results.AgainstControl = nil
	bound.Results.Bounds = []analysis.BoundRatio{{A: "ground steel", B: "bonded P240 abrasive cloth", AtLeast: 3.5, PullsA: 1, PullsB: 1}}
	f, ok := Ratios(bound, Narrow)
	require.True(t, ok)
	golden.Equal(t, "ratios-bound.svg", []byte(svg(t, f.SVG)))
}

// Every figure is well-formed, tells what it is, and keeps text as text in
// typefaces that are there.
func TestSVGForEveryone(t *testing.T) {
	for _, f := range append(All(sample()), Trace(sample(), sample().Traces[0])) {
		for _, write := range []func(io.Writer) error{f.SVG, f.Inline} {
			s := svg(t, write)
			wellFormed(t, s)
			assert.Contains(t, s, `role="img"`)
			assert.Contains(t, s, "<title id=")
			assert.Contains(t, s, "<desc id=")
			assert.Contains(t, s, "sans-serif")
			assert.Contains(t, s, "<text ")
			assert.NotContains(t, s, "xlink:href")
		}
		assert.NotRegexp(t, `#[0-9A-F]{6}`, svg(t, f.Inline), "inks of a page follow its theme")
	}
}

func wellFormed(t *testing.T, s string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(s))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			t.Fatalf("not well-formed: %v\n%s", err, s)
		}
	}
}

func TestSameBytes(t *testing.T) {
	for _, f := range All(sample()) {
		for _, format := range Formats {
			var a, b bytes.Buffer
			require.NoError(t, f.Write(&a, format))
			require.NoError(t, f.Write(&b, format))
			assert.True(t, bytes.Equal(a.Bytes(), b.Bytes()), "%s as %s", f.Name, format)
			if format == "pdf" {
				// Two writes within a second have the clock's date in common.
				assert.Contains(t, a.String(), "/CreationDate (D:20000101000000)")
				assert.Equal(t, 2, strings.Count(a.String(), "D:20000101000000"))
			}
		}
	}
	assert.Error(t, Figure{}.Write(io.Discard, "gif"))
}

func TestPNGSize(t *testing.T) {
	f, ok := Dots(sample(), Narrow)
	require.True(t, ok)
	var b bytes.Buffer
	require.NoError(t, f.PNG(&b))
	c, err := png.DecodeConfig(&b)
	require.NoError(t, err)
	assert.Equal(t, int((fullWidth+2*margin)*dots/72), c.Width)
}

// What is held is drawn as an arrow and what is void as a hollow mark with its
// count, and neither as the filled mark of a value.
func TestHeldAndVoidAreNoValues(t *testing.T) {
	in := sample()
	count := func(in report.Input) (filled, stroked int, texts string) {
		f, ok := Dots(in, Narrow)
		require.True(t, ok)
		for _, s := range f.Shapes() {
			switch {
			case s.Text != "":
				texts += s.Text + "\n"
			case s.Fill:
				filled++
			default:
				stroked++
			}
		}
		return filled, stroked, texts
	}
	filled, stroked, texts := count(in)
	assert.Contains(t, texts, "1 void")
	for i := range in.Results.Pulls {
		if p := &in.Results.Pulls[i]; p.Outcome == "held" {
			p.Outcome = "slipped"
		}
	}
	filled2, stroked2, _ := count(in)
	assert.Equal(t, filled, filled2, "a head of an arrow became a mark")
	assert.Equal(t, stroked-2*3, stroked2, "three arrows of two strokes each are gone")
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriteErrors(t *testing.T) {
	f, _ := Dots(sample(), Narrow)
	for _, format := range Formats {
		assert.ErrorContains(t, f.Write(broken{}, format), "disk full", format)
	}
	assert.ErrorContains(t, f.Inline(broken{}), "disk full")
}

func TestHostileNames(t *testing.T) {
	for i := range example.Hostile {
		var names [4]string
		for k := range names {
			names[k] = example.Hostile[(i+k)%len(example.Hostile)]
		}
		in := example.Renamed(names)
		in.Traces = in.Traces[:6]
		for _, f := range All(in) {
			s := svg(t, f.SVG)
			wellFormed(t, s)
			assert.NotContains(t, s, "<script")
			assert.NotContains(t, s, "\u202e")
			if i%4 == 0 { // every name has been there; dots take long
				for _, format := range []string{"png", "pdf"} {
					require.NoError(t, f.Write(io.Discard, format))
				}
			}
		}
	}
}

// The typeface lacks these letters, so they are spelled and no box is drawn.
func TestSpell(t *testing.T) {
	for in, want := range map[string]string{
		"ground steel":  "ground steel",
		"Τραχύ, Шкурка": "Τραχύ, Шкурка",
		"pad 🔥":         "pad [U+1F525]",
		"مطاط مصبوب":    "[U+0645 U+0637 U+0627 …] [U+0645 U+0635 U+0628 …]",
		"3.3 × ≥ 2 − 1": "3.3 × ≥ 2 − 1",
		"a\u200db":      "ab",
	} {
		assert.Equal(t, want, Spell(in))
	}
}

func TestNothingToDraw(t *testing.T) {
	assert.Empty(t, All(report.Input{Force: sample().Force}))
	in := sample()
	in.Results.Facings, in.Results.AgainstControl, in.Results.LessSqueeze = in.Results.Facings[:1], nil, nil
	for _, f := range All(in) {
		wellFormed(t, svg(t, f.SVG))
	}
	unknown := analysis.Unknown()
	in = sample()
	for i := range in.Results.Facings {
		in.Results.Facings[i].Grip = analysis.Estimate{Estimate: unknown, Lower: unknown, Upper: unknown}
	}
	for i := range in.Results.Pulls {
		in.Results.Pulls[i].Clamp, in.Results.Pulls[i].Weight = unknown, unknown
	}
	for _, f := range All(in) {
		assert.NotEqual(t, "clamp", f.Name, "no squeeze is known")
		assert.NotContains(t, svg(t, f.SVG), "NaN")
	}
}

// Many facings: nothing is left out, nothing stands outside the drawing.
func TestThirtyFacings(t *testing.T) {
	in := sample()
	base := in.Results.Facings[1]
	for i := range 26 {
		f := base
		f.Facing = fmt.Sprintf("facing %d", i+5)
		in.Results.Facings = append(in.Results.Facings, f)
		in.Results.AgainstControl = append(in.Results.AgainstControl, analysis.Ratio{Facing: f.Facing, Ratio: 2, Lower: 1.8, Upper: 2.2})
		p := in.Results.Pulls[i]
		p.Facing, p.Outcome = f.Facing, "slipped"
		in.Results.Pulls = append(in.Results.Pulls, p)
	}
	for _, f := range All(in) {
		switch f.Name {
		case "traces", "squeeze", "letting-go", "wear", "order", "residuals", "scatter", "budget": // not one row a facing
			continue
		}
		found := make(map[string]bool)
		for _, s := range f.Shapes() {
			if s.Text != "" {
				found[s.Text] = true
				assert.GreaterOrEqual(t, s.X, -1.0)
				assert.LessOrEqual(t, s.X+width(s.Text, s.Size, s.Bold), f.Width+1, "%s: %s", f.Name, s.Text)
				assert.LessOrEqual(t, s.Y, f.Height+1, "%s: %s", f.Name, s.Text)
			}
		}
		for i := range 26 {
			assert.True(t, found[fmt.Sprintf("facing %d", i+5)], "%s: facing %d", f.Name, i+5)
		}
	}
}

func TestDecimate(t *testing.T) {
	const n = 4000
	time, force := make([]float64, n), make([]float64, n)
	for i := range n {
		time[i], force[i] = float64(i), math.Sin(float64(i)/50)
	}
	force[1234], force[2345] = 99, -99 // peaks of one sample
	force[77] = math.NaN()
	dt, df := decimate(time, force, 60)
	assert.LessOrEqual(t, len(dt), 4*60)
	assert.Contains(t, df, 99.0)
	assert.Contains(t, df, -99.0)
	assert.Equal(t, time[0], dt[0])
	assert.Equal(t, time[n-1], dt[len(dt)-1])
	for i := 1; i < len(dt); i++ {
		assert.Greater(t, dt[i], dt[i-1])
	}
	dt, df = decimate(time[:100], force[:100], 60)
	assert.Len(t, dt, 99, "a short record stays as it is, but for what is no number")
	assert.Equal(t, force[:77], df[:77])
	dt, _ = decimate(nil, nil, 60)
	assert.Empty(t, dt)
}

// A cell that counts down under load is drawn with its peak upward all the same.
func TestEitherSign(t *testing.T) {
	in := sample()
	up, down := in.Traces[1], in.Traces[1]
	down.Trace.Force = negated(up.Trace.Force)
	a := svg(t, Trace(in, up).SVG)
	b := svg(t, Trace(in, down).SVG)
	assert.Equal(t, a, b)
}

func TestRoundTicks(t *testing.T) {
	for _, c := range []struct {
		greatest float64
		n        int
		want     []float64
		decimals int
	}{
		{10, 5, []float64{0, 5, 10}, 0},
		{0.45, 5, []float64{0, 0.1, 0.2, 0.30000000000000004, 0.4}, 1},
		{1830, 6, []float64{0, 500, 1000, 1500}, 0},
		{0, 5, []float64{0, 0.5, 1}, 1}, // nothing positive: an axis to 1
	} {
		values, d := fromZero(c.greatest, 0, 100).ticks(c.n)
		assert.InDeltaSlice(t, c.want, values, 1e-9, "%v", c.greatest)
		assert.Equal(t, c.decimals, d)
	}
	assert.Equal(t, []float64{0.5, 1, 2, 5, 10, 20}, scale{lo: 0.4, hi: 21}.logTicks())
}

// TestBetween: a line leaves the panel at its edge and does not run along it.
func TestBetween(t *testing.T) {
	steep := []pt{{0, 50}, {10, 20}, {20, -10}, {30, -40}}
	got := between(steep, 5, 100)
	assert.Len(t, got, 3)
	assert.InDelta(t, 15, got[2].x, 1e-12)
	assert.InDelta(t, 5, got[2].y, 1e-12)
	fallen := between([]pt{{0, -10}, {10, 10}, {20, 30}}, 0, 20)
	assert.Equal(t, []pt{{5, 0}, {10, 10}, {15, 20}}, fallen)
	level := []pt{{0, 7}, {10, 7}, {20, 7}}
	assert.Equal(t, level, between(level, 5, 100))
	assert.Empty(t, between(level, 8, 100))
}

// TestBesides: words keep off the reference line where there is room for that.
func TestBesides(t *testing.T) {
	sc := scale{from: 6, to: 296}
	heads := []rowHead{{"P240 cloth", "1.33 ×"}}
	assert.Equal(t, headPlace{6, 296}, besides(sc, 150, heads), "nothing is crossed")
	assert.Equal(t, headPlace{45, 296}, besides(sc, 40, heads), "names stand to the right")
	assert.Equal(t, headPlace{6, 275}, besides(sc, 280, heads), "numbers stand to the left")
	long := []rowHead{{"bonded P240 abrasive cloth on steel", "1.33 × (1.17 to 1.51)"}}
	assert.Equal(t, headPlace{6, 296}, besides(sc, 40, long), "no room")
}
