package main

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"
)

// hostileNames could command a terminal, turn its reading direction, break a
// table or take more places than letters.
var hostileNames = []string{
	"\x1b[31mred\x1b]0;title\x07", "P240\u202egnirpsdnuor", "two\nlines\tand a tab", "\u009b31m\x7f", "مطاط مصبوب", "pad 👩‍🔧🔥", "研磨布",
	"<b>&amp;</b>", "=1+1", strings.Repeat("long ", 60), strings.Repeat("x", 300), "",
}

func hostileTable() textTable {
	t := textTable{columns: []textColumn{{head: "facing", breaks: true}, {head: "pulls", right: true}, {head: "holds times as much"}, {head: "note", breaks: true}}}
	for _, name := range hostileNames {
		t.add(name, "24", "2.96 (2.57 to 3.41)", name)
	}
	return t
}

// clean fails where a text could command a terminal.
func clean(t *testing.T, text string) {
	t.Helper()
	for _, bad := range []string{"\x1b", "\x07", "\u009b", "\x7f", "\u202e", "\x00", "\r"} {
		assert.NotContains(t, text, bad)
	}
}

// TestTableWidths: at every width from that of a watch to none, no line is
// longer, and every name and number is there whole.
func TestTableWidths(t *testing.T) {
	plain := strings.NewReplacer("\n", "", " ", "")
	for width := narrowest; width <= 200; width++ {
		for _, indent := range []int{0, 2} {
			text := hostileTable().text(look{width: width}, indent)
			clean(t, text)
			for _, line := range strings.Split(text, "\n") {
				require.LessOrEqual(t, letters(line), width, "%q", line)
				require.Equal(t, strings.TrimRight(line, " "), line)
			}
			// Beside another column a folded name is not in one piece.
			assert.Equal(t, len(hostileNames), strings.Count(plain.Replace(text), "2.96(2.57to3.41)"), "width %d", width)
			assert.Contains(t, text, "=1+1")
			assert.Contains(t, text, "研磨布")
		}
	}
	wide := hostileTable().text(look{}, 0)
	assert.Contains(t, wide, "␛[31mred␛]0;title␇")
	assert.Contains(t, wide, "P240gnirpsdnuor")
	assert.Contains(t, wide, "two lines and a tab")
	assert.Equal(t, 300*2, strings.Count(wide, "x"))
}

// Columns stand under their heads, numbers at their right end, whatever the
// places that letters take.
func TestTableLayout(t *testing.T) {
	table := textTable{columns: []textColumn{{head: "facing", breaks: true}, {head: "slipped", right: true}, {head: "nothing"}, {head: "mu"}}}
	table.add("研磨布 P240", "12", "", "0.44")
	table.add("ground steel", "3", "", "0.15")
	table.add("e\u0301tain", "", "", "0.2")
	assert.Equal(t, ""+
		"facing        slipped  mu\n"+
		"研磨布 P240        12  0.44\n"+
		"ground steel        3  0.15\n"+
		"e\u0301tain                  0.2\n", table.text(look{width: 60}, 0))
	assert.Equal(t, ""+
		"facing        slipped\n"+
		"研磨布 P240        12\n"+
		"ground steel        3\n"+
		"e\u0301tain\n"+
		"\n"+
		"facing        mu\n"+
		"研磨布 P240   0.44\n"+
		"ground steel  0.15\n"+
		"e\u0301tain         0.2\n", table.text(look{width: 24}, 0))
	assert.Equal(t, ""+
		"\x1b[1m研磨布 P240\x1b[0m\n"+
		"  slipped: 12\n"+
		"  mu: 0.44\n", textTable{table.columns, table.rows[:1]}.text(look{width: 14, strong: true}, 0))
	assert.Empty(t, textTable{columns: table.columns}.text(look{}, 0))
}

func TestWrap(t *testing.T) {
	l := look{width: 24}
	assert.Equal(t, "  - a sentence of many\n    words, and a\n    verylongwordthatdoes\n    notfit\n", l.wrap("  - ", "a sentence of many words, and a verylongwordthatdoesnotfit"))
	assert.Equal(t, "\n", l.wrap("", ""))
	assert.Equal(t, prose, letters(strings.SplitN(look{width: 500}.wrap("", strings.Repeat("ab ", 100)), "\n", 2)[0])+1)
}

// TestLook: COLUMNS rules over the terminal, a pipe has no width, and emphasis
// is for terminals that want it.
func TestLook(t *testing.T) {
	t.Setenv("COLUMNS", "")
	t.Setenv("NO_COLOR", "")
	t.Setenv("TERM", "xterm")
	assert.Equal(t, look{}, lookOf(&bytes.Buffer{}))
	file, err := os.Create(t.TempDir() + "/out")
	require.NoError(t, err)
	defer file.Close()
	assert.Equal(t, look{}, lookOf(file))
	t.Setenv("COLUMNS", "60")
	assert.Equal(t, look{width: 60}, lookOf(&bytes.Buffer{}))
	t.Setenv("COLUMNS", "3")
	assert.Equal(t, look{width: narrowest}, lookOf(&bytes.Buffer{}))

	_, end, err := pty.Open()
	if err != nil {
		t.Skip("no pseudo-terminal: ", err)
	}
	defer end.Close()
	require.True(t, term.IsTerminal(int(end.Fd())))
	require.NoError(t, pty.Setsize(end, &pty.Winsize{Rows: 24, Cols: 91}))
	t.Setenv("COLUMNS", "")
	assert.Equal(t, look{width: 91, strong: true}, lookOf(end))
	t.Setenv("COLUMNS", "70")
	assert.Equal(t, look{width: 70, strong: true}, lookOf(end))
	t.Setenv("NO_COLOR", "1")
	assert.Equal(t, look{width: 70}, lookOf(end))
	t.Setenv("NO_COLOR", "")
	t.Setenv("TERM", "dumb")
	assert.Equal(t, look{width: 70}, lookOf(end))
}

func TestHarmlessJSON(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, printJSON(&b, map[string]string{"facing": "\x1b[31m\u009b1m\x7f\u202e é 👩‍🔧"}))
	assert.Equal(t, "{\n  \"facing\": \"\\u001b[31m\\u009b1m\\u007f\\u202e é 👩‍🔧\"\n}\n", b.String())
}
