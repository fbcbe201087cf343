package main

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/acquiretest"
	"griptrial/acquire/study"
)

// Whatever step fails while readings are typed: the error says so, no file that
// was there has changed, the study is whole, and the next session goes on.
func TestLogOnAFailingDisk(t *testing.T) {
	for _, d := range []*acquiretest.Disk{
		{Step: "open", File: study.LedgerFile, Err: syscall.EROFS},
		{Step: "write", File: study.LedgerFile, Err: syscall.ENOSPC},
		{Step: "write", File: study.LedgerFile, Err: syscall.ENOSPC, Short: true},
		{Step: "write", File: study.LedgerFile, Err: syscall.ENOSPC, After: 1, Short: true},
		{Step: "sync", File: study.LedgerFile, Err: syscall.EIO, Times: 1},
	} {
		t.Run(d.Step, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "blanks")
			for _, args := range [][]string{{"new", dir, "--facing", "ground steel", "--facing", "cork", "--repeats", "4"}, {"plan", dir, "--seed", "1"}} {
				code, _, talk := command("", args...)
				require.Zero(t, code, talk)
			}
			code, _, talk := command("10\n11\n", "log", dir)
			require.Zero(t, code, talk)
			before := content(t, dir)

			code, out, talk := onDisk(d, "12\n13\n", "log", dir)
			require.Equal(t, exitFailed, code)
			assert.Contains(t, talk, "pull not saved")
			assert.Contains(t, talk, d.Err.Error())
			assert.Contains(t, talk, "the lines before it are saved, the rest was not read")
			require.Equal(t, 1, d.Hits())
			saved := strings.Count(out, "saved   pull")
			assert.Equal(t, d.After, saved)
			after := content(t, dir)
			assert.True(t, strings.HasPrefix(after[study.LedgerFile], before[study.LedgerFile]), "what was saved stands as it was")
			if saved == 0 {
				assert.Equal(t, before, after)
			}
			code, told, talk := command("", "check", dir)
			require.Zero(t, code, told+talk)

			d.Mend()
			code, out, talk = onDisk(d, "14\n", "log", dir)
			require.Zero(t, code, talk)
			assert.Contains(t, out, "saved   pull")
			code, told, talk = command("", "check", dir)
			require.Zero(t, code, told+talk)
		})
	}
}

// A study that may only be read: writing says so, reading goes on.
func TestCommandsOnAReadOnlyDisk(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "blanks")
	d := &acquiretest.Disk{Step: "mkdir", Err: syscall.EROFS}
	code, _, talk := onDisk(d, "", "new", dir, "--facing", "ground steel", "--facing", "cork")
	require.Equal(t, exitFailed, code)
	assert.Contains(t, talk, "read-only file system")
	_, err := os.Stat(dir)
	require.ErrorIs(t, err, os.ErrNotExist)

	code, _, talk = command("", "new", dir, "--facing", "ground steel", "--facing", "cork")
	require.Zero(t, code, talk)
	code, _, talk = onDisk(&acquiretest.Disk{Step: "open", File: study.PlanFile, Err: syscall.EROFS}, "", "plan", dir, "--seed", "1")
	require.Equal(t, exitFailed, code)
	assert.Contains(t, talk, "read-only file system")
	code, _, talk = command("", "plan", dir, "--seed", "1")
	require.Zero(t, code, talk)
	code, _, talk = command("", "check", dir)
	require.Zero(t, code, talk)
}
