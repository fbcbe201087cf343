package report_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"griptrial/analysis"
	"griptrial/report"
	"griptrial/report/internal/example"
)

func TestVerdict(t *testing.T) {
	nan := analysis.Unknown()
	for _, c := range []struct {
		name              string
		change            func(*analysis.Results)
		best, says, about string
	}{
		{"clear", func(*analysis.Results) {}, "bonded P240 abrasive cloth",
			"bonded P240 abrasive cloth holds 3.3 times what ground steel holds.", "Between 3.03 and 3.58 times, from 12 pulls on 2 samples. Such a range is right 19 times in 20."},
		{"not sure", func(r *analysis.Results) {
			for i := range r.AgainstControl {
				r.AgainstControl[i].Lower = 0.9
			}
		}, "", "Nothing tried is surely better than ground steel.",
			"bonded P240 abrasive cloth holds between 0.9 and 3.6 times what ground steel holds, from 12 pulls on 2 samples. Such a range is right 19 times in 20."},
		{"control wins", func(r *analysis.Results) {
			for i := range r.AgainstControl {
				r.AgainstControl[i] = analysis.Ratio{Facing: r.AgainstControl[i].Facing, Ratio: 0.5, Lower: 0.4, Upper: 0.6}
			}
		}, "ground steel", "ground steel holds better than anything tried against it.",
			"bonded P240 abrasive cloth holds between 0.40 and 0.60 times what ground steel holds, from 12 pulls on 2 samples. Such a range is right 19 times in 20."},
		{"no interval", func(r *analysis.Results) {
			for i := range r.AgainstControl {
				r.AgainstControl[i].Lower, r.AgainstControl[i].Upper = nan, nan
			}
		}, "", "bonded P240 abrasive cloth held 3.30 times what ground steel held, but how sure that is cannot be said.", "From 12 pulls on 2 samples."},
		{"only a bound", func(r *analysis.Results) {
			r.AgainstControl = nil
			r.Bounds = []analysis.BoundRatio{{A: "ground steel", B: "bonded P240 abrasive cloth", AtLeast: 3.5, PullsA: 1, PullsB: 1, PullsFor: 3}}
		}, "bonded P240 abrasive cloth", "bonded P240 abrasive cloth holds at least about 3.5 times what ground steel holds.",
			"From one pull each. That is a lower bound: the part was not moved. How sure that is cannot be said. 3 pulls that slip, of each facing, would earn a range."},
		{"nothing known", func(r *analysis.Results) { r.AgainstControl, r.Bounds = nil, nil }, "", "These pulls cannot say which facing holds better.", ""},
		{"one facing", func(r *analysis.Results) { r.Facings = r.Facings[:1] }, "", "ground steel: friction coefficient 0.1250 (0.1190 to 0.1310).", "11 pulls, and nothing to compare with."},
		{"all void", func(r *analysis.Results) {
			for i := range r.Facings {
				r.Facings[i].Slipped, r.Facings[i].Held, r.Facings[i].Void = 0, 0, 2
			}
		}, "", "Every pull is void.", "None of 8 pulls says anything about the grip."},
		{"nothing", func(r *analysis.Results) { *r = analysis.Results{} }, "", "Nothing was pulled yet.", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := example.Input()
			c.change(&in.Results)
			v := in.Verdict()
			assert.Equal(t, c.best, v.Best)
			assert.Equal(t, c.says, v.Headline)
			if c.about != "" {
				assert.Equal(t, c.about, v.Sure)
			}
		})
	}
}

func TestRivals(t *testing.T) {
	in := example.Input()
	assert.Empty(t, in.Verdict().Rivals)
	in.Results.Pairs = append(in.Results.Pairs, analysis.Pair{A: "bonded P240 abrasive cloth", B: "a fifth", Ratio: 1, Lower: 0.9, Upper: 1.1})
	assert.Equal(t, "These pulls do not tell it apart from a fifth.", in.Verdict().Rivals)
}

func TestSqueeze(t *testing.T) {
	in := example.Input()
	assert.Equal(t, "With bonded P240 abrasive cloth hang 3.4 kg on the handle where 10 kg hangs with ground steel today, for the same hold.", in.Verdict().Squeeze)
	c := in.Card()
	assert.Equal(t, "3.4 kg", c.Big)
	assert.Equal(t, []string{"10 kg", "3.4 kg", "4.1 kg", "5.9 kg"}, []string{c.Rows[0].Hang, c.Rows[1].Hang, c.Rows[2].Hang, c.Rows[3].Hang})
	in.Results.LessSqueeze[0].Beyond = true
	assert.Contains(t, in.Verdict().Mind, "outside what was tried")
	for i := range in.Results.LessSqueeze {
		s := &in.Results.LessSqueeze[i]
		s.Usual, s.Weight = analysis.Unknown(), analysis.Estimate{Estimate: analysis.Unknown(), Lower: analysis.Unknown(), Upper: analysis.Unknown()}
	}
	assert.Equal(t, "34 %", in.Card().Big)
	assert.Contains(t, in.Verdict().Squeeze, "34 % of today's squeeze")
}

// A facing whose gain is not sure never shows a squeeze as if it were.
func TestCardSqueezeIsSure(t *testing.T) {
	nan := analysis.Unknown()
	for _, c := range []struct {
		name         string
		change       func(*analysis.Ratio, *analysis.Squeeze)
		hang, unsure string
	}{
		{"sure", func(*analysis.Ratio, *analysis.Squeeze) {}, "3.4 kg", ""},
		{"more than today", func(x *analysis.Ratio, s *analysis.Squeeze) {
			x.Lower, s.Share.Upper, s.Weight.Upper = 0.56, 1.8, 18
		}, report.Dash, "not surely less"},
		{"as much as today", func(_ *analysis.Ratio, s *analysis.Squeeze) { s.Share.Upper, s.Weight.Upper = 1, 10 }, report.Dash, "not surely less"},
		{"interval of the ratio reaches 1", func(x *analysis.Ratio, _ *analysis.Squeeze) { x.Lower = 1 }, report.Dash, "not surely less"},
		{"estimate only", func(x *analysis.Ratio, s *analysis.Squeeze) {
			x.Lower, x.Upper = nan, nan
			s.Share.Lower, s.Share.Upper, s.Weight.Lower, s.Weight.Upper = nan, nan, nan, nan
		}, "about 3.1 kg", ""}, // 10/3.296 = 3.03, rounded up: by hand
		{"estimate only, more", func(x *analysis.Ratio, s *analysis.Squeeze) {
			x.Lower, x.Upper = nan, nan
			s.Share, s.Weight = analysis.Estimate{Estimate: 1.3, Lower: nan, Upper: nan}, analysis.Estimate{Estimate: 13, Lower: nan, Upper: nan}
		}, report.Dash, "not surely less"},
		{"bound", func(_ *analysis.Ratio, s *analysis.Squeeze) { s.Bound = true }, "≤ 3.4 kg", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := example.Input()
			c.change(&in.Results.AgainstControl[0], &in.Results.LessSqueeze[0])
			row := in.CardRows()[1]
			assert.Equal(t, c.hang, row.Hang)
			assert.Equal(t, c.unsure, row.Unsure)
		})
	}
}

// Held pulls that bound the squeeze above today's say nothing of less.
func TestBoundAboveToday(t *testing.T) {
	in := example.Input()
	in.Results.AgainstControl = nil
	in.Results.Bounds = []analysis.BoundRatio{{A: "ground steel", B: "bonded P240 abrasive cloth", AtLeast: 0.8, PullsA: 1, PullsB: 1}}
	s := &in.Results.LessSqueeze[0]
	nan := analysis.Unknown()
	s.Bound, s.Share, s.Weight = true, analysis.Estimate{Estimate: 1.25, Lower: nan, Upper: nan}, analysis.Estimate{Estimate: 12.5, Lower: nan, Upper: nan}
	assert.Empty(t, in.Verdict().Squeeze)
	assert.Equal(t, report.Dash, in.CardRows()[1].Hang)
}

// The card is for somebody with oily hands.
func TestCardSpeaksPlainly(t *testing.T) {
	for _, change := range []func(*analysis.Results){
		func(*analysis.Results) {},
		func(r *analysis.Results) {
			r.AgainstControl = nil
			r.Bounds = []analysis.BoundRatio{{A: "ground steel", B: "cast polyurethane sheet", AtLeast: 2}}
		},
	} {
		in := example.Input()
		change(&in.Results)
		c := in.Card()
		text := strings.ToLower(strings.Join(append(c.Notes, c.Facing, c.Big, c.Unit, c.Note, c.Say, c.Sure), " "))
		for _, word := range []string{"confidence", "interval", "mean", "significan", "p-value", "ratio", "estimate", "deviation", "sd", "model", "coefficient", "adjusted", "censored"} {
			assert.NotContains(t, " "+text, " "+word)
		}
	}
}

func TestLedger(t *testing.T) {
	in := example.Input()
	in.Superseded = append(in.Superseded, report.Superseded{Pull: 99, Facing: "ground steel", Outcome: "slipped", Force: 50, Why: "misread"})
	l := in.Ledger()
	assert.Len(t, l.Rows, len(in.Results.Pulls)+2)
	assert.True(t, l.Rows[4].Superseded, "it stands before the row that replaced it")
	assert.Equal(t, "superseded: typed the wrong outcome", l.Rows[4].Cells[len(l.Columns)-1])
	assert.True(t, l.Rows[len(l.Rows)-1].Superseded, "a withdrawn pull stands where it would be")
	var void, held int
	for _, r := range l.Rows {
		switch {
		case r.Outcome == "void" && !r.Superseded:
			void++
			assert.Empty(t, r.Cells[9], "a void pull has no value")
		case r.Outcome == "held" && !r.Superseded:
			held++
			assert.Contains(t, r.Cells[9], "≥", "a held pull is a bound")
		}
		assert.Len(t, r.Cells, len(l.Columns))
	}
	assert.Equal(t, 3, void)
	assert.Equal(t, 3, held)
}

func TestWhenToChangeTheFacing(t *testing.T) {
	in := example.Input()
	// The best facing loses 0.81 % a clamping, exp(-0.0081); at the quickest a
	// tenth is gone after ln(0.9)/-0.0125 = 8.4: by hand.
	assert.Equal(t, "Change bonded P240 abrasive cloth by 8 clampings: each takes about 0.8 % of its grip, and by then a tenth may be gone.", in.Card().Change)
	in.Results.Checks.Wear.Facings[1].Most = 5
	assert.Contains(t, in.Card().Change, "That is longer than was tried.")
	in.Results.Checks.Wear.Facings[1].P = 0.3
	assert.Equal(t, "No wear of bonded P240 abrasive cloth was seen over 6 clampings. Check again after that many.", in.Card().Change)
	// Pulls too few to rule wear out do not promise that none came: 11 earlier
	// clampings were tried, and a tenth may be gone after 8.
	in.Results.Checks.Wear.Facings[1].Most = 11
	assert.Equal(t, "No wear of bonded P240 abrasive cloth was seen over 12 clampings, yet a tenth of its grip may be gone after 8. Check again by then.", in.Card().Change)
	in.Results.Checks.Wear.Facings[1].TenthAtLeast = 0
	assert.Contains(t, in.Card().Change, "may be gone after 1. Check again by then.")
	// Without slopes of their own the common one speaks.
	in.Results.Checks.Wear = &analysis.WearTest{Slope: -0.02, Lower: -0.03, P: 0.001}
	assert.Equal(t, "Change the facing by 3 clampings: each takes about 2 % of its grip, and by then a tenth may be gone.", in.Card().Change)
	in.Results.Checks.Wear = &analysis.WearTest{Slope: 0.02, P: 0.001}
	assert.Contains(t, in.Card().Change, "running in")
	in.Results.Checks.Wear = nil
	assert.Equal(t, "When to change the facing was not tried.", in.Card().Change)
}

func TestCardHasRoomForEight(t *testing.T) {
	in := example.Input()
	for i := range 20 {
		name := strings.Repeat("x", i+1)
		in.Results.Facings = append(in.Results.Facings, analysis.FacingResult{Facing: name})
		in.Results.AgainstControl = append(in.Results.AgainstControl, analysis.Ratio{Facing: name, Ratio: analysis.Number(1 + 0.2*float64(i))})
	}
	c := in.Card()
	assert.Len(t, c.Rows, 8)
	assert.Equal(t, 16, c.More)
	assert.True(t, c.Rows[0].Control)
	assert.Equal(t, "4.8 ×", c.Rows[1].Holds, "the best first")
}

// A verdict that contradicts the clamp window of the study's cut says so.
func TestVerdictMindsTheWindow(t *testing.T) {
	in := example.Input()
	s := in.Results.LessSqueeze
	best := in.Verdict().Best
	for i := range s {
		if s[i].Facing == best {
			s[i].Weight = analysis.Estimate{Estimate: 3, Lower: 2.5, Upper: 3.36}
		}
	}
	for _, c := range []struct {
		least, most analysis.Number
		word        string
	}{
		{1, 2.999, "The part as described may not bear that: no more than 2.9 kg."},
		{3.401, 9, "The cut as described may need more: at least 3.5 kg."},
		{1, 9, ""},
		{analysis.Unknown(), analysis.Unknown(), ""},
	} {
		in.Results.Window = &analysis.Window{Facings: []analysis.WindowFacing{{Facing: best, LeastWeight: c.least, MostWeight: c.most}}}
		if c.word == "" {
			assert.NotContains(t, in.Verdict().Mind, "as described")
			continue
		}
		assert.Contains(t, in.Verdict().Mind, c.word)
		assert.Contains(t, in.Verdict().Lines()[0], c.word)
		assert.Contains(t, in.Card().Notes, c.word)
	}
}
