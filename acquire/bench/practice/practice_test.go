package practice

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/simrig"
	"griptrial/analysis/trial"
)

func blanks() trial.Study {
	return trial.Study{Format: 1, Name: "blanks", Unit: "kgf", Facings: []trial.Facing{
		{Name: "soft pads"}, {Name: "steel as it came", Control: true}, {Name: "cloth", Samples: []string{"a", "b"}}},
		Levels: []trial.Level{{Name: "light", Weight: 1.5}, {Name: "measured", Clamp: 900}},
		Plan:   trial.Plan{Blocks: 1, Repeats: 1}, Pull: trial.PullSetup{How: "straight", Faces: 2}, Scale: trial.Scale{Kind: "cell"}}
}

// Whatever a study calls its facings and levels, each can be pulled.
func TestShopKnowsTheStudy(t *testing.T) {
	shop := Shop(blanks())
	d := simrig.NewDevice(shop, 1)
	for _, f := range blanks().Facings {
		samples := f.Samples
		if len(samples) == 0 {
			samples = []string{""}
		}
		for _, s := range samples {
			for _, l := range blanks().Levels {
				require.NoError(t, d.Order(simrig.Order{Facing: f.Name, Sample: s, Level: l.Name}))
			}
		}
	}
	def := simrig.DefaultShop()
	assert.Equal(t, def.Facings[0].Static, shop.Facings[1].Static, "the control grips like ground steel")
	assert.InEpsilon(t, def.Levels[0].Clamp, shop.Levels[0].Clamp, 0.05, "half the usual weight makes about half the clamp force")
	assert.InDelta(t, 900, shop.Levels[1].Clamp, 1e-9)
}

func TestCalibrationIsOfTheCell(t *testing.T) {
	shop := Shop(blanks())
	c := Calibration(shop)
	fit, err := c.Fit()
	require.NoError(t, err)
	assert.InEpsilon(t, shop.Cell.Span, fit.Span, 1e-4)
	unverified, err := c.Check(map[string]string{"id": c.Cell, "gain": "128", "sps": "80"})
	require.NoError(t, err)
	assert.Empty(t, unverified)
	assert.InDelta(t, shop.Cell.Capacity, c.Rated, 1e-9)
}

func TestScratch(t *testing.T) {
	f, remove, err := Scratch(blanks(), time.Now())
	require.NoError(t, err)
	assert.Len(t, f.Plan(), 6)
	require.NoError(t, remove())
	_, err = os.Stat(filepath.Dir(f.Dir()))
	require.ErrorIs(t, err, os.ErrNotExist)
}

func TestClock(t *testing.T) {
	now := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	c := Clock(func() time.Time { return now }, 20)
	start := c.Now()
	now = now.Add(time.Second)
	assert.Equal(t, 20*time.Second, c.Now().Sub(start))
	require.NoError(t, c.Sleep(context.Background(), time.Millisecond))
	ctx, stop := context.WithCancel(context.Background())
	stop()
	require.ErrorIs(t, c.Sleep(ctx, time.Hour), context.Canceled)
}

// A study with one clamp level need not say how firm it is.
func TestShopOfOneLevel(t *testing.T) {
	s := blanks()
	s.Levels = []trial.Level{{Name: "by hand"}}
	assert.Greater(t, Shop(s).Levels[0].Clamp, 0.0)
}
