package analysis

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

// fromR reads the values that testdata/reference/residuals.R made.
func fromR(t *testing.T) map[string]float64 {
	t.Helper()
	f, err := os.Open("../testdata/reference/residuals.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	out := make(map[string]float64, len(rows))
	for _, r := range rows[1:] {
		v, err := strconv.ParseFloat(r[1], 64)
		require.NoError(t, err)
		out[r[0]] = v
	}
	return out
}

// eight are the pulls of residuals.R.
func eight() []trial.Reading {
	var out []trial.Reading
	clampings := []int{0, 0, 1, 1, 2, 3, 4, 3}
	for i, force := range []float64{310, 842, 301, 810, 322, 795, 318, 801} {
		out = append(out, trial.Reading{
			Pull: i + 1, Facing: []string{"steel", "P240"}[i%2], Force: force, Clamp: 1000, Outcome: trial.Slipped, Block: []string{"1", "2"}[i/4],
			Clampings: trial.Count{N: clampings[i], Known: true}, Order: trial.Count{N: i + 1, Known: true},
		})
	}
	return out
}

func TestResidualsAgreeWithR(t *testing.T) {
	want := fromR(t)
	res, err := Analyse(eight(), trial.Study{}, Options{})
	require.NoError(t, err)
	grip := map[string]float64{}
	for _, f := range res.Facings {
		grip[f.Facing] = float64(f.Grip.Estimate)
	}
	for i, p := range res.Pulls {
		n := strconv.Itoa(i + 1)
		assert.InDelta(t, want["residual."+n], float64(p.Residual), 1e-10)
		assert.InDelta(t, want["score."+n], float64(p.Score), 1e-10)
		assert.InDelta(t, float64(p.Value)/grip[p.Facing], float64(p.Relative), 1e-12)
	}
	require.Len(t, res.Blocks, 2)
	b := res.Blocks[0]
	assert.InDelta(t, want["block.1.ratio"], float64(b.Ratio.Estimate), 1e-10)
	assert.InDelta(t, want["block.1.lower"], float64(b.Ratio.Lower), 1e-9)
	assert.InDelta(t, want["block.1.upper"], float64(b.Ratio.Upper), 1e-9)
	assert.Equal(t, []Number{1, 4, 5, 8}, []Number{b.First, b.Last, res.Blocks[1].First, res.Blocks[1].Last})
	require.Len(t, res.Checks.Wear.Facings, 2)
	for _, w := range res.Checks.Wear.Facings {
		for key, got := range map[string]Number{"slope": w.Slope, "lower": w.Lower, "upper": w.Upper, "p": w.P} {
			assert.InDelta(t, want["wear."+w.Facing+"."+key], float64(got), 1e-9, "%s %s", w.Facing, key)
		}
		// ln 0.9 over the slope: P240 loses a tenth in 2.5 clampings, in 1.5 at the quickest.
		if w.Facing == "P240" {
			assert.Equal(t, []Number{2, 1, 3}, []Number{w.Tenth, w.TenthAtLeast, w.Most})
		}
	}
}

// Held pulls have no score, and the scores of the others make room for them.
func TestScoresWithHeld(t *testing.T) {
	want := fromR(t)
	var left []leftOver
	for i := range 7 {
		left = append(left, leftOver{i + 1, float64(i + 1), i == 2 || i == 4 || i == 6})
	}
	got := normalScores(left)
	require.Len(t, got, 4)
	for _, i := range []int{1, 2, 4, 6} {
		assert.InDelta(t, want["held.score."+strconv.Itoa(i)], got[i], 1e-10)
	}
	readings := eight()
	readings[1].Outcome = trial.Held
	res, err := Analyse(readings, trial.Study{}, Options{})
	require.NoError(t, err)
	assert.False(t, res.Pulls[1].Score.Known())
	assert.True(t, res.Pulls[1].Residual.Known(), "a lower bound")
	assert.Empty(t, res.Residuals.Band)
}

func TestNormalBand(t *testing.T) {
	want := fromR(t)
	band := normalBand(5, 0.95)
	require.Len(t, band, 5)
	for _, i := range []int{1, 3, 5} {
		assert.InDelta(t, want["band."+strconv.Itoa(i)+".lower"], float64(band[i-1].Lower), 1e-9)
		assert.InDelta(t, want["band."+strconv.Itoa(i)+".upper"], float64(band[i-1].Upper), 1e-9)
	}
	assert.Empty(t, normalBand(2, 0.95))
	assert.Len(t, normalBand(2000, 0.95), bandPoints)
}

func TestBudgetAgreesWithR(t *testing.T) {
	want := fromR(t)
	const deg = math.Pi / 180
	s := trial.Study{Handle: trial.Handle{Arm: 0.15}, Screw: trial.Screw{
		PitchDiameter: 0.018, Lead: 0.004, HalfFlank: 15 * deg, ThreadLow: 0.1, ThreadHigh: 0.2, CollarLow: 0.1, CollarHigh: 0.14, CollarDiameter: 0.024}}
	readings := eight()
	for i := range readings {
		readings[i].Clamp, readings[i].Weight, readings[i].Block = 0, 5, ""
	}
	s.Scale.U = 0.005
	res, err := Analyse(readings, s, Options{})
	require.NoError(t, err)
	require.Len(t, res.Budgets, 3)
	b := res.Budgets[0]
	assert.Equal(t, "steel", b.Facing)
	for i, key := range []string{"budget.pulls", "budget.thread", "budget.collar"} {
		assert.InDelta(t, want[key], float64(b.Terms[i].U), 1e-6*want[key], b.Terms[i].Source)
	}
	assert.InDelta(t, 0.005, float64(b.Terms[3].U), 1e-9)
	assert.InDelta(t, want["budget.u"], float64(b.U), 1e-7)
	assert.InEpsilon(t, want["budget.df"], float64(b.DF), 1e-4)
	assert.InDelta(t, want["budget.k"], float64(b.K), 1e-6)
	ratio := res.Budgets[2]
	assert.Equal(t, []string{"P240", "steel"}, []string{ratio.Facing, ratio.Against})
	require.Len(t, ratio.Terms, 4)
	for _, term := range ratio.Terms[1:] {
		assert.True(t, term.Cancels, term.Source)
	}
	s.Scale.U = 0
	res, err = Analyse(readings, s, Options{})
	require.NoError(t, err)
	assert.False(t, res.Budgets[0].Terms[3].U.Known(), "the scale's doubt was not stated")
}
