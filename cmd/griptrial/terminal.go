package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/term"
	"golang.org/x/text/width"
)

// look is how text for people is laid out: how wide, and whether with emphasis.
type look struct {
	width  int  // letters in a line; 0: as wide as it gets
	strong bool // headings and verdicts stand out
}

// prose is the width of sentences, which no terminal makes wider.
const prose = 78

// lookOf suits what is written to out. COLUMNS gives the width, else the
// terminal; a file or a pipe is as wide as it gets. Emphasis is for terminals
// alone, and NO_COLOR or a dumb terminal turns it off.
func lookOf(out io.Writer) look {
	var l look
	f, ok := out.(*os.File)
	ok = ok && term.IsTerminal(int(f.Fd()))
	if n, err := strconv.Atoi(os.Getenv("COLUMNS")); err == nil && n > 0 {
		l.width = max(n, narrowest)
	} else if ok {
		if n, _, err := term.GetSize(int(f.Fd())); err == nil && n > 0 {
			l.width = max(n, narrowest)
		}
	}
	l.strong = ok && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
	return l
}

// narrowest is the least width that is kept; below it lines run over.
const narrowest = 20

// bold sets a line in bold type where there is emphasis.
func (l look) bold(text string) string {
	if !l.strong || text == "" {
		return text
	}
	return "\x1b[1m" + text + "\x1b[0m"
}

// boldLines sets every line of a text in bold type.
func (l look) boldLines(text string) string {
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	for i := range lines {
		lines[i] = l.bold(lines[i])
	}
	return strings.Join(lines, "\n") + "\n"
}

// wrap breaks a sentence into lines, the first one behind a mark, the others
// indented to it.
func (l look) wrap(mark, text string) string {
	n := prose
	if l.width > 0 {
		n = min(n, l.width)
	}
	lines := fold(text, max(n-letters(mark), narrowest/2))
	indent := strings.Repeat(" ", letters(mark))
	return mark + strings.Join(lines, "\n"+indent) + "\n"
}

// fold breaks text at blanks into lines of at most n letters, and a word that
// is longer anywhere. It gives at least one line.
func fold(text string, n int) []string {
	var lines []string
	line, at := "", 0
	for _, word := range strings.Fields(harmless(text)) {
		long := letters(word)
		if at > 0 && at+1+long <= n {
			line, at = line+" "+word, at+1+long
			continue
		}
		if at > 0 {
			lines = append(lines, line)
		}
		for long > n {
			head := cutAt(word, n)
			lines = append(lines, head)
			word = word[len(head):]
			long = letters(word)
		}
		line, at = word, long
	}
	return append(lines, line)
}

// cutAt is the start of a word that fills n letters, at least one.
func cutAt(word string, n int) string {
	at := 0
	for i, r := range word {
		if at += wide(r); at > n && i > 0 {
			return word[:i]
		}
	}
	return word
}

// letters is how many places a text takes in a terminal.
func letters(text string) int {
	n := 0
	for _, r := range text {
		n += wide(r)
	}
	return n
}

// wide is how many places a character takes: marks that stand on others none,
// those of East Asia and pictures two.
func wide(r rune) int {
	switch {
	case r < 0x300:
		return 1
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	}
	switch width.LookupRune(r).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return 2
	}
	return 1
}

// harmless draws control characters, with which a name from a file could
// command the terminal, as their pictures, and takes out marks that turn the
// reading direction. Line ends and tabs stay.
func harmless(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\t':
			return r
		case r < ' ':
			return 0x2400 + r
		case r == 0x7f:
			return 0x2421
		case r > 0x7f && r < 0xa0:
			return unicode.ReplacementChar
		case unicode.Is(unicode.Bidi_Control, r):
			return -1
		}
		return r
	}, text)
}

// harmlessJSON escapes what JSON lets stand and a terminal may obey: delete, the
// control characters from U+0080 to U+009F, and marks that turn the reading
// direction. They can stand in its texts alone, and are the same text escaped.
func harmlessJSON(b []byte) []byte {
	bad := func(r rune) bool { return r >= 0x7f && r < 0xa0 || unicode.Is(unicode.Bidi_Control, r) }
	if !bytes.ContainsFunc(b, bad) {
		return b
	}
	var out []byte
	for _, r := range string(b) {
		if bad(r) {
			out = fmt.Appendf(out, `\u%04x`, r)
		} else {
			out = utf8.AppendRune(out, r)
		}
	}
	return out
}
