package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/acquiretest"
	"griptrial/acquire/table"
	"griptrial/acquire/wire"
)

// onDisk runs a command on a disk of its own kind.
func onDisk(d *acquiretest.Disk, stdin string, args ...string) (code int, stdout, stderr string) {
	var out, talk bytes.Buffer
	now := func() time.Time { return time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC) }
	code = run(context.Background(), args, &app{stdin: strings.NewReader(stdin), stdout: &out, stderr: &talk, now: now, disk: d})
	return code, out.String(), talk.String()
}

// samplesOf is a stream of n samples with a damaged line among them.
func samplesOf(n int) string {
	var b []byte
	for i := range n {
		b = wire.AppendSample(b, uint16(i), uint32(12500*i), int32(i))
		if i == 5 {
			b = append(b, "::\x00 noise\n"...)
		}
	}
	return string(b)
}

func textsOf(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "%8.2f N\n", float64(i))
		if i == 5 {
			b.WriteString("ERR\n")
		}
	}
	return b.String()
}

// Whatever step fails while a trace is recorded: the error says so, an earlier
// file under that name stands, what came is kept where the error says unless
// nothing could be written at all, and the next recording goes on.
func TestRecordOnAFailingDisk(t *testing.T) {
	for _, kind := range []struct {
		name, stream string
		flags        []string
	}{
		{"load cell", samplesOf(3000), nil},
		{"text", textsOf(3000), []string{"--pattern", "{number} {unit}", "--unit", "N"}},
	} {
		for _, d := range []*acquiretest.Disk{
			{Step: "open", File: ".part", Err: syscall.EROFS},
			{Step: "write", File: ".part", Err: syscall.ENOSPC, After: 3, Short: true},
			{Step: "open", File: ".damaged.csv", Err: syscall.ENOSPC},
			{Step: "write", File: ".damaged.csv", Err: syscall.ENOSPC},
			{Step: "sync", File: ".damaged.csv", Err: syscall.EIO},
			{Step: "open", File: ".tmp", Err: syscall.ENOSPC},
			{Step: "write", File: ".tmp", Err: syscall.ENOSPC, After: 3, Short: true},
			{Step: "sync", File: ".tmp", Err: syscall.EIO},
			{Step: "rename", Err: syscall.EIO},
			{Step: "syncdir", Err: syscall.EIO},
		} {
			t.Run(kind.name+", "+d.Step+" "+d.File, func(t *testing.T) {
				out := filepath.Join(t.TempDir(), "pull.csv")
				require.NoError(t, os.WriteFile(out, []byte("an earlier pull"), 0o666))
				args := append([]string{"record", "--port", "-", "--force", out}, kind.flags...)
				code, _, talk := onDisk(d, kind.stream, args...)
				require.Equal(t, exitFailed, code)
				assert.Contains(t, talk, d.Err.Error())
				require.Positive(t, d.Hits())
				if d.Step != "syncdir" {
					got, err := os.ReadFile(out)
					require.NoError(t, err)
					assert.Equal(t, "an earlier pull", string(got))
				}
				assert.NoFileExists(t, out+".tmp")
				if d.Step != "open" || d.File != ".part" {
					assert.Contains(t, talk, out+".part")
					f, err := os.Open(out + ".part")
					require.NoError(t, err)
					defer f.Close()
					trace, err := table.ReadTrace("part", f)
					require.False(t, err != nil && d.Step != "write", "%v", err)
					assert.NotEmpty(t, trace.Trace.T)
				}

				d.Mend()
				code, _, talk = onDisk(d, kind.stream, args...)
				require.Equal(t, exitOK, code, talk)
				f, err := os.Open(out)
				require.NoError(t, err)
				defer f.Close()
				trace, err := table.ReadTrace("out", f)
				require.NoError(t, err)
				assert.Len(t, trace.Trace.T, 3000)
				kept, err := os.ReadFile(damagedName(out))
				require.NoError(t, err)
				assert.Equal(t, 3, strings.Count(string(kept), "\n"), string(kept))
			})
		}
	}
}

// Lines at the wrong speed are all noise: of those only so much is kept, and an
// endless line is one row.
func TestDamagedLinesAreBounded(t *testing.T) {
	out := filepath.Join(t.TempDir(), "pull.csv")
	noise := strings.Repeat(strings.Repeat("\xf8", 100)+"\n", 60_000)
	code, _, talk := command(samplesOf(10)+strings.Repeat("endless", 1000)+"\n"+noise, "record", "--port", "-", out)
	require.Equal(t, exitOK, code, talk)
	info, err := os.Stat(damagedName(out))
	require.NoError(t, err)
	assert.LessOrEqual(t, info.Size(), int64(mostDamage+200))
	assert.Greater(t, info.Size(), int64(mostDamage-1000))
	text, err := os.ReadFile(damagedName(out))
	require.NoError(t, err)
	lines := strings.Split(string(text), "\n")
	assert.Equal(t, `6,"not a sample and not a fact","::\x00 noise"`, lines[2])
	assert.Equal(t, `10,"too long","`+strings.Repeat("endless", 1000)+`"`, lines[3])
	assert.Equal(t, `10,"too long","`+strings.Repeat(`\xF8`, 100)+`"`, lines[4])
	assert.Contains(t, string(text[len(text)-100:]), "only 16 MB of them are kept")
}

// A jump between the wall clock and the clock that measures time is a sleep.
func TestClockJump(t *testing.T) {
	before := time.Now()
	assert.Zero(t, clockJump(before, before.Add(time.Hour)), "an hour went by")
	wall := before.Round(0)
	assert.Zero(t, clockJump(wall, wall.Add(time.Hour)), "without a measure there is nothing to compare")
}

// A device that comes back from a reset with another gain no longer fits the
// calibration: the counts of the pull are kept, no force is made of them.
func TestRecordKeepsCountsOfAMismatch(t *testing.T) {
	facts := func(boot, gain string) (b []byte) {
		for _, f := range [][2]string{{"id", "LC-17"}, {"boot", boot}, {"sps", "80"}, {"gain", gain}, {"ready", "1"}} {
			b = wire.AppendFact(b, f[0], f[1])
		}
		return b
	}
	samples := func(n int) (b []byte) {
		for i := range n {
			b = wire.AppendSample(b, uint16(i), uint32(515+12500*i), int32(1000+i%3))
		}
		return b
	}
	stream := string(facts("1", "128")) + string(samples(60)) + string(facts("2", "64")) + string(samples(60))
	dir := t.TempDir()
	cal, out := filepath.Join(dir, "cell.csv"), filepath.Join(dir, "pull.csv")
	require.NoError(t, os.WriteFile(cal, []byte("# cell: LC-17\n# gain: 128\n# sps: 80\nforce [N],counts\n0,500\n20,20500\n"), 0o666))
	code, _, talk := command(stream, "record", "--port", "-", "--calibration", cal, out)
	require.Equal(t, exitFailed, code)
	assert.Contains(t, talk, "it was made at gain 128, the device is at 64")
	assert.Contains(t, talk, "The counts are saved in "+out+", without forces")
	text, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Contains(t, string(text), "\nseq,t [us],counts,segment\n0,515,1000,0\n")
	assert.Contains(t, string(text), "\n59,738015,1002,0\n")
	assert.NotContains(t, string(text), ",1\n", "nothing of the device as it came back")
	assert.NoFileExists(t, out+".part")
}
