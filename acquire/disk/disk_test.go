package disk_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/acquiretest"
	"griptrial/acquire/disk"
)

func TestCreateAndReplace(t *testing.T) {
	name := filepath.Join(t.TempDir(), "cell.csv")
	require.NoError(t, disk.Create(disk.OS{}, name, []byte("one")))
	require.ErrorIs(t, disk.Create(disk.OS{}, name, []byte("two")), fs.ErrExist)
	got, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, "one", string(got))
	require.NoError(t, disk.Replace(disk.OS{}, name, []byte("two")))
	got, err = os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, "two", string(got))
	assert.NoFileExists(t, name+".tmp")
	assert.Error(t, disk.OS{}.SyncDir(filepath.Join(filepath.Dir(name), "none")))
	_, err = disk.OS{}.Open(filepath.Join(filepath.Dir(name), "none"), os.O_RDONLY, 0)
	assert.ErrorIs(t, err, fs.ErrNotExist)
}

// Whatever step fails, the older file stands, nothing half is left, and the
// same succeeds once the fault is gone.
func TestReplaceMayFail(t *testing.T) {
	for _, d := range []*acquiretest.Disk{
		{Step: "open", Err: syscall.EROFS},
		{Step: "write", Err: syscall.ENOSPC, Short: true},
		{Step: "sync", Err: syscall.EIO},
		{Step: "rename", Err: syscall.EIO},
	} {
		name := filepath.Join(t.TempDir(), "cell.csv")
		require.NoError(t, disk.Create(d.OS, name, []byte("one")))
		require.ErrorIs(t, disk.Replace(d, name, []byte("two")), d.Err, d.Step)
		require.Equal(t, 1, d.Hits())
		got, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.Equal(t, "one", string(got), d.Step)
		assert.NoFileExists(t, name+".tmp")
		d.Mend()
		require.NoError(t, disk.Replace(d, name, []byte("two")))
	}
}
