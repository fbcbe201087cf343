// Package disk writes files so that what was saved survives: whole files appear
// under their name at once or not at all, and are on the disk before anybody is
// told so. It is also the seam at which a test makes any step fail.
package disk

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// File is an open file.
type File interface {
	io.ReadWriteSeeker
	// Sync returns when what was written is on the disk. Where it fails, a later
	// Sync that succeeds says nothing about the bytes from before: the system may
	// have given them up. They must be written again.
	Sync() error
	Truncate(size int64) error
	Close() error
}

// FS is what is asked of a file system, small enough to make every step fail in
// a test.
type FS interface {
	ReadFile(name string) ([]byte, error)
	ReadDir(name string) ([]fs.DirEntry, error)
	Stat(name string) (fs.FileInfo, error)
	// Open opens with the flags of package os.
	Open(name string, flag int, perm fs.FileMode) (File, error)
	Mkdir(name string) error
	// Rename moves a file over another. It is durable after SyncDir of its folder.
	Rename(from, to string) error
	Remove(name string) error
	Chmod(name string, perm fs.FileMode) error
	// SyncDir makes renames and new names in a folder durable.
	SyncDir(name string) error
}

// OS is the file system of the machine.
type OS struct{}

// ReadFile reads a whole file.
func (OS) ReadFile(name string) ([]byte, error) { return os.ReadFile(name) }

// ReadDir lists a folder in the order of names.
func (OS) ReadDir(name string) ([]fs.DirEntry, error) { return os.ReadDir(name) }

// Stat describes a file.
func (OS) Stat(name string) (fs.FileInfo, error) { return os.Stat(name) }

// Open opens a file.
func (OS) Open(name string, flag int, perm fs.FileMode) (File, error) {
	f, err := os.OpenFile(name, flag, perm)
	if err != nil {
		return nil, err
	}
	return f, nil
}

// Mkdir makes a folder and those above it; one that exists is no error.
func (OS) Mkdir(name string) error { return os.MkdirAll(name, 0o777) }

// Rename moves a file over another.
func (OS) Rename(from, to string) error { return rename(from, to) }

// Remove deletes a file.
func (OS) Remove(name string) error { return os.Remove(name) }

// Chmod sets the permission bits.
func (OS) Chmod(name string, perm fs.FileMode) error { return os.Chmod(name, perm) }

// SyncDir syncs a folder.
func (OS) SyncDir(name string) error { return syncDir(name) }

// Create writes a new file that is there whole or not at all: temporary name,
// sync, rename, sync of the folder. An existing file is an error.
func Create(d FS, name string, content []byte) error {
	if _, err := d.Stat(name); err == nil {
		return &fs.PathError{Op: "create", Path: name, Err: fs.ErrExist}
	}
	return Replace(d, name, content)
}

// Replace is Create that may take the place of an older file. After an error the
// older file stands as it was, unless only the last sync failed.
func Replace(d FS, name string, content []byte) error {
	temp := name + ".tmp"
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
	if err := d.Rename(temp, name); err != nil {
		return errors.Join(err, d.Remove(temp))
	}
	return d.SyncDir(filepath.Dir(name))
}
