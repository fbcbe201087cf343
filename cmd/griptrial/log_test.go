//go:build unix

package main

import (
	"bufio"
	"context"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/study"
)

// Two programs on one study: the second is told who holds it.
func TestSecondProgramOnOneStudy(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "blanks")
	code, _, talk := command("", "new", dir, "--facing", "ground steel", "--facing", "cork")
	require.Zero(t, code, talk)
	f, err := study.OpenForWriting(dir, "griptrial bench")
	require.NoError(t, err)
	before := content(t, dir)
	for _, args := range [][]string{{"log", dir}, {"plan", dir}} {
		code, _, talk = command("10\n", args...)
		assert.Equal(t, exitFailed, code)
		assert.Contains(t, talk, "another program is writing to this study: griptrial bench, process ")
	}
	assert.Equal(t, before, content(t, dir))
	require.NoError(t, f.Close())
	code, _, talk = command("", "plan", dir)
	assert.Zero(t, code, talk)
}

// At a terminal a slip of the finger is told and asked again, and an interrupt
// ends the session with everything saved.
func TestLogAtATerminal(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "blanks")
	code, _, talk := command("", "new", dir, "--facing", "ground steel", "--facing", "cork")
	require.Zero(t, code, talk)
	code, _, talk = command("", "plan", dir, "--seed", "1")
	require.Zero(t, code, talk)

	keys, tty, err := pty.Open()
	require.NoError(t, err)
	defer keys.Close()
	defer tty.Close()
	screen := newScreen()
	ctx, interrupt := context.WithCancel(context.Background())
	defer interrupt()
	done := make(chan int)
	at := time.Date(2026, 11, 25, 10, 0, 0, 0, time.Local)
	session := func(ctx context.Context, now time.Time, out io.WriteCloser) {
		done <- run(ctx, []string{"log", dir}, &app{stdin: tty, stdout: out, stderr: out, now: func() time.Time { return now }})
		out.Close()
	}
	go session(ctx, at, screen.w)
	for _, c := range []struct{ wait, typed string }{
		{"Before the first pull:", ""},
		{"1 of 4: ", "ten\n"},
		{"not taken: column 1: not a number", "10\n"},
		{"saved   pull 1", "?\n"},
		{"slipped at 10.5 kgf", "35+\n"},
		{"saved   pull 2", ""},
		{"3 of 4: ", ""},
	} {
		screen.wait(t, c.wait)
		_, err := io.WriteString(keys, c.typed)
		require.NoError(t, err)
	}
	interrupt()
	screen.wait(t, "2 pulls saved in "+dir+", 2 of the plan to do")
	assert.Zero(t, <-done)
	code, out, _ := command("", "check", dir)
	assert.Zero(t, code, out)

	// Who goes on that day is spared the list; the next day it is shown again.
	for now, whole := range map[time.Time]bool{at.Add(time.Hour): false, at.Add(24 * time.Hour): true} {
		screen := newScreen()
		ctx, interrupt := context.WithCancel(context.Background())
		go session(ctx, now, screen.w)
		screen.wait(t, "3 of 4: ")
		interrupt()
		screen.wait(t, "0 pulls saved in "+dir)
		assert.Zero(t, <-done)
		assert.Contains(t, screen.seen.String(), "! Spindle off and locked out")
		assert.Equal(t, whole, strings.Contains(screen.seen.String(), "Before the first pull:"), screen.seen.String())
	}
}

// screen collects what a command writes and lets a test wait for a text.
type screen struct {
	w     io.WriteCloser
	runes *bufio.Reader
	seen  strings.Builder
}

func newScreen() *screen {
	r, w := io.Pipe()
	return &screen{w: w, runes: bufio.NewReader(r)}
}

func (s *screen) wait(t *testing.T, text string) {
	t.Helper()
	for from := s.seen.Len(); !strings.Contains(s.seen.String()[from:], text); {
		r, _, err := s.runes.ReadRune()
		require.NoError(t, err, "waiting for %q after %s", text, s.seen.String())
		s.seen.WriteRune(r)
	}
}
