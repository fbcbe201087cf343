package acquiretest

import (
	"errors"
	"io/fs"
	"path/filepath"
	"strings"
	"sync"

	"griptrial/acquire/disk"
)

// Disk is the machine's file system on which one kind of step fails.
type Disk struct {
	disk.OS
	Step  string // open, write, sync, truncate, rename, remove, chmod, syncdir or mkdir
	File  string // part of the name to fail on; "": any
	After int    // calls that still succeed
	Times int    // calls that fail; 0: all
	Err   error  // why, as syscall.ENOSPC
	Short bool   // a failing write writes half of it first
	Lose  bool   // a failing sync loses what was written through that file before it

	mu     sync.Mutex
	passed int
	hits   int
	mended bool
	synced []string
}

// Mend ends the fault: there is space again.
func (d *Disk) Mend() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.mended = true
}

// Hits is how many calls have failed.
func (d *Disk) Hits() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.hits
}

// Syncs is how many syncs of files whose name holds part have succeeded.
func (d *Disk) Syncs(part string) int {
	d.mu.Lock()
	defer d.mu.Unlock()
	n := 0
	for _, name := range d.synced {
		if strings.Contains(filepath.Base(name), part) {
			n++
		}
	}
	return n
}

// fails decides about one call; nil: it may go on.
func (d *Disk) fails(step, name string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.mended || step != d.Step || !strings.Contains(filepath.Base(name), d.File) {
		return nil
	}
	if d.passed++; d.passed <= d.After || d.Times > 0 && d.hits == d.Times {
		return nil
	}
	d.hits++
	return &fs.PathError{Op: step, Path: name, Err: d.Err}
}

// Open opens a file whose steps may fail.
func (d *Disk) Open(name string, flag int, perm fs.FileMode) (disk.File, error) {
	if err := d.fails("open", name); err != nil {
		return nil, err
	}
	f, err := d.OS.Open(name, flag, perm)
	if err != nil {
		return nil, err
	}
	info, err := d.Stat(name)
	if err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return &faultyFile{f, d, name, info.Size()}, nil
}

// Rename moves a file over another, or fails.
func (d *Disk) Rename(from, to string) error {
	if err := d.fails("rename", to); err != nil {
		return err
	}
	return d.OS.Rename(from, to)
}

// Remove deletes a file, or fails.
func (d *Disk) Remove(name string) error {
	if err := d.fails("remove", name); err != nil {
		return err
	}
	return d.OS.Remove(name)
}

// Chmod sets the permission bits, or fails.
func (d *Disk) Chmod(name string, perm fs.FileMode) error {
	if err := d.fails("chmod", name); err != nil {
		return err
	}
	return d.OS.Chmod(name, perm)
}

// Mkdir makes a folder, or fails.
func (d *Disk) Mkdir(name string) error {
	if err := d.fails("mkdir", name); err != nil {
		return err
	}
	return d.OS.Mkdir(name)
}

// SyncDir syncs a folder, or fails.
func (d *Disk) SyncDir(name string) error {
	if err := d.fails("syncdir", name); err != nil {
		return err
	}
	return d.OS.SyncDir(name)
}

type faultyFile struct {
	disk.File
	disk  *Disk
	name  string
	sound int64 // bytes that were there, or were synced
}

func (f *faultyFile) Write(b []byte) (int, error) {
	if err := f.disk.fails("write", f.name); err != nil {
		n := 0
		if f.disk.Short {
			n, _ = f.File.Write(b[:len(b)/2])
		}
		return n, err
	}
	return f.File.Write(b)
}

func (f *faultyFile) Sync() error {
	if err := f.disk.fails("sync", f.name); err != nil {
		if f.disk.Lose {
			err = errors.Join(err, f.File.Truncate(f.sound))
		}
		return err
	}
	f.disk.mu.Lock()
	f.disk.synced = append(f.disk.synced, f.name)
	f.disk.mu.Unlock()
	info, err := f.disk.Stat(f.name)
	if err == nil {
		f.sound = info.Size()
	}
	return errors.Join(err, f.File.Sync())
}

func (f *faultyFile) Truncate(size int64) error {
	if err := f.disk.fails("truncate", f.name); err != nil {
		return err
	}
	return f.File.Truncate(size)
}
