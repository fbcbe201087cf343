package study_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/study"
	"griptrial/analysis/trial"
)

// TestOtherFiles: a huge or binary file under a study's name is refused in one
// line, without being read into memory, and stays as it is.
func TestOtherFiles(t *testing.T) {
	for what, c := range map[string]struct{ name, content, part string }{
		"huge setup":   {study.SetupFile, strings.Repeat("a", 2<<20), "study.toml:1: the file has 2097152 bytes"},
		"binary setup": {study.SetupFile, "format = 1\n\xff\x00", "study.toml:2: this is not text"},
		"binary plan":  {study.PlanFile, "\x89PNG\r\n", "plan.csv:1: this is not text"},
		"long line":    {study.PlanFile, strings.Repeat("a", 1<<17), "plan.csv:1: the line has 131072 bytes"},
		"long ledger":  {study.LedgerFile, "", "pulls.csv:1: the file has"},
	} {
		dir := filepath.Join(t.TempDir(), "s")
		f, err := study.Create(dir, trial.Study{Format: study.Format, Name: "s", Unit: "N",
			Facings: []trial.Facing{{Name: "ground steel", Control: true}, {Name: "P240 cloth"}},
			Levels:  []trial.Level{{Name: "3 kg", Weight: 3}}, Plan: trial.Plan{Blocks: 1, Repeats: 1}}, "test")
		require.NoError(t, err)
		require.NoError(t, f.Close())
		path := filepath.Join(dir, c.name)
		require.NoError(t, os.WriteFile(path, []byte(c.content), 0o666))
		if c.content == "" {
			require.NoError(t, os.Truncate(path, 1<<30))
		}
		before, err := os.Stat(path)
		require.NoError(t, err)
		_, err = study.Open(dir)
		require.Error(t, err, what)
		assert.Contains(t, err.Error(), c.part, what)
		assert.NotContains(t, err.Error(), "\n", what)
		after, err := os.Stat(path)
		require.NoError(t, err)
		assert.Equal(t, before.Size(), after.Size(), what)
	}
}
