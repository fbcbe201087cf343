//go:build linux

package main

import (
	"bufio"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/table"
)

// build compiles a C file of the firmware notes, or skips the test.
func build(t *testing.T, compiler, source string, args ...string) string {
	t.Helper()
	out := filepath.Join(t.TempDir(), "built")
	args = append([]string{"-Wall", "-Werror", "-o", out, filepath.Join("../../firmware-notes", source)}, args...)
	text, err := exec.CommandContext(t.Context(), compiler, args...).CombinedOutput()
	require.NoError(t, err, "%s %s\n%s", compiler, strings.Join(args, " "), text)
	return out
}

// needFirmwareTools skips where the compilers or the simulator are missing.
func needFirmwareTools(t *testing.T) {
	t.Helper()
	missing := ""
	for _, program := range []string{"avr-gcc", "gcc"} {
		if _, err := exec.LookPath(program); err != nil {
			missing = program
		}
	}
	const header = "/usr/include/simavr/sim_avr.h"
	if _, err := os.Stat(header); err != nil {
		missing = header
	}
	if missing == "" {
		return
	}
	const how = "missing: %s (Debian packages gcc, gcc-avr, avr-libc, libsimavr-dev)"
	if os.Getenv("GRIPTRIAL_REQUIRE_TOOLS") == "1" {
		t.Fatalf(how, missing)
	}
	t.Skipf(how, missing)
}

// TestFirmware records from the reference firmware on a simulated chip, with a
// reset in the middle.
func TestFirmware(t *testing.T) {
	needFirmwareTools(t)
	firmware := build(t, "avr-gcc", "avr/loadcell.c", "-std=gnu11", "-Os", "-mmcu=atmega328p", `-DID="LC-17"`)
	peer := build(t, "gcc", "simulation/peer.c", "-O2", "-I/usr/include/simavr", "-lsimavr", "-lm")

	chip := exec.CommandContext(t.Context(), peer, firmware, "80")
	commands, err := chip.StdinPipe()
	require.NoError(t, err)
	said, err := chip.StdoutPipe()
	require.NoError(t, err)
	var complaints output
	chip.Stderr = &complaints
	require.NoError(t, chip.Start())
	lines := bufio.NewScanner(said)
	terminal := ""
	for terminal == "" && lines.Scan() {
		if strings.HasPrefix(lines.Text(), "/dev/") {
			terminal = lines.Text()
		}
	}
	require.NotEmpty(t, terminal)

	out := filepath.Join(t.TempDir(), "pull.csv")
	r := start(t, strings.NewReader(""), "record", "--port", terminal, "--for", "2s", "--json", out)
	r.await(t, "listening on")
	_, err = io.WriteString(commands, "go\n")
	require.NoError(t, err)
	until(t, written(out+".part", "\n40,"))
	_, err = io.WriteString(commands, "reset\n")
	require.NoError(t, err)
	require.Equal(t, exitOK, <-r.code, r.stderr.String())
	require.NoError(t, commands.Close())
	require.NoError(t, chip.Wait(), complaints.String())
	assert.Empty(t, complaints.String())

	s := summary(t, r)
	assert.Equal(t, endedTime, s.Ended)
	assert.Equal(t, 2, s.Segments)
	assert.Zero(t, s.Lost+s.Duplicates+s.Saturated)
	assert.LessOrEqual(t, s.Rejected, int64(1), "the line that the reset cut")
	assert.InDelta(t, 80, *s.RateHz, 1e-3)
	assert.Equal(t, "2", s.Facts["boot"], "counted over the reset")
	assert.Equal(t, "LC-17", s.Facts["id"])

	// The peer gives −1234 + 100 k, and the firmware drops the first four.
	file, err := os.Open(out)
	require.NoError(t, err)
	defer file.Close()
	trace, err := table.ReadTrace(out, file)
	require.NoError(t, err)
	assert.EqualValues(t, len(trace.Counts), s.Samples)
	assert.EqualValues(t, -834, trace.Counts[0])
	for i := 1; i < len(trace.Counts); i++ {
		if trace.Segment[i] != trace.Segment[i-1] {
			assert.Zero(t, trace.Seq[i], "numbering begins anew")
			continue
		}
		require.Equal(t, 100*(trace.Seq[i]-trace.Seq[i-1]), trace.Counts[i]-trace.Counts[i-1], "row %d", i)
		require.InDelta(t, 12500*(trace.Seq[i]-trace.Seq[i-1]), trace.Micros[i]-trace.Micros[i-1], 20, "row %d", i)
	}
}
