package plan

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strconv"

	"griptrial/analysis/trial"
)

// stream is the second word of the generator's seed: the first is the study's.
const stream = 0x6772697074726961

// Draw lays out the run order of a study: a randomised block design.
//
// Each block (session) holds every facing at every level, Plan.Repeats pulls
// of each, in one random order over the whole block, so that a drift of the
// bench, the screw or the person falls on all facings alike.
//
// Samples of a facing take turns. Within a block, and within a level over the
// blocks, two samples of a facing differ by at most one pull. (Repeat k of
// level l in block b takes the sample (b+l)·Repeats + k, counted round: a cyclic
// Latin arrangement.) Which sample stands first is drawn.
//
// The same study and seed give the same order: the generator is PCG (O'Neill
// 2014, in math/rand/v2) and shuffling is Fisher-Yates.
//
// Errors: no facing, no level, or a count below one.
func Draw(s trial.Study, seed uint64) ([]trial.PlannedPull, error) {
	switch {
	case len(s.Facings) == 0:
		return nil, errors.New("a plan needs at least one facing")
	case len(s.Levels) == 0:
		return nil, errors.New("a plan needs at least one clamp level")
	case s.Plan.Blocks < 1:
		return nil, fmt.Errorf("a plan needs at least one block, not %d", s.Plan.Blocks)
	case s.Plan.Repeats < 1:
		return nil, fmt.Errorf("a plan needs at least one repeat, not %d", s.Plan.Repeats)
	}
	r := rand.New(rand.NewPCG(seed, stream))
	samples := make([][]string, len(s.Facings))
	for i, f := range s.Facings {
		samples[i] = append([]string(nil), f.Samples...)
		r.Shuffle(len(samples[i]), func(a, b int) { samples[i][a], samples[i][b] = samples[i][b], samples[i][a] })
	}
	var pulls []trial.PlannedPull
	for b := range s.Plan.Blocks {
		var block []trial.PlannedPull
		for i, f := range s.Facings {
			for l, level := range s.Levels {
				for k := range s.Plan.Repeats {
					p := trial.PlannedPull{Block: strconv.Itoa(b + 1), Facing: f.Name, Level: level.Name}
					if n := len(samples[i]); n > 0 {
						p.Sample = samples[i][((b+l)*s.Plan.Repeats+k)%n]
					}
					block = append(block, p)
				}
			}
		}
		r.Shuffle(len(block), func(i, j int) { block[i], block[j] = block[j], block[i] })
		pulls = append(pulls, block...)
	}
	for i := range pulls {
		pulls[i].Order = i + 1
	}
	return pulls, nil
}
