package study

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSettings(t *testing.T) {
	got, err := Settings("study.toml", []byte("\ufeffformat = 1\nname = \"blanks\"\n[handle]\narm = \"150 mm\"\n[[facing]]\nname = \"steel\"\ncontrol = true\nsamples = [\"1\", \"2\"]\n"+
		"[[level]]\nweight = \"5 kg\"\n[[level]]\nweight = \"5 kg\"\n[cut]\nteeth = 2\n[[claim]]\nkind = \"ratio\"\nratio = 2.5\n"))
	require.NoError(t, err)
	assert.Equal(t, []Setting{
		{"claim 1.kind", "ratio"}, {"claim 1.ratio", "2.5"}, {"cut 1.teeth", "2"}, {"facing \"steel\".control", "true"}, {"facing \"steel\".name", "steel"},
		{"facing \"steel\".samples", "[1 2]"}, {"format", "1"}, {"handle.arm", "150 mm"}, {"level \"5 kg\" (2).weight", "5 kg"}, {"level \"5 kg\".weight", "5 kg"},
		{"name", "blanks"},
	}, got)
	_, err = Settings("study.toml", []byte("format ="))
	assert.ErrorContains(t, err, "study.toml:1")
}
