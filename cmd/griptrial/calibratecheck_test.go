//go:build linux

package main

import (
	"encoding/json"
	"io"
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

// cellFile is a calibration of 1000 counts/N of the cell that newFakeCell makes.
const cellFile = "# cell: LC-17\n# gain: 128\n# sps: 80\nforce [N],counts\n0,500\n20,20500\n50,50500\n"

// settled sends so much of a load that nothing of the one before can still be
// on its way: more than the terminal (20 kB) and the reader (8 kB) hold.
func (c *fakeCell) settled(counts int32) {
	c.t.Helper()
	c.send(1600, counts)
}

// hang runs a check of a known weight of 20 N; the cell reads so many counts.
func hang(t *testing.T, c *fakeCell, loaded int32, args ...string) *running {
	t.Helper()
	typed, keys := io.Pipe()
	r := start(t, typed, append([]string{"calibrate", "--check", "20 N", "--port", c.path(), "--average", "200ms"}, args...)...)
	r.await(t, "Let the link hang free")
	c.facts()
	for _, step := range []struct {
		counts int32
		done   func() bool
	}{
		{499, func() bool { return strings.Contains(r.stderr.String(), "Hang 20 N on the cell") }},
		{loaded - 1, func() bool { return len(r.code) > 0 }},
	} {
		c.settled(step.counts)
		_, err := io.WriteString(keys, "\n")
		require.NoError(t, err)
		c.until(step.counts, step.done)
	}
	require.NoError(t, keys.Close())
	return r
}

func TestCalibrateCheck(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "blanks")
	code, _, talk := command("", "new", dir, "--facing", "ground steel", "--facing", "cork")
	require.Zero(t, code, talk)
	require.NoError(t, os.WriteFile(filepath.Join(dir, study.CalibrationDir, "cell.csv"), []byte(cellFile), 0o666))
	setup, err := os.ReadFile(filepath.Join(dir, study.SetupFile))
	require.NoError(t, err)
	named := strings.Replace(string(setup), "[scale]\n", "[scale]\ncalibration = \"cell.csv\"\n", 1)
	require.NoError(t, os.WriteFile(filepath.Join(dir, study.SetupFile), []byte(named), 0o666))

	c := newFakeCell(t)
	r := hang(t, c, 20_560, dir) // 0.3 % high
	require.Equal(t, exitOK, <-r.code, r.stderr.String())
	assert.Regexp(t, `^20 N hung: 20\.0[56]\d\d N read \(standard uncertainty 0\.000\d+ N\), 20\.0000 N expected, drift \+0\.[23]\d %\n$`, r.stdout.String())

	r = hang(t, c, 20_300, "--json", dir) // 1 % low
	require.Equal(t, exitFailed, <-r.code)
	assert.Contains(t, r.stderr.String(), "drifted by more than 0.5 %")
	var w weighingJSON
	require.NoError(t, json.Unmarshal([]byte(r.stdout.String()), &w))
	assert.True(t, w.Off)
	assert.InDelta(t, -1, float64(w.DriftPercent), 0.01)

	f, err := study.Open(dir)
	require.NoError(t, err)
	facts, err := f.Facts()
	require.NoError(t, err)
	require.Len(t, facts, 2)
	assert.Equal(t, study.Weighed, facts[1].What)
	assert.Regexp(t, `^20 N hung: \d+\.\d+ N read, 20 N expected \(-1\.\d\d %\), span 1000 counts/N$`, facts[1].Text)
	assert.False(t, facts[1].Time.IsZero())
	code, out, talk := command("", "check", dir)
	assert.Zero(t, code, out+talk)
}

func TestCalibrateCheckRefuses(t *testing.T) {
	file := filepath.Join(t.TempDir(), "cell.csv")
	require.NoError(t, os.WriteFile(file, []byte(strings.Replace(cellFile, "gain: 128", "gain: 64", 1)), 0o666))
	c := newFakeCell(t)
	typed, keys := io.Pipe()
	defer keys.Close()
	r := start(t, typed, "calibrate", "--check", "2 kg", "--port", c.path(), file)
	r.await(t, "Let the link hang free")
	c.facts()
	require.Equal(t, exitFailed, <-r.code)
	assert.Contains(t, r.stderr.String(), "it was made at gain 64, the device is at 128")

	for _, args := range [][]string{{"--check", "2 kg", "--port", "x"}, {"--check", "2 kg", file}} {
		code, _, talk := command("", append([]string{"calibrate"}, args...)...)
		assert.Equal(t, exitUsage, code, talk)
	}
	code, _, talk := command("", "calibrate", "--check", "2 kg", "--port", "ttyNONE", file+"none")
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, talk, "no such file")
}

// Readings that were taken by hand over an hour outlive a disk that is full at
// the end, and a cable that comes out.
func TestCalibrateReadingsAreKept(t *testing.T) {
	c := newFakeCell(t)
	out := filepath.Join(t.TempDir(), "cell.csv")
	d := &acquiretest.Disk{Step: "write", File: "cell.csv.tmp", Err: syscall.ENOSPC}
	typed, keys := io.Pipe()
	r := startOn(t, d, typed, "calibrate", "--port", c.path(), "--average", "100ms", out)
	r.await(t, "run 1, reading 1")
	c.facts()
	for i, load := range []string{"0 N", "20 N", "50 N"} {
		counts := []int32{500, 20_500, 50_500}[i]
		c.settled(counts)
		_, err := io.WriteString(keys, load+"\n")
		require.NoError(t, err)
		c.until(counts, func() bool { return strings.Count(r.stderr.String(), "samples\n") > i })
	}
	_, err := io.WriteString(keys, "\n")
	require.NoError(t, err)
	require.Equal(t, exitFailed, <-r.code)
	assert.Contains(t, r.stderr.String(), "no space left on device; the readings are kept in "+out+".part, and `griptrial calibrate --from` fits them")
	assert.NoFileExists(t, out)

	code, _, talk := command("", "calibrate", "--port", c.path(), out)
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, talk, "cell.csv.part is left from a calibration that was cut short")
	d.Mend()
	code, told, talk := command("", "calibrate", "--from", out+".part", out)
	require.Zero(t, code, talk)
	assert.Contains(t, told, "span   1000")
	text, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Contains(t, string(text), "# cell: LC-17\n")
}
