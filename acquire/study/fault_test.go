package study

import (
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/acquire/acquiretest"
	"griptrial/acquire/disk"
)

func trace(text string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, text); return err }
}

const shortTrace = "t [s],force [N]\n0,0\n0.1,60\n0.2,10\n"

// Whatever step fails while a pull is saved: the error says so, nothing saved
// before is harmed, and the session goes on once the fault is gone.
func TestEveryStepOfASaveMayFail(t *testing.T) {
	for _, c := range []struct {
		name string
		disk *acquiretest.Disk
	}{
		{"trace not opened", &acquiretest.Disk{Step: "open", File: ".part", Err: syscall.EROFS}},
		{"disk full in the trace", &acquiretest.Disk{Step: "write", File: ".part", Err: syscall.ENOSPC, Short: true}},
		{"trace not synced", &acquiretest.Disk{Step: "sync", File: ".part", Err: syscall.EIO}},
		{"trace not marked", &acquiretest.Disk{Step: "chmod", File: ".part", Err: syscall.EPERM}},
		{"trace not renamed", &acquiretest.Disk{Step: "rename", File: "0002.csv", Err: syscall.EIO}},
		{"trace not synced for a while", &acquiretest.Disk{Step: "sync", File: ".part", Err: syscall.EIO, Times: 1}},
		{"traces not synced", &acquiretest.Disk{Step: "syncdir", File: TraceDir, Err: syscall.EIO}},
		{"ledger not opened", &acquiretest.Disk{Step: "open", File: LedgerFile, Err: syscall.EROFS}},
		{"disk full in the ledger", &acquiretest.Disk{Step: "write", File: LedgerFile, Err: syscall.ENOSPC, Short: true}},
		{"disk full before the ledger", &acquiretest.Disk{Step: "write", File: LedgerFile, Err: syscall.ENOSPC}},
		{"ledger not synced", &acquiretest.Disk{Step: "sync", File: LedgerFile, Err: syscall.EIO, Times: 1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := newStudy(t)
			_, err := f.AppendWithTrace(slipped(1, "10", 10), trace(shortTrace))
			require.NoError(t, err)
			before := snapshot(t, f.Dir())

			f.disk = c.disk
			_, err = f.AppendWithTrace(slipped(2, "11", 11), trace(shortTrace))
			require.ErrorIs(t, err, c.disk.Err)
			require.Positive(t, c.disk.Hits())
			assert.Regexp(t, `not saved|not started|trace of pull 2`, err.Error())
			assert.Len(t, f.History(), 1)
			for name, content := range before {
				now, err := os.ReadFile(filepath.Join(f.Dir(), name))
				require.NoError(t, err)
				assert.Equal(t, content, string(now), name)
			}

			f.disk = disk.OS{}
			_, err = f.AppendWithTrace(slipped(2, "11", 11), trace(shortTrace))
			require.NoError(t, err, "the session goes on once there is space")
			_, err = f.Append(slipped(3, "12", 12))
			require.NoError(t, err)
			require.NoError(t, f.Close())

			g, err := OpenForWriting(f.Dir(), "test")
			require.NoError(t, err)
			defer g.Close()
			whole(t, g)
			got, err := g.Readings()
			require.NoError(t, err)
			assert.Len(t, got, 3)
		})
	}
}

// snapshot holds the content of every file but the lock's.
func snapshot(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || strings.HasPrefix(e.Name(), ".") {
			return err
		}
		b, err := os.ReadFile(path)
		name, _ := filepath.Rel(dir, path)
		files[name] = string(b)
		return err
	}))
	return files
}

// A journal can be saved again after the ledger refused its row.
func TestSaveAgainAfterAFullDisk(t *testing.T) {
	f := newStudy(t)
	j, err := f.Begin()
	require.NoError(t, err)
	require.NoError(t, trace(shortTrace)(j))
	f.disk = &acquiretest.Disk{Step: "write", File: LedgerFile, Err: syscall.ENOSPC, Short: true}
	_, err = j.Save(slipped(1, "", 10))
	require.ErrorIs(t, err, syscall.ENOSPC)
	f.disk = disk.OS{}
	n, err := j.Save(slipped(1, "", 10))
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	assert.Equal(t, 1, j.Pull())
	whole(t, f)
	assert.Empty(t, notes(f))
}

func notes(f *Folder) []string {
	var out []string
	for _, p := range f.Check() {
		out = append(out, p.Error())
	}
	return out
}

// A sync that failed is not made good by a second one that succeeds: the trace
// is written again.
func TestSaveAgainAfterAFailedSync(t *testing.T) {
	for _, gone := range []bool{false, true} {
		f := newStudy(t)
		j, err := f.Begin()
		require.NoError(t, err)
		require.NoError(t, trace(shortTrace)(j))
		require.NoError(t, j.file.Close())
		d := &acquiretest.Disk{Step: "sync", File: ".part", Err: syscall.EIO, Times: 1, Lose: gone}
		f.disk = d
		j.file, err = d.Open(j.part(), os.O_WRONLY|os.O_APPEND, 0)
		require.NoError(t, err)
		_, err = j.Write([]byte("0.3,10\n"))
		require.NoError(t, err)
		_, err = j.Save(slipped(1, "", 10))
		require.ErrorIs(t, err, syscall.EIO)

		_, err = j.Save(slipped(1, "", 10))
		if gone {
			require.ErrorContains(t, err, "no longer whole on this disk")
			_, err = j.Save(slipped(1, "", 10))
			require.ErrorContains(t, err, "no longer whole on this disk", "and again")
			require.NoError(t, f.Close())
			g, err := OpenForWriting(f.Dir(), "test")
			require.NoError(t, err)
			assert.Empty(t, g.History())
			assert.Len(t, g.Recovered(), 1, "what there is of it is kept")
			require.NoError(t, g.Close())
			continue
		}
		require.NoError(t, err)
		assert.Equal(t, 1, d.Syncs(".part.tmp"), "the bytes were written again")
		got, err := os.ReadFile(f.TracePath(1))
		require.NoError(t, err)
		assert.Equal(t, shortTrace+"0.3,10\n", string(got))
		whole(t, f)
	}
}

// When even the repair fails, it is tried again before the next row is written.
func TestLedgerIsPutBackLater(t *testing.T) {
	f := newStudy(t)
	_, err := f.Append(slipped(1, "10", 10))
	require.NoError(t, err)
	f.disk = &tornDisk{}
	for range 3 {
		_, err = f.Append(slipped(2, "11", 11))
		require.Error(t, err)
	}
	f.disk = disk.OS{}
	n, err := f.Append(slipped(2, "12", 12))
	require.NoError(t, err)
	assert.Equal(t, 2, n)
	whole(t, f)
	assert.Empty(t, notes(f))
}

// Where it fails for good, what was torn is set aside when the study is opened
// again.
func TestLedgerThatCannotBePutBack(t *testing.T) {
	f := newStudy(t)
	_, err := f.Append(slipped(1, "10", 10))
	require.NoError(t, err)
	f.disk = &tornDisk{}
	_, err = f.Append(slipped(2, "11", 11))
	require.ErrorIs(t, err, syscall.ENOSPC)
	_, err = f.Append(slipped(2, "11", 11))
	assert.ErrorContains(t, err, "open it again")
	require.NoError(t, f.Close())

	r, err := Open(f.Dir())
	require.NoError(t, err)
	assert.Contains(t, strings.Join(notes(r), "\n"), "pulls.csv:4: the last row was cut off")
	got, err := r.Readings()
	require.NoError(t, err)
	assert.Len(t, got, 1)

	g, err := OpenForWriting(f.Dir(), "test")
	require.NoError(t, err)
	defer g.Close()
	require.Len(t, g.Recovered(), 1)
	assert.ErrorContains(t, g.Recovered()[0], "kept in pulls.torn-1.txt")
	torn, err := os.ReadFile(filepath.Join(f.Dir(), "pulls.torn-1.txt"))
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(string(torn), "2,2,1,2,"), string(torn))
	_, err = g.Append(slipped(2, "11", 11))
	require.NoError(t, err)
	whole(t, g)
}

// tornDisk fails in the middle of a row and does not let it be taken back.
type tornDisk struct{ disk.OS }

func (tornDisk) Open(name string, flag int, perm fs.FileMode) (disk.File, error) {
	f, err := disk.OS{}.Open(name, flag, perm)
	return tornFile{f}, err
}

type tornFile struct{ disk.File }

func (f tornFile) Write(b []byte) (int, error) {
	n, _ := f.File.Write(b[:len(b)/2])
	return n, syscall.ENOSPC
}
func (f tornFile) Truncate(int64) error { return syscall.EIO }

// A new study is there whole or is no study: any step may fail.
func TestCreateMayFail(t *testing.T) {
	for _, d := range []*acquiretest.Disk{
		{Step: "mkdir", Err: syscall.EROFS},
		{Step: "open", File: LedgerFile, Err: syscall.ENOSPC},
		{Step: "write", File: LedgerFile, Err: syscall.ENOSPC},
		{Step: "write", File: SetupFile, Err: syscall.ENOSPC, Short: true},
		{Step: "sync", File: SetupFile, Err: syscall.EIO},
		{Step: "rename", File: SetupFile, Err: syscall.EIO},
	} {
		dir := filepath.Join(t.TempDir(), "blanks")
		_, err := CreateOn(d, dir, blanks(), "test")
		require.ErrorIs(t, err, d.Err, d.Step)
		_, err = os.Stat(dir)
		assert.ErrorIs(t, err, fs.ErrNotExist, "nothing is left of it")
		f, err := Create(dir, blanks(), "test")
		require.NoError(t, err)
		require.NoError(t, f.Close())
	}
}
