package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
)

// readmeCommands are the lines after "$ " in the README's console blocks.
func readmeCommands(t *testing.T) []string {
	t.Helper()
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	var commands []string
	inside := false
	for _, line := range strings.Split(string(text), "\n") {
		switch {
		case line == "```console":
			inside = true
		case line == "```":
			inside = false
		case inside:
			command, ok := strings.CutPrefix(line, "$ ")
			require.True(t, ok, "a console block holds commands only: %q", line)
			commands = append(commands, command)
		}
	}
	return commands
}

// TestReadme runs every command of the README, in its order and in one empty
// folder, as a reader would. `go test ./...` is what runs this very test.
func TestReadme(t *testing.T) {
	if _, err := exec.LookPath("sh"); err != nil {
		t.Skip("the README's commands are for a shell, and there is none")
	}
	commands := readmeCommands(t)
	require.Equal(t, []string{"go run ./cmd/griptrial demo", "go test ./..."}, commands[:2], "the README opens with exactly these")
	require.Greater(t, len(commands), 12)
	var script strings.Builder
	for i, c := range commands {
		c = strings.Replace(c, "go run ./cmd/griptrial", "griptrial", 1)
		switch {
		case strings.HasPrefix(c, "go "):
		case strings.HasSuffix(c, " &"):
			fmt.Fprintf(&script, "exec sh -c %s &live&\n", quoteScript("exec "+strings.TrimSuffix(c, " &")))
			fmt.Fprintf(&script, "exec sh -c %s\n", quoteScript("until [ -e cells.cell ]; do sleep 0.02; done"))
		default:
			fmt.Fprintf(&script, "exec sh -c %s\n", quoteScript(c))
		}
		for _, line := range readmeFinds[i] {
			script.WriteString(line + "\n")
		}
	}
	script.WriteString("kill -INT live\nwait live\n! exists cells.cell\n")
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "readme.txtar"), []byte(script.String()), 0o666))
	testscript.Run(t, testscript.Params{Dir: dir})
}

// readmeFinds is what a reader finds after the command of that place.
var readmeFinds = map[int][]string{
	0:  {"stdout '[Hh]olds .* times what ground steel holds'", "exists griptrial-demo/reports/report.html"},
	3:  {"stdout 'Block 3'"},
	5:  {"stdout 'blanks is whole: 13 pulls in 15 rows \\(1 void\\)'"},
	6:  {"stdout 'P240 cloth +[0-9.]+ kg +[0-9.]+ \\([0-9.]+ to [0-9.]+\\) kg'"},
	7:  {"exists blanks/reports/report.html blanks/reports/card.html blanks/reports/figures/pulls.svg"},
	11: {"stdout '0 lost, 0 lines rejected'"},
	12: {"stderr '3 pulls saved'"},
	13: {"stdout '0003.csv +(slipped|held)'"},
	15: {"exists cells/reports/validation.pdf cells/reports/post.md"},
	16: {"stdout 'grip factor +0.1496'"},
	17: {"stdout 'clamp force +1262 N'"},
	18: {"stdout 'P240 cloth .* open, margin'", "stdout 'not proof that a part is safely held'"},
	19: {"exists blanks/reports/data/datapackage.json blanks/reports/data/blanks.xlsx"},
	20: {"stdout 'P240 cloth +[0-9.]+ kg +[0-9.]+ \\([0-9.]+ to [0-9.]+\\) kg'"},
	21: {"stdout 'Two trials; '", "stdout 'P240 cloth .*(chance)'", "exists griptrial-demo/reports/compare.html"},
}

// quoteScript quotes a word for testscript, where ” inside quotes is one.
func quoteScript(s string) string { return "'" + strings.ReplaceAll(s, "'", "''") + "'" }
