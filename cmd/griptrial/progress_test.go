package main

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestProgress: a bar at a terminal once patience is over, and nothing in a
// file.
func TestProgress(t *testing.T) {
	now := time.Unix(0, 0)
	clock := func() time.Time { now = now.Add(time.Second); return now }
	var file bytes.Buffer
	quiet := newProgress(&app{stderr: &file, now: clock}, "counting", 10)
	for range 10 {
		quiet.step()
	}
	quiet.done()
	assert.Empty(t, file.String())

	master, terminal, err := pty.Open()
	if err != nil {
		if os.Getenv("GRIPTRIAL_REQUIRE_TOOLS") == "1" {
			require.NoError(t, err)
		}
		t.Skip("no pseudo-terminal: ", err)
	}
	defer master.Close()
	defer terminal.Close()
	bar := newProgress(&app{stderr: terminal, now: clock}, "counting", 4)
	for range 4 {
		bar.step()
	}
	bar.done()
	text := ""
	for !strings.Contains(text, "\x1b[K") { // all was written before
		got := make([]byte, 4096)
		n, err := master.Read(got)
		require.NoError(t, err)
		text += string(got[:n])
	}
	assert.Contains(t, text, "counting [===============               ]  50 %")
	assert.NotContains(t, text, " 25 %", "patience")
}
