package main

import (
	"bytes"
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// command runs one command line in this process.
func command(stdin string, args ...string) (code int, stdout, stderr string) {
	var out, talk bytes.Buffer
	now := func() time.Time { return time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC) }
	code = run(context.Background(), args, &app{stdin: strings.NewReader(stdin), stdout: &out, stderr: &talk, now: now})
	return code, out.String(), talk.String()
}

// content is every file of a folder but those of the lock.
func content(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || strings.HasPrefix(e.Name(), ".") {
			return err
		}
		b, err := os.ReadFile(path)
		files[path] = string(b)
		return err
	}))
	return files
}
