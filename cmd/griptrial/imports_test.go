package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

const module = "griptrial/"

// onlyIn lists modules that one package alone may import, with the reason.
var onlyIn = map[string]string{
	"go.bug.st/serial":             "acquire/port",    // its quirks are handled in one place
	"gonum.org/v1/plot":            "report/figure",   // one style for every figure
	"codeberg.org/go-pdf/fpdf":     "report/document", // one PDF writer
	"codeberg.org/go-fonts":        "report",          // fonts are for what is shown
	"github.com/pelletier/go-toml": "acquire/study",   // study.toml has one reader
}

// impure may not be imported by analysis: the same input must give the same
// bits, and the numbers must not depend on where they came from.
var impure = []string{"os", "io", "net", "log", "bufio", "embed", "syscall", "testing", "crypto/rand", "math/rand"}

// TestImportRule holds the layers of the tree against the imports:
// acquire and report may import analysis and never each other, analysis
// imports nothing of ours outside itself and no I/O, its subpackages do not
// import its front door, cmd imports all three and nobody imports cmd.
func TestImportRule(t *testing.T) {
	files := 0
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name := d.Name(); name == "testdata" || strings.HasPrefix(name, ".git") {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(path, ".go") {
			return nil
		}
		files++
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel("../..", path)
		if err != nil {
			return err
		}
		rel = filepath.ToSlash(rel)
		for _, spec := range f.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			if why := forbidden(rel, imported); why != "" {
				t.Errorf("%s imports %s: %s", rel, imported, why)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 20 {
		t.Fatalf("only %d Go files seen: the walk is broken", files)
	}
}

// forbidden says why a file may not import a package, "" if it may.
func forbidden(file, imported string) string {
	dir := file[:max(strings.LastIndexByte(file, '/'), 0)]
	layer, _, _ := strings.Cut(dir, "/")
	test := strings.HasSuffix(file, "_test.go")
	for _, word := range strings.Split(imported, "/") {
		if word == "util" || word == "common" || word == "helpers" {
			return "a package is named for its job"
		}
	}
	for path, owner := range onlyIn {
		if within(imported, path) && !within(dir, owner) && !test {
			return "only " + owner + " imports it"
		}
	}
	if ours, ok := strings.CutPrefix(imported, module); ok {
		target, _, _ := strings.Cut(ours, "/")
		switch {
		case target == "cmd":
			return "nobody imports cmd"
		case layer == "cmd":
		case layer == "analysis" && target != "analysis":
			return "analysis is the ground floor"
		case layer == "analysis" && dir != "analysis" && ours == "analysis" && !test:
			return "a subpackage does not import the front door"
		case target != layer && target != "analysis":
			return layer + " and " + target + " do not know each other"
		}
		return ""
	}
	if layer == "analysis" && !test {
		for _, path := range impure {
			if imported == path || (path == "net" || path == "log") && within(imported, path) {
				return "analysis does no I/O and takes its randomness as an argument"
			}
		}
	}
	return ""
}

// within reports whether path is root or lies below it.
func within(path, root string) bool {
	return path == root || strings.HasPrefix(path, root+"/")
}

// TestForbidden shows that the rule can fail.
func TestForbidden(t *testing.T) {
	for _, c := range []struct {
		file, imported string
		bad            bool
	}{
		{"analysis/slip/slip.go", "os", true},
		{"analysis/slip/slip_test.go", "os", false},
		{"analysis/slip/slip.go", "net/http", true},
		{"analysis/slip/slip.go", "math/rand/v2", false},
		{"analysis/slip/slip.go", "griptrial/analysis", true},
		{"analysis/slip/slip.go", "griptrial/analysis/trial", false},
		{"analysis/analyse.go", "griptrial/acquire/table", true},
		{"acquire/bench/bench.go", "griptrial/analysis/slip", false},
		{"acquire/bench/bench.go", "griptrial/report/figure", true},
		{"report/page/page.go", "griptrial/acquire/study", true},
		{"report/page/page.go", "gonum.org/v1/plot/vg", true},
		{"report/figure/figure.go", "gonum.org/v1/plot/vg", false},
		{"acquire/bench/bench.go", "go.bug.st/serial", true},
		{"report/page/page.go", "griptrial/cmd/griptrial", true},
		{"cmd/griptrial/demo.go", "griptrial/report/page", false},
	} {
		if got := forbidden(c.file, c.imported) != ""; got != c.bad {
			t.Errorf("%s importing %s: forbidden is %v", c.file, c.imported, got)
		}
	}
}
