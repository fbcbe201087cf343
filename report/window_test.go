package report

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/analysis/unit"
)

// windows makes a window of two facings, the first open, the second closed.
func windows() analysis.Window {
	yes, no := true, false
	return analysis.Window{Coverage: 0.99, Confidence: 0.95, Usual: 3, UsualClamp: analysis.Unknown(), Facings: []analysis.WindowFacing{
		{Facing: "P240 cloth", Mu: 0.28, Least: 110, Most: 1579, LeastWeight: 0.14, MostWeight: 2.89, Margin: 12.5, Open: &yes},
		{Facing: "ground steel", Least: 39086, Most: 19.2, LeastWeight: 21.7, MostWeight: 0.0123, Margin: 0.00049, Open: &no,
			NoWays: []string{"no lighter cut by the depth of cut opens it"}},
	}}
}

func wordedIn(t *testing.T, w analysis.Window) (Input, WindowText) {
	t.Helper()
	newton, err := unit.Lookup(unit.Force, "N")
	require.NoError(t, err)
	in := Input{Force: newton, Results: analysis.Results{Window: &w}}
	text, ok := in.Window()
	require.True(t, ok)
	return in, text
}

// A closed band is never printed backwards, and a hopeless one not as 0.00.
func TestClosedWindowInWords(t *testing.T) {
	_, text := wordedIn(t, windows())
	assert.Equal(t, []string{"P240 cloth", "0.28", "110 to 1579 N", "0.14 to 2.89 kg", "open, margin 12.50"}, text.Rows[0])
	assert.Equal(t, []string{"none", "none", "CLOSED, below 0.01 of what is needed"}, text.Rows[1][2:])
	require.Len(t, text.Facings, 1)
	assert.Equal(t, []string{
		"closed: needs at least 39086 N, the part bears at most 19.2 N",
		"closed on the handle: needs at least 21.7 kg, the part bears at most 0.0123 kg",
		"no lighter cut by the depth of cut opens it",
	}, text.Facings[0].Lines[:3])
	assert.Contains(t, text.Facings[0].Lines[3], "none of the changes computed opens it alone")

	w := windows()
	w.Facings[1].Margin, w.Facings[1].MostWeight = 0.999, analysis.Unknown()
	w.Facings[1].Ways = []analysis.WindowWay{{Change: "facing", Text: "another facing: P240 cloth", Least: analysis.Unknown(), Most: 19}}
	_, text = wordedIn(t, w)
	assert.Equal(t, []string{"none", "CLOSED, 0.99 of what is needed"}, text.Rows[1][3:], "closed is never 1.00 of what is needed")
	assert.Equal(t, "closed on the handle: needs at least 21.7 kg, and the handle alone presses more than the part bears", text.Facings[0].Lines[1])
	assert.Equal(t, "would open it: another facing: P240 cloth", text.Facings[0].Lines[3])
	assert.Len(t, text.Facings[0].Lines, 4)
}

// The headline and the card tell of the usual squeeze where it is too much or
// too little.
func TestUsualSqueezeStandsInTheHeadline(t *testing.T) {
	for _, c := range []struct{ usual, answer, card string }{
		{"holds", "Only P240 cloth holds this cut within what the part bears", ""},
		{"crushes", "Only P240 cloth holds this cut within what the part bears, but the usual 3 kg may be more than that", "The usual 3 kg may be more than the part as described bears."},
		{"slips", "Only P240 cloth holds this cut within what the part bears, but at the usual 3 kg P240 cloth may let go", ""},
	} {
		w := windows()
		w.Facings[0].Usual = c.usual
		in, text := wordedIn(t, w)
		assert.Equal(t, c.answer, text.Answer)
		notes := in.Card().Notes
		if c.card == "" {
			assert.NotContains(t, notes[0], "usual")
			continue
		}
		assert.Equal(t, c.card, notes[0])
	}
}
