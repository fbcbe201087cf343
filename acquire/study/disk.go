package study

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"runtime"
)

// File is an open file as the study writes it.
type File interface {
	io.WriteSeeker
	Sync() error
	Truncate(size int64) error
	Close() error
}

// Disk is what a study asks of the file system, small enough to make every
// step fail in a test.
type Disk interface {
	ReadFile(name string) ([]byte, error)
	ReadDir(name string) ([]fs.DirEntry, error)
	Stat(name string) (fs.FileInfo, error)
	// Open opens for writing with the flags of package os.
	Open(name string, flag int, perm fs.FileMode) (File, error)
	Mkdir(name string) error
	Rename(from, to string) error
	Remove(name string) error
	Chmod(name string, perm fs.FileMode) error
	// SyncDir makes renames and new names in a folder durable.
	SyncDir(name string) error
}

// OS is the disk of the machine.
type OS struct{}

// ReadFile reads a whole file.
func (OS) ReadFile(name string) ([]byte, error) { return os.ReadFile(name) }

// ReadDir lists a folder in the order of names.
func (OS) ReadDir(name string) ([]fs.DirEntry, error) { return os.ReadDir(name) }

// Stat describes a file.
func (OS) Stat(name string) (fs.FileInfo, error) { return os.Stat(name) }

// Open opens for writing.
func (OS) Open(name string, flag int, perm fs.FileMode) (File, error) {
	return os.OpenFile(name, flag, perm)
}

// Mkdir makes a folder and those above it; one that exists is no error.
func (OS) Mkdir(name string) error { return os.MkdirAll(name, 0o777) }

// Rename moves a file over another.
func (OS) Rename(from, to string) error { return os.Rename(from, to) }

// Remove deletes a file.
func (OS) Remove(name string) error { return os.Remove(name) }

// Chmod sets the permission bits.
func (OS) Chmod(name string, perm fs.FileMode) error { return os.Chmod(name, perm) }

// SyncDir syncs a folder. Windows cannot, and needs it for no promise it makes.
func (OS) SyncDir(name string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(name)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// writeWhole writes a new file so that it is either there complete or not
// there: temporary name, sync, rename, sync of the folder. An existing file is
// an error.
func writeWhole(d Disk, dir, name string, content []byte) error {
	if _, err := d.Stat(join(dir, name)); err == nil {
		return &fs.PathError{Op: "create", Path: join(dir, name), Err: fs.ErrExist}
	}
	return replaceWhole(d, dir, name, content)
}

// replaceWhole is writeWhole that may take the place of an older file.
func replaceWhole(d Disk, dir, name string, content []byte) error {
	temp := join(dir, name+".tmp")
	f, err := d.Open(temp, os.O_CREATE|os.O_WRONLY|os.O_TRUNC, 0o666)
	if err != nil {
		return err
	}
	_, err = f.Write(content)
	if err == nil {
		err = f.Sync()
	}
	if err := errors.Join(err, f.Close()); err != nil {
		return errors.Join(err, d.Remove(temp))
	}
	if err := d.Rename(temp, join(dir, name)); err != nil {
		return errors.Join(err, d.Remove(temp))
	}
	return d.SyncDir(dir)
}
