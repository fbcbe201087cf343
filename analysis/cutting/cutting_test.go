package cutting

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

const (
	mm  = 1e-3
	mpa = 1e6
	deg = math.Pi / 180
)

func size(v Vector) float64 { return math.Sqrt(v.X*v.X + v.Y*v.Y + v.Z*v.Z) }

// slotCut is the invented worked example: one tooth of two cuts a slot.
func slotCut() trial.Cut {
	return trial.Cut{
		Kc11: 180 * mpa, Mc: 0.25, Diameter: 6 * mm, Teeth: 2, FeedTooth: 0.04 * mm, Depth: 2 * mm, Mode: "slot",
		Radial: 0.45, Axial: 0.30, Dullness: [2]float64{1, 1.3}, Dynamic: [2]float64{1, 1.5}, Safety: 1.5,
	}
}

// The worked example's first steps (invented; figures computed elsewhere).
func TestWorkedTooth(t *testing.T) {
	tool, err := NewTool(slotCut())
	require.NoError(t, err)
	p := 72.5 * deg
	h := 0.08 * mm * math.Sin(p)
	assert.InDelta(t, 0.076297356*mm, h, 1e-12)
	assert.InDelta(t, 342.48782*mpa, SpecificForce(180*mpa, 0.25, h), 10)
	assert.InDelta(t, 52.261831, tool.Tangential(h), 1e-6)
	f := tool.Bare(p)
	assert.InDelta(t, 38.144783, f.X, 1e-6)
	assert.InDelta(t, -42.771048, f.Y, 1e-6)
	assert.InDelta(t, 15.678549, f.Z, 1e-6)
	f = tool.Force(p)
	assert.InDelta(t, 111.573489, f.X, 3e-6)
	assert.InDelta(t, -125.105314, f.Y, 3e-6)
	assert.InDelta(t, 45.859756, f.Z, 3e-6)
	// Fed along y the same force turns by a quarter.
	c := slotCut()
	c.Direction = 90 * deg
	tool, err = NewTool(c)
	require.NoError(t, err)
	g := tool.Force(p)
	assert.InDelta(t, -f.Y, g.X, 1e-9)
	assert.InDelta(t, f.X, g.Y, 1e-9)
}

// A T-slot cutter of six straight teeth over a slot already cut (invented;
// figures computed elsewhere). A hair of runout stands for even teeth.
func TestTSlot(t *testing.T) {
	c := trial.Cut{Kc11: 180 * mpa, Mc: 0.25, Diameter: 12 * mm, Teeth: 6, FeedTooth: 0.02 * mm, Depth: 3 * mm,
		Mode: "t-slot", Neck: 4.8 * mm, Radial: 0.45, Dullness: [2]float64{1, 1}, Dynamic: [2]float64{1, 1}, Safety: 1, Runout: 1e-15}
	tool, err := NewTool(c)
	require.NoError(t, err)
	peak := 0.0
	for p := 0.0; p < 2*math.Pi; p += 1e-4 {
		peak = math.Max(peak, tool.Tangential(tool.chip(tool.chips[0], p)))
	}
	edge := tool.Tangential(tool.chips[0] * math.Sin(tool.arcs[0][1]))
	assert.InDelta(t, 26.901159, math.Max(peak, edge), 1e-5)
	angle, value := tool.Worst(size, nil)
	assert.InDelta(t, 49.28686, value, 1e-5)
	// At 6.422° past a tooth pitch, and as much before it: mirror images.
	assert.InDelta(t, 6.422, math.Abs(math.Remainder(angle/deg, 60)), 1e-2)
	mean := tool.Mean()
	assert.InDelta(t, 10.724336, mean.X, 2e-3)
	assert.InDelta(t, -23.831857, mean.Y, 2e-3)

	c.Runout = 0 // not measured: one tooth does it all
	tool, err = NewTool(c)
	require.NoError(t, err)
	edge = tool.Tangential(tool.chips[0] * math.Sin(tool.arcs[0][1]))
	assert.InDelta(t, 103.129860, edge, 1e-5)
	_, value = tool.Worst(size, nil)
	assert.InDelta(t, 113.09072, value, 1e-5)
	// The peak grows by z^(1−mc).
	assert.InDelta(t, 3.83, math.Pow(6, 0.75), 0.005)
	assert.InDelta(t, 1.68, math.Pow(2, 0.75), 0.005)
}

func TestUnevenChips(t *testing.T) {
	for _, c := range []struct {
		feed          float64
		heights, want []float64
	}{
		{0.04, []float64{0.01, -0.01}, []float64{0.06, 0.02}},
		{0.04, []float64{0.02, -0.02}, []float64{0.08, 0}},
		{0.03, []float64{0.05, 0, 0, 0}, []float64{0.08, 0, 0.01, 0.03}},
		{0.03, []float64{0}, []float64{0.03}},
	} {
		got := UnevenChips(c.feed, c.heights)
		assert.InDeltaSlice(t, c.want, got, 1e-15)
	}
	// Chips add up to the feed per turn, whatever the teeth.
	c := trial.Cut{Teeth: 4, FeedTooth: 0.05, Runout: 0.02}
	sum := 0.0
	for _, v := range Chips(c) {
		sum += v
	}
	assert.InDelta(t, 0.2, sum, 1e-12)
	c.Runout = 0
	assert.Equal(t, []float64{0.2, 0, 0, 0}, Chips(c))
}

// Mean cutting force of a slot over its peak: Γ((q+1)/2)/(√π·Γ(q/2+1)) with
// q = 1 − mc; 0.691597621 at mc 0.25.
func TestSlotMean(t *testing.T) {
	q := 0.75
	want := math.Gamma((q+1)/2) / (math.Sqrt(math.Pi) * math.Gamma(q/2+1))
	assert.InDelta(t, 0.691597621, want, 1e-9)
	tool, err := NewTool(slotCut())
	require.NoError(t, err)
	const n = 100000
	sum := 0.0
	for i := range n {
		sum += tool.Tangential(tool.chip(tool.chips[0], math.Pi*(float64(i)+0.5)/n)) / n
	}
	assert.InDelta(t, want, sum/tool.Tangential(tool.chips[0]), 1e-6)
}

// Arithmetic of the Kienzle formula (not a printed example): chip 0.2 mm,
// width 2 mm.
func TestKienzle(t *testing.T) {
	for _, c := range []struct{ kc11, mc, kc, f float64 }{
		{1450, 0.27, 2239.2, 895.7}, {1200, 0.18, 1603.2, 641.3}, {470, 0.27, 725.8, 290.3},
	} {
		kc := SpecificForce(c.kc11*mpa, c.mc, 0.2*mm)
		assert.InDelta(t, c.kc, kc/mpa, 0.05)
		assert.InDelta(t, c.f, kc*0.2*mm*2*mm, 0.05)
	}
}

func TestArcs(t *testing.T) {
	c := trial.Cut{Diameter: 10, Width: 2.5}
	for mode, want := range map[string][2]float64{"conventional": {0, 60 * deg}, "climb": {120 * deg, 180 * deg}} {
		c.Mode = mode
		arcs, err := Arcs(c)
		require.NoError(t, err)
		assert.InDeltaSlice(t, want[:], arcs[0][:], 1e-12)
	}
	c.Mode, c.Neck = "t-slot", 5
	arcs, err := Arcs(c)
	require.NoError(t, err)
	assert.InDelta(t, 60*deg, arcs[0][1], 1e-12)
	assert.InDelta(t, 120*deg, arcs[1][0], 1e-12)
	// A full-width side cut is a slot.
	full, err := Arcs(trial.Cut{Diameter: 10, Width: 10, Mode: "climb"})
	require.NoError(t, err)
	assert.InDeltaSlice(t, []float64{0, math.Pi}, full[0][:], 1e-12)
}

func TestFactorsAndMaterials(t *testing.T) {
	f, err := FactorsOf(slotCut())
	require.NoError(t, err)
	assert.InDelta(t, 2.925, f.Worst(), 1e-12)
	assert.Empty(t, f.Defaults)
	f, err = FactorsOf(trial.Cut{})
	require.NoError(t, err)
	assert.Len(t, f.Defaults, 4)
	assert.InDelta(t, 6, f.Worst(), 1e-12)
	_, err = FactorsOf(trial.Cut{Safety: 0.5})
	assert.ErrorContains(t, err, "at least 1")
	m, ok := Lookup(" Brass ")
	assert.True(t, ok)
	assert.Equal(t, "memory", m.Source)
	_, ok = Lookup("cast acrylic")
	assert.False(t, ok)
	for _, m := range Materials {
		assert.NotEmpty(t, m.Source)
	}
}

func TestBadCuts(t *testing.T) {
	for want, change := range map[string]func(*trial.Cut){
		"kc11":                     func(c *trial.Cut) { c.Kc11 = 0 },
		"exponent mc":              func(c *trial.Cut) { c.Mc = 1 },
		"cutter diameter":          func(c *trial.Cut) { c.Diameter = 0 },
		"teeth":                    func(c *trial.Cut) { c.Teeth = 0 },
		"feed per tooth":           func(c *trial.Cut) { c.FeedTooth = math.NaN() },
		"no engagement: the depth": func(c *trial.Cut) { c.Depth = 0 },
		"no engagement: the width": func(c *trial.Cut) { c.Mode, c.Width = "climb", 0 },
		"at most the cutter":       func(c *trial.Cut) { c.Mode, c.Width = "conventional", 7*mm },
		"no engagement: the slot":  func(c *trial.Cut) { c.Mode, c.Neck = "t-slot", 6*mm },
		"mode of cut":              func(c *trial.Cut) { c.Mode = "plunge" },
		"runout":                   func(c *trial.Cut) { c.Runout = -1 },
		"radial":                   func(c *trial.Cut) { c.Radial = -1 },
		"factors":                  func(c *trial.Cut) { c.Dynamic = [2]float64{2, 1} },
	} {
		c := slotCut()
		change(&c)
		_, err := NewTool(c)
		assert.ErrorContains(t, err, want)
	}
}
