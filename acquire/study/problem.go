package study

import (
	"fmt"
	"strings"
)

// Problem is one thing in a study folder that is not as it should be.
type Problem struct {
	File   string // path as it was opened
	Line   int    // from 1; 0: the whole file
	Column string // name of the column; "": the whole row
	What   string // what is wrong and what to do
	Note   bool   // worth knowing, but nothing that was saved is harmed
}

func (p Problem) Error() string {
	s := p.File
	if p.Line > 0 {
		s += fmt.Sprintf(":%d", p.Line)
	}
	if p.Column != "" {
		s += ": " + p.Column
	}
	return s + ": " + p.What
}

// among words the known names after one that is not among them.
func among(name string, known []string) string {
	if n, ok := nearest(name, known); ok {
		return fmt.Sprintf("; did you mean %q?", n)
	}
	if len(known) == 0 {
		return ""
	}
	return " (" + strings.Join(known, ", ") + ")"
}
