package plan

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
)

func shop() trial.Study {
	return trial.Study{
		Facings: []trial.Facing{
			{Name: "ground steel", Control: true, Samples: []string{"1", "2"}},
			{Name: "P240 cloth", Samples: []string{"1", "2", "3"}},
			{Name: "polyurethane", Samples: []string{"a", "b", "c", "d"}},
			{Name: "serration"},
		},
		Levels: []trial.Level{{Name: "2 kg", Weight: 2}, {Name: "5 kg", Weight: 5}, {Name: "8 kg", Weight: 8}},
		Plan:   trial.Plan{Blocks: 2, Repeats: 2},
	}
}

// The order is part of what a study stores: it must never change under a seed.
func TestDrawIsPinned(t *testing.T) {
	s := trial.Study{
		Facings: []trial.Facing{{Name: "ground steel", Control: true, Samples: []string{"1", "2"}}, {Name: "P240 cloth", Samples: []string{"1", "2"}}},
		Levels:  []trial.Level{{Name: "5 kg", Weight: 5}},
		Plan:    trial.Plan{Blocks: 2, Repeats: 2},
	}
	pulls, err := Draw(s, 240)
	require.NoError(t, err)
	var got []string
	for _, p := range pulls {
		got = append(got, fmt.Sprintf("%d %s %s#%s %s", p.Order, p.Block, p.Facing, p.Sample, p.Level))
	}
	assert.Equal(t, pinned, got)
}

func TestDrawBalances(t *testing.T) {
	for _, c := range []struct{ blocks, repeats int }{{1, 1}, {2, 2}, {3, 1}, {4, 3}, {2, 5}} {
		s := shop()
		s.Plan = trial.Plan{Blocks: c.blocks, Repeats: c.repeats}
		for seed := range uint64(20) {
			pulls, err := Draw(s, seed)
			require.NoError(t, err)
			require.Len(t, pulls, c.blocks*c.repeats*len(s.Facings)*len(s.Levels))
			cell := map[[3]string]int{}
			inBlock := map[[3]string]int{}
			inLevel := map[[3]string]int{}
			for i, p := range pulls {
				assert.Equal(t, i+1, p.Order)
				cell[[3]string{p.Block, p.Facing, p.Level}]++
				inBlock[[3]string{p.Block, p.Facing, p.Sample}]++
				inLevel[[3]string{p.Level, p.Facing, p.Sample}]++
			}
			assert.Len(t, cell, c.blocks*len(s.Facings)*len(s.Levels))
			for k, n := range cell {
				assert.Equal(t, c.repeats, n, k)
			}
			for _, f := range s.Facings {
				for b := range c.blocks {
					balanced(t, inBlock, fmt.Sprint(b+1), f)
				}
				for _, l := range s.Levels {
					balanced(t, inLevel, l.Name, f)
				}
			}
		}
	}
}

func balanced(t *testing.T, count map[[3]string]int, of string, f trial.Facing) {
	t.Helper()
	if len(f.Samples) == 0 {
		return
	}
	lo, hi := 1<<30, 0
	for _, s := range f.Samples {
		n := count[[3]string{of, f.Name, s}]
		lo, hi = min(lo, n), max(hi, n)
	}
	assert.LessOrEqual(t, hi-lo, 1, "%s %s", of, f.Name)
}

func TestDrawLeavesTheStudyAsItIs(t *testing.T) {
	s := shop()
	for seed := range uint64(5) {
		_, err := Draw(s, seed)
		require.NoError(t, err)
	}
	assert.Equal(t, shop(), s)
}

func TestDrawRefuses(t *testing.T) {
	for name, spoil := range map[string]func(*trial.Study){
		"facing": func(s *trial.Study) { s.Facings = nil },
		"level":  func(s *trial.Study) { s.Levels = nil },
		"block":  func(s *trial.Study) { s.Plan.Blocks = 0 },
		"repeat": func(s *trial.Study) { s.Plan.Repeats = -1 },
	} {
		s := shop()
		spoil(&s)
		_, err := Draw(s, 1)
		assert.ErrorContains(t, err, name)
	}
}

// pinned was drawn by the first version; it guards the order of old studies.
var pinned = []string{
	"1 1 P240 cloth#1 5 kg", "2 1 P240 cloth#2 5 kg", "3 1 ground steel#1 5 kg", "4 1 ground steel#2 5 kg",
	"5 2 P240 cloth#2 5 kg", "6 2 ground steel#2 5 kg", "7 2 P240 cloth#1 5 kg", "8 2 ground steel#1 5 kg",
}
