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
)

// faulty is a disk on which one kind of step fails from a chosen call on.
type faulty struct {
	OS
	step  string // "open", "write", "sync", "truncate", "rename", "chmod", "syncdir", "mkdir"
	file  string // part of the name to fail on; "": any
	after int    // calls that still succeed
	once  bool   // only one call fails
	err   error
	short bool // a failing write writes half of it first
	hits  int
}

func (d *faulty) fails(step, name string) error {
	if step != d.step || !strings.Contains(filepath.Base(name), d.file) {
		return nil
	}
	if d.after > 0 {
		d.after--
		return nil
	}
	d.hits++
	if d.once && d.hits > 1 {
		return nil
	}
	return &fs.PathError{Op: step, Path: name, Err: d.err}
}

func (d *faulty) Open(name string, flag int, perm fs.FileMode) (File, error) {
	if err := d.fails("open", name); err != nil {
		return nil, err
	}
	f, err := d.OS.Open(name, flag, perm)
	if err != nil {
		return nil, err
	}
	return &faultyFile{f, d, name}, nil
}

func (d *faulty) Rename(from, to string) error {
	if err := d.fails("rename", to); err != nil {
		return err
	}
	return d.OS.Rename(from, to)
}

func (d *faulty) Chmod(name string, perm fs.FileMode) error {
	if err := d.fails("chmod", name); err != nil {
		return err
	}
	return d.OS.Chmod(name, perm)
}

func (d *faulty) Mkdir(name string) error {
	if err := d.fails("mkdir", name); err != nil {
		return err
	}
	return d.OS.Mkdir(name)
}

func (d *faulty) SyncDir(name string) error {
	if err := d.fails("syncdir", name); err != nil {
		return err
	}
	return d.OS.SyncDir(name)
}

type faultyFile struct {
	File
	d    *faulty
	name string
}

func (f *faultyFile) Write(b []byte) (int, error) {
	if err := f.d.fails("write", f.name); err != nil {
		n := 0
		if f.d.short {
			n, _ = f.File.Write(b[:len(b)/2])
		}
		return n, err
	}
	return f.File.Write(b)
}

func (f *faultyFile) Sync() error {
	if err := f.d.fails("sync", f.name); err != nil {
		return err
	}
	return f.File.Sync()
}

func (f *faultyFile) Truncate(n int64) error {
	if err := f.d.fails("truncate", f.name); err != nil {
		return err
	}
	return f.File.Truncate(n)
}

func trace(text string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, text); return err }
}

const shortTrace = "t [s],force [N]\n0,0\n0.1,60\n0.2,10\n"

// Whatever step fails while a pull is saved: the error says so, nothing saved
// before is harmed, and the session goes on once the fault is gone.
func TestEveryStepOfASaveMayFail(t *testing.T) {
	for _, c := range []struct {
		name string
		disk faulty
	}{
		{"trace not opened", faulty{step: "open", file: ".part", err: syscall.EROFS}},
		{"disk full in the trace", faulty{step: "write", file: ".part", err: syscall.ENOSPC, short: true}},
		{"trace not synced", faulty{step: "sync", file: ".part", err: syscall.EIO}},
		{"trace not marked", faulty{step: "chmod", file: ".part", err: syscall.EPERM}},
		{"trace not renamed", faulty{step: "rename", file: "0002.csv", err: syscall.EIO}},
		{"traces not synced", faulty{step: "syncdir", file: TraceDir, err: syscall.EIO}},
		{"ledger not opened", faulty{step: "open", file: LedgerFile, err: syscall.EROFS}},
		{"disk full in the ledger", faulty{step: "write", file: LedgerFile, err: syscall.ENOSPC, short: true}},
		{"disk full before the ledger", faulty{step: "write", file: LedgerFile, err: syscall.ENOSPC}},
		{"ledger not synced", faulty{step: "sync", file: LedgerFile, err: syscall.EIO, once: true}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := newStudy(t)
			_, err := f.AppendWithTrace(slipped(1, "10", 10), trace(shortTrace))
			require.NoError(t, err)
			before := snapshot(t, f.Dir())

			f.disk = &c.disk
			_, err = f.AppendWithTrace(slipped(2, "11", 11), trace(shortTrace))
			require.ErrorIs(t, err, c.disk.err)
			require.Positive(t, c.disk.hits)
			assert.Regexp(t, `not saved|not started|trace of pull 2`, err.Error())
			assert.Len(t, f.History(), 1)
			for name, content := range before {
				now, err := os.ReadFile(filepath.Join(f.Dir(), name))
				require.NoError(t, err)
				assert.Equal(t, content, string(now), name)
			}

			f.disk = OS{}
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
	f.disk = &faulty{step: "write", file: LedgerFile, err: syscall.ENOSPC, short: true}
	_, err = j.Save(slipped(1, "", 10))
	require.ErrorIs(t, err, syscall.ENOSPC)
	f.disk = OS{}
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

// When even the repair fails, nothing more is written until the study is
// opened again, and what was torn is then set aside.
func TestLedgerThatCannotBePutBack(t *testing.T) {
	f := newStudy(t)
	_, err := f.Append(slipped(1, "10", 10))
	require.NoError(t, err)
	f.disk = &tornDisk{}
	_, err = f.Append(slipped(2, "11", 11))
	require.ErrorIs(t, err, syscall.ENOSPC)
	f.disk = OS{}
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
type tornDisk struct{ OS }

func (tornDisk) Open(name string, flag int, perm fs.FileMode) (File, error) {
	f, err := OS{}.Open(name, flag, perm)
	return tornFile{f}, err
}

type tornFile struct{ File }

func (f tornFile) Write(b []byte) (int, error) {
	n, _ := f.File.Write(b[:len(b)/2])
	return n, syscall.ENOSPC
}
func (f tornFile) Truncate(int64) error { return syscall.EIO }

// A new study is there whole or is no study: any step may fail.
func TestCreateMayFail(t *testing.T) {
	for _, d := range []faulty{
		{step: "mkdir", err: syscall.EROFS},
		{step: "open", file: LedgerFile, err: syscall.ENOSPC},
		{step: "write", file: LedgerFile, err: syscall.ENOSPC},
		{step: "write", file: SetupFile, err: syscall.ENOSPC, short: true},
		{step: "sync", file: SetupFile, err: syscall.EIO},
		{step: "rename", file: SetupFile, err: syscall.EIO},
	} {
		dir := filepath.Join(t.TempDir(), "blanks")
		_, err := CreateOn(&d, dir, blanks(), "test")
		require.ErrorIs(t, err, d.err, d.step)
		_, err = os.Stat(dir)
		assert.ErrorIs(t, err, fs.ErrNotExist, "nothing is left of it")
		f, err := Create(dir, blanks(), "test")
		require.NoError(t, err)
		require.NoError(t, f.Close())
	}
}
