package practice

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/study"
)

// What killed programs left behind goes; what is in use, new, or not ours stays.
func TestSweep(t *testing.T) {
	temp := t.TempDir()
	now := time.Now()
	set := blanks()
	folder := func(name string, age time.Duration, keepOpen bool) string {
		dir := filepath.Join(temp, name)
		require.NoError(t, os.Mkdir(dir, 0o700))
		f, err := study.Create(filepath.Join(dir, scratchStudy), set, "test")
		require.NoError(t, err)
		if keepOpen {
			t.Cleanup(func() { assert.NoError(t, f.Close()) })
		} else {
			require.NoError(t, f.Close()) // as the system does for a program that is killed
		}
		require.NoError(t, os.Chtimes(dir, now.Add(-age), now.Add(-age)))
		return dir
	}
	left := folder(scratchName+"1", 2*time.Hour, false)
	open := folder(scratchName+"2", 2*time.Hour, true)
	fresh := folder(scratchName+"3", time.Minute, false)
	foreign := folder("griptrial-other-4", 2*time.Hour, false)
	more := folder(scratchName+"5", 2*time.Hour, false)
	require.NoError(t, os.WriteFile(filepath.Join(more, "thesis.txt"), nil, 0o600))
	require.NoError(t, os.Chtimes(more, now.Add(-2*time.Hour), now.Add(-2*time.Hour)))
	empty := filepath.Join(temp, scratchName+"6")
	require.NoError(t, os.Mkdir(empty, 0o700))
	require.NoError(t, os.Chtimes(empty, now.Add(-2*time.Hour), now.Add(-2*time.Hour)))
	elsewhere := folder("elsewhere", 2*time.Hour, false)
	link := filepath.Join(temp, scratchName+"7")
	if err := os.Symlink(elsewhere, link); err != nil {
		link = elsewhere // a system without links
	}

	sweep(temp, now)
	assert.NoDirExists(t, left)
	assert.NoDirExists(t, empty)
	for _, dir := range []string{open, fresh, foreign, more, elsewhere, link} {
		_, err := os.Lstat(dir)
		assert.NoError(t, err)
	}
	sweep(filepath.Join(temp, "none"), now)
}

func TestScratchSweeps(t *testing.T) {
	temp := t.TempDir()
	t.Setenv("TMPDIR", temp)
	t.Setenv("TMP", temp)
	left := filepath.Join(temp, scratchName+"left")
	require.NoError(t, os.Mkdir(left, 0o700))
	old := time.Now().Add(-2 * time.Hour)
	require.NoError(t, os.Chtimes(left, old, old))
	f, remove, err := Scratch(blanks(), time.Now())
	require.NoError(t, err)
	assert.NoDirExists(t, left)
	assert.True(t, f.HasPlan())
	require.NoError(t, remove())
	names, err := os.ReadDir(temp)
	require.NoError(t, err)
	assert.Empty(t, names)
}
