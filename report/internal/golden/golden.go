// Package golden compares what a test made with a file kept in testdata.
package golden

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the golden files; look at them before you commit")

// Equal fails the test unless got is what testdata/name holds. With -update it
// writes the file instead.
func Equal(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (run the test with -update to make it)", err)
	}
	if line, ok := differ(want, got); ok {
		t.Errorf("%s differs from line %d on (run the test with -update to accept)", path, line)
	}
}

// differ tells the first line at which two texts differ.
func differ(want, got []byte) (line int, ok bool) {
	if bytes.Equal(want, got) {
		return 0, false
	}
	w, g := bytes.Split(want, []byte("\n")), bytes.Split(got, []byte("\n"))
	for i := range min(len(w), len(g)) {
		if !bytes.Equal(w[i], g[i]) {
			return i + 1, true
		}
	}
	return min(len(w), len(g)) + 1, true
}
