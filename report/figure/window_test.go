package figure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/analysis/contact"
	"griptrial/analysis/unit"
	"griptrial/report"
	"griptrial/report/internal/golden"
)

// offset is a pull across the end of a part that sits high.
func offset(t *testing.T, text string, arm, direction float64) Figure {
	p, err := contact.Parse(text)
	require.NoError(t, err)
	pull := contact.Pull{Arm: arm, Direction: direction}
	g, err := contact.Solve(p, pull)
	require.NoError(t, err)
	mm, err := unit.Lookup(unit.Length, "mm")
	require.NoError(t, err)
	return Patch(p, pull, g, mm)
}

func TestPatchGolden(t *testing.T) {
	f := offset(t, "rectangle 60 mm x 10 mm pressed at 0 mm,3 mm", 0.012, math.Pi/4)
	golden.Equal(t, "contact.svg", []byte(svg(t, f.SVG)))
	assert.Contains(t, f.Desc, "turns about (-15.6 mm, 10.8 mm)")
	assert.Contains(t, offset(t, "line 25 mm", 0.005, math.Pi/2).Desc, ", 0 mm) from the centre")
	assert.Contains(t, svg(t, offset(t, "line 25 mm", 5, math.Pi/2).SVG), "farther out")
}

// Whatever the patch and the pull, the drawing is whole.
func TestPatchesOfAllKinds(t *testing.T) {
	for _, text := range []string{
		"disc 20 mm", "disc 20 mm pressed at 4 mm,4 mm", "ring 20 mm x 12 mm", "line 25 mm", "line 25 mm pressed at 8 mm,0 mm",
		"rectangle 3 mm x 60 mm", "pads 6 mm x 3 mm at -10 mm,0 mm share 0.5; 6 mm x 3 mm at 10 mm,0 mm share 0.5",
	} {
		for _, arm := range []float64{0, 1e-4, -0.01, 5} {
			f := offset(t, text, arm, 2)
			s := svg(t, f.SVG)
			wellFormed(t, s)
			assert.NotContains(t, s, "NaN")
			assert.NotContains(t, s, "Inf")
		}
	}
}

func bands() analysis.Window {
	nan := analysis.Unknown()
	yes, no := true, false
	return analysis.Window{Control: "ground steel", Usual: 4, UsualClamp: nan, Facings: []analysis.WindowFacing{
		{Facing: "bonded P240 abrasive cloth", Least: 780, Most: 1250, LeastWeight: 2.1, MostWeight: 3.3, Open: &yes},
		{Facing: "ground steel", Least: 1850, Most: 1250, LeastWeight: 5.2, MostWeight: 3.3, Open: &no},
		{Facing: "cast polyurethane sheet", Least: nan, Most: 1250, LeastWeight: nan, MostWeight: 3.3},
		{Facing: "fine cross-cut serration", Least: 970, Most: 1250, LeastWeight: 2.7, MostWeight: 3.3, Open: &yes},
	}}
}

// shown gives an input that shows forces in a unit.
func shown(t *testing.T, force string) report.Input {
	u, err := unit.Lookup(unit.Force, force)
	require.NoError(t, err)
	return report.Input{Force: u}
}

func TestBandsGolden(t *testing.T) {
	f, ok := Bands(shown(t, "N"), bands(), Narrow)
	require.True(t, ok)
	golden.Equal(t, "window.svg", []byte(svg(t, f.SVG)))
	assert.Contains(t, f.Title, "2 of 3")
	assert.Contains(t, f.Desc, "ground steel: closed, needs at least 5.20 kg, the part bears at most 3.30 kg")
	assert.Contains(t, f.Desc, "cast polyurethane sheet: cannot be said")
	pounds, ok := Bands(shown(t, "lbf"), bands(), Narrow)
	require.True(t, ok)
	assert.Contains(t, pounds.Desc, "holds from 4.6 lb, the part bears 7.3 lb, open")
	w := bands()
	w.Facings[1].MostWeight = 0.0123 // hopeless, and yet not 0.00
	hopeless, ok := Bands(shown(t, "N"), w, Narrow)
	require.True(t, ok)
	assert.Contains(t, svg(t, hopeless.SVG), "closed: needs 5.20, bears 0.0123 kg")
	assert.Contains(t, svg(t, pounds.SVG), "weight on the handle [lb]")
}

func TestBandsWithoutWeights(t *testing.T) {
	w := bands()
	for i := range w.Facings {
		w.Facings[i].LeastWeight, w.Facings[i].MostWeight = analysis.Unknown(), analysis.Unknown()
	}
	all := w.Facings
	w.Facings = all[:2]
	f, ok := Bands(shown(t, "N"), w, Narrow)
	require.True(t, ok)
	assert.Contains(t, f.Title, "Only bonded P240 abrasive cloth")
	s := svg(t, f.SVG)
	assert.Contains(t, s, "clamp force on each face [N]")
	assert.NotContains(t, s, "usual")
	w.UsualClamp = 1000
	usual, _ := Bands(shown(t, "N"), w, Narrow)
	assert.Contains(t, svg(t, usual.SVG), "usual 1000 N")
	w.Usual, w.UsualClamp = analysis.Unknown(), analysis.Unknown()
	same, _ := Bands(shown(t, "N"), w, Narrow)
	assert.Equal(t, s, svg(t, same.SVG))
	all[1].Most, w.Facings = analysis.Unknown(), all[1:3]
	f, ok = Bands(shown(t, "N"), w, Narrow)
	require.True(t, ok)
	assert.Contains(t, f.Title, "No facing")
	assert.NotContains(t, svg(t, f.SVG), "NaN")
	w.Facings = all[2:3]
	_, ok = Bands(shown(t, "N"), w, Narrow)
	assert.False(t, ok)
}
