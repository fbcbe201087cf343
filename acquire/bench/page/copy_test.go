package page

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// copyStudy copies a study folder as it is at this moment.
func copyStudy(t *testing.T, dir string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "copy")
	require.NoError(t, os.CopyFS(to, os.DirFS(dir)))
	return to
}
