package report

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Plain makes a name from a file fit to be shown: control characters, marks
// that turn the reading direction and runs of blanks are taken out; an empty
// name is said to be one. Letters of every script stay as they are.
func Plain(name string) string {
	var b strings.Builder
	blank := false
	for _, r := range name {
		switch {
		case unicode.IsSpace(r):
			blank = b.Len() > 0
			continue
		case unicode.IsControl(r), r == unicode.ReplacementChar:
			continue
		case unicode.Is(unicode.Cf, r) && r != '\u200c' && r != '\u200d':
			continue // direction overrides and their like; the joiners are part of spelling
		}
		if blank {
			b.WriteByte(' ')
			blank = false
		}
		b.WriteRune(r)
	}
	if b.Len() == 0 {
		return "(no name)"
	}
	return b.String()
}

// Brief is Plain cut to at most n letters, with an ellipsis where it was cut.
func Brief(name string, n int) string {
	r := []rune(Plain(name))
	if len(r) <= n {
		return string(r)
	}
	return strings.TrimRight(string(r[:n-1]), " ") + "…"
}

// Sentence starts a sentence that may begin with a facing's name.
func Sentence(s string) string {
	if s == "" {
		return ""
	}
	r, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[size:]
}
