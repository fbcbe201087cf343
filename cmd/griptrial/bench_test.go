//go:build linux

package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/acquiretest"
	"griptrial/acquire/bench/practice"
	"griptrial/acquire/simrig"
	"griptrial/acquire/study"
	"griptrial/analysis/trial"
)

// hand is a person at the vise: it reads what bench says and types the answer.
type hand struct {
	mu   sync.Mutex
	said bytes.Buffer // all of it
	line string       // the line under way
	does func(line string) (types string)
	keys io.Writer
}

func (h *hand) Write(p []byte) (int, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.said.Write(p)
	for _, c := range string(p) {
		if c != '\n' {
			h.line += string(c)
			continue
		}
		if types := h.does(h.line); types != "" {
			go io.WriteString(h.keys, types) // the other end may be waiting for us
		}
		h.line = ""
	}
	return len(p), nil
}

func (h *hand) text() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.said.String()
}

// answers are those of somebody who agrees with whatever is proposed.
func answers(line string) string {
	switch {
	case strings.Contains(line, "Type yes"):
		return "yes\n"
	case strings.Contains(line, "Enter takes the tare;"), strings.Contains(line, "Enter confirms"):
		return "\n"
	case strings.Contains(line, "The record alone cannot tell."):
		return "x could not tell\n"
	}
	return ""
}

// benchStudy makes a study with a run order and a calibrated cell, and the
// simulated device that pulls for it.
func benchStudy(t *testing.T) (dir string, device *simrig.Device, pulls func()) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "blanks")
	code, _, talk := command("", "new", dir, "--facing", "ground steel", "--facing", "bonded P240 cloth",
		"--level", "3 kg", "--samples", "2", "--repeats", "2", "--unit", "N", "--scale", "cell")
	require.Zero(t, code, talk)
	code, _, talk = command("", "plan", dir)
	require.Zero(t, code, talk)
	f, err := study.Open(dir)
	require.NoError(t, err)
	shop := practice.Shop(f.Setup())
	shop.TieFails = 0
	cal := practice.Calibration(shop)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "calibrations", "today.csv"), cal.Append(nil), 0o666))
	device = simrig.NewDevice(shop, 5)
	pulls = func() {
		f, err := study.Open(dir)
		if assert.NoError(t, err) {
			p, _ := f.Next()
			assert.NoError(t, device.Order(simrig.Order{Facing: p.Facing, Sample: p.Sample, Level: p.Level}))
		}
	}
	return dir, device, pulls
}

// session runs bench on a port as a script would, with a hand that answers.
func benchOn(t *testing.T, dir, path string, does func(line string) string, more ...string) (code int, out, said string) {
	t.Helper()
	in, keys := io.Pipe()
	defer keys.Close()
	h := &hand{does: does, keys: keys}
	var stdout bytes.Buffer
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute)
	defer cancel()
	args := append([]string{"bench", dir, "--terminal", "--port", path, "--calibration", filepath.Join(dir, "calibrations", "today.csv")}, more...)
	code = run(ctx, args, &app{stdin: in, stdout: &stdout, stderr: h, now: time.Now})
	return code, stdout.String(), h.text()
}

// A session through a serial port: the cable comes out in the second pull, the
// session after goes on with the same pull, and the study is whole.
func TestBenchUnplugAndResume(t *testing.T) {
	dir, device, pulls := benchStudy(t)
	plugged := acquiretest.Plug(t, device, practice.Clock(time.Now, 20), acquiretest.Faults{})
	pulling := 0
	code, out, said := benchOn(t, dir, plugged.Path(), func(line string) string {
		if strings.HasPrefix(line, "Ready.") {
			pulls()
		}
		if line == "Pulling." {
			if pulling++; pulling == 2 {
				plugged.Unplug()
			}
		}
		return answers(line)
	})
	assert.Equal(t, exitFailed, code, said)
	assert.Contains(t, said, "the load cell is gone")
	assert.Contains(t, said, "the device hung up")
	assert.Contains(t, said, "goes on with the next pull")
	assert.Regexp(t, `^saved: pull 1: .*: slipped at [0-9.]+ N\nsaved: pull 2: .*: void \(incomplete: the load cell is gone: .*\)\n$`, out)
	code, _, talk := command("", "check", dir)
	require.Zero(t, code, talk)

	plugged.Replug()
	code, out, said = benchOn(t, dir, plugged.Path(), func(line string) string {
		if strings.HasPrefix(line, "Ready.") {
			pulls()
		}
		return answers(line)
	})
	assert.Equal(t, exitOK, code, said)
	assert.Contains(t, said, "Pull 2 of 4")
	assert.Contains(t, said, "every planned pull is done")
	assert.Equal(t, 3, strings.Count(out, "saved: "))
	code, _, talk = command("", "check", dir)
	require.Zero(t, code, talk)
	f, err := study.Open(dir)
	require.NoError(t, err)
	rows := f.Current()
	require.Len(t, rows, 5)
	assert.Equal(t, trial.Void, rows[1].Outcome)
	for i, r := range rows {
		assert.NotEmpty(t, f.TracePath(r.Pull))
		if i != 1 {
			assert.Equal(t, trial.Slipped, r.Outcome)
		}
	}
}

// A line that loses and damages some of what passes costs samples, not pulls.
func TestBenchOnABadLine(t *testing.T) {
	dir, device, pulls := benchStudy(t)
	plugged := acquiretest.Plug(t, device, practice.Clock(time.Now, 20), acquiretest.Faults{Lose: 0.003, Burst: 2, Flip: 0.003, Duplicate: 0.003, Seed: 9})
	code, out, said := benchOn(t, dir, plugged.Path(), func(line string) string {
		if strings.HasPrefix(line, "Ready.") {
			pulls()
		}
		return answers(line)
	}, "--pulls", "1")
	assert.Equal(t, exitOK, code, said)
	assert.Contains(t, out, "slipped at")
	code, _, talk := command("", "check", dir)
	require.Zero(t, code, talk)
}

// At a terminal the force is shown on one line that is written over.
func TestBenchAtATerminal(t *testing.T) {
	dir, _, _ := benchStudy(t)
	before := content(t, dir)
	screen, tty, err := pty.Open()
	require.NoError(t, err)
	h := &hand{keys: screen, does: func(line string) string { return answers(line) }}
	read := make(chan struct{})
	go func() {
		defer close(read)
		_, _ = io.Copy(h, screen) // ends with the terminal
	}()
	var out bytes.Buffer
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute)
	defer cancel()
	code := run(ctx, []string{"bench", dir, "--terminal", "--practice", "--speed", "20", "--pulls", "1"}, &app{stdin: tty, stdout: &out, stderr: tty, now: time.Now})
	until(t, func() bool { return strings.Contains(h.text(), "That was practice") })
	_, err = io.WriteString(screen, "\n") // bench still waits for a line
	require.NoError(t, err)
	require.NoError(t, tty.Close())
	<-read
	require.NoError(t, screen.Close())
	assert.Equal(t, exitOK, code, h.text())
	assert.Contains(t, out.String(), "saved: pull 1: ")
	assert.Regexp(t, `\r +[0-9.]+ N   peak [0-9.]+   [0-9.]+ s`, h.text())
	assert.Contains(t, h.text(), "That was practice")
	assert.Equal(t, before, content(t, dir), "practice leaves the study as it is")
}
