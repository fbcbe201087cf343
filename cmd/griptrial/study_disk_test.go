//go:build linux

package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// smallDisk mounts a disk of its own in a temporary folder.
func smallDisk(t *testing.T, size string) string {
	t.Helper()
	dir := t.TempDir()
	if err := unix.Mount("griptrial-test", dir, "tmpfs", 0, "size="+size); err != nil {
		if os.Getenv("GRIPTRIAL_REQUIRE_TOOLS") == "1" {
			t.Fatalf("a small disk cannot be mounted: %v", err)
		}
		t.Skipf("a small disk cannot be mounted here: %v", err)
	}
	t.Cleanup(func() { require.NoError(t, unix.Unmount(dir, unix.MNT_DETACH)) })
	return dir
}

// A full disk: the pulls saved before stay whole, the error is clear, and the
// session goes on once there is space.
func TestLogOnAFullDisk(t *testing.T) {
	disk := smallDisk(t, "200k")
	dir := filepath.Join(disk, "blanks")
	code, _, talk := command("", "new", dir, "--facing", "ground steel", "--facing", "cork", "--repeats", "8")
	require.Zero(t, code, talk)
	code, _, talk = command("", "plan", dir, "--seed", "1")
	require.Zero(t, code, talk)
	code, _, talk = command("10\n11\n", "log", dir)
	require.Zero(t, code, talk)

	// Fill the disk to the last byte; the ledger's own last page may still
	// take rows, so readings are typed until one is refused.
	ballast := filepath.Join(disk, "ballast")
	f, err := os.Create(ballast)
	require.NoError(t, err)
	for _, n := range []int{4096, 1} {
		for err == nil {
			_, err = f.Write(make([]byte, n))
		}
		require.ErrorIs(t, err, unix.ENOSPC)
		err = nil
	}
	require.NoError(t, f.Close())
	note := " ; " + strings.Repeat("chips on the jaw ", 60)
	code, saved, talk := command(strings.Repeat("12"+note+"\n", 14), "log", dir)
	require.Equal(t, exitFailed, code)
	assert.Contains(t, talk, "pull not saved")
	assert.Contains(t, talk, "no space left on device")
	kept := strings.Count(saved, "saved   pull")

	code, out, talk := command("", "check", dir)
	require.Zero(t, code, out+talk)
	code, out, _ = command("", "plan", dir)
	require.Zero(t, code)
	assert.Equal(t, 2+kept, strings.Count(out, " kgf\n"), out)

	require.NoError(t, os.Remove(ballast))
	code, out, talk = command("13\n", "log", dir)
	require.Zero(t, code, talk)
	assert.Contains(t, out, "saved   pull")
	code, out, _ = command("", "check", dir)
	assert.Zero(t, code, out)

	// A new study on a full disk leaves nothing behind.
	f, err = os.Create(ballast)
	require.NoError(t, err)
	for err == nil {
		_, err = f.Write(make([]byte, 4096))
	}
	require.NoError(t, f.Close())
	second := filepath.Join(disk, "second")
	code, _, talk = command("", "new", second, "--facing", "ground steel")
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, talk, "no space left on device")
	assert.NoDirExists(t, second)
}

// A folder that cannot be written to, root or not: one clear error from each
// command that would write, and none from those that only read.
func TestReadOnlyStudy(t *testing.T) {
	disk := smallDisk(t, "1m")
	dir := filepath.Join(disk, "blanks")
	code, _, talk := command("", "new", dir, "--facing", "ground steel", "--facing", "cork")
	require.Zero(t, code, talk)
	code, _, talk = command("", "plan", dir, "--seed", "1")
	require.Zero(t, code, talk)
	require.NoError(t, unix.Mount("", disk, "", unix.MS_REMOUNT|unix.MS_RDONLY, "size=1m"))
	before := content(t, disk)
	for _, args := range [][]string{{"log", dir}, {"plan", "--redraw", dir}, {"new", filepath.Join(disk, "second"), "--facing", "cork"}} {
		code, _, talk = command("10\n", args...)
		assert.Equal(t, exitFailed, code, args)
		assert.Contains(t, talk, "read-only file system", args)
		assert.Contains(t, talk, disk, args)
	}
	for _, args := range [][]string{{"check", dir}, {"plan", dir}} {
		code, _, talk = command("", args...)
		assert.Zero(t, code, talk)
	}
	assert.Equal(t, before, content(t, disk))
}
