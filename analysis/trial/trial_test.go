package trial_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"griptrial/analysis/trial"
)

func TestObserve(t *testing.T) {
	inf := math.Inf(1)
	for name, c := range map[string]struct {
		reading trial.Reading
		want    trial.Observation
		ok      bool
	}{
		"slipped, read exactly":      {trial.Reading{Outcome: trial.Slipped, Force: 10}, trial.Observation{Lower: 10, Upper: 10}, true},
		"slipped, read to 1 N":       {trial.Reading{Outcome: trial.Slipped, Force: 10, Division: 1}, trial.Observation{Lower: 9.5, Upper: 10.5}, true},
		"slipped below the division": {trial.Reading{Outcome: trial.Slipped, Force: 0.2, Division: 1}, trial.Observation{Lower: 0, Upper: 0.7}, true},
		"held":                       {trial.Reading{Outcome: trial.Held, Force: 35}, trial.Observation{Lower: 35, Upper: inf}, true},
		"held, read to 1 N":          {trial.Reading{Outcome: trial.Held, Force: 35, Division: 1}, trial.Observation{Lower: 35, Upper: inf}, true},
		"void":                       {trial.Reading{Outcome: trial.Void, Force: 35}, trial.Observation{}, false},
		"unclear":                    {trial.Reading{Force: 35}, trial.Observation{}, false},
	} {
		got, ok := c.reading.Observe()
		assert.Equal(t, c.ok, ok, name)
		assert.Equal(t, c.want, got, name)
	}
	o := trial.Observation{Lower: 35, Upper: inf}
	assert.True(t, o.Held())
	assert.False(t, o.Exact())
}

func TestOutcomeWords(t *testing.T) {
	for _, o := range []trial.Outcome{trial.Unclear, trial.Slipped, trial.Held, trial.Void} {
		got, ok := trial.ParseOutcome(o.String())
		assert.True(t, ok)
		assert.Equal(t, o, got)
	}
	_, ok := trial.ParseOutcome("broke")
	assert.False(t, ok)
}
