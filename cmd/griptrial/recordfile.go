package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"griptrial/acquire/disk"
)

// recording is a trace on its way to disk: rows go to a .part file as they
// come, and the finished file takes its name when it is whole. Lines that were
// rejected are kept beside it.
type recording struct {
	disk      disk.FS
	out, part string
	header    string // row of column names in the .part file
	f         disk.File
	w         *bufio.Writer
	rows      int64
	flushed   time.Time // last time the rows were handed to the system
	damaged   damagedLines
}

// atRisk is how long a row may wait in memory.
const atRisk = 200 * time.Millisecond

func newRecording(d disk.FS, out, header string, force bool) (*recording, error) {
	r := &recording{disk: d, out: out, part: out + ".part", header: header, damaged: damagedLines{disk: d, name: damagedName(out)}}
	for _, name := range []string{out, r.damaged.name} {
		if _, err := os.Lstat(name); err == nil && !force {
			return nil, fmt.Errorf("%s exists; give another name, or --force to overwrite it", name)
		} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
	}
	mode := os.O_RDWR | os.O_CREATE | os.O_EXCL
	if force {
		mode = os.O_RDWR | os.O_CREATE | os.O_TRUNC
	}
	f, err := d.Open(r.part, mode, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return nil, fmt.Errorf("%s is left from a recording that was cut short: move it away, or --force to overwrite it", r.part)
	}
	if err != nil {
		return nil, err
	}
	r.f, r.w = f, bufio.NewWriter(f)
	if _, err := r.w.WriteString(header); err != nil {
		return nil, errors.Join(err, r.drop())
	}
	return r, nil
}

// add adds one row. Rows are handed to the system at least every atRisk, so
// that they outlive the program.
func (r *recording) add(row []byte, now time.Time) error {
	r.rows++
	_, err := r.w.Write(row)
	if err == nil && now.Sub(r.flushed) > atRisk {
		err = r.w.Flush()
		r.flushed = now
	}
	return r.failed(err)
}

// flush hands the rows to the system, while nothing comes.
func (r *recording) flush() error { return r.failed(errors.Join(r.w.Flush(), r.damaged.flush())) }

// reject keeps a rejected line.
func (r *recording) reject(why string, raw []byte, more bool) error {
	return r.failed(r.damaged.add(r.rows, why, raw, more))
}

// failed says where the rows are when the disk has failed.
func (r *recording) failed(err error) error {
	if err != nil {
		return fmt.Errorf("%w; what could be written is in %s, which is a trace by itself", err, r.part)
	}
	return nil
}

// close leaves everything as it is, after a failure.
func (r *recording) close() {
	_ = r.f.Close()
	if r.damaged.f != nil {
		_ = r.damaged.f.Close()
	}
}

// drop removes what was begun.
func (r *recording) drop() error {
	return errors.Join(r.f.Close(), r.disk.Remove(r.part), r.damaged.drop())
}

// rewind makes the rows readable from the start, after the header.
func (r *recording) rewind() (*bufio.Scanner, error) {
	if err := r.w.Flush(); err != nil {
		return nil, err
	}
	if _, err := r.f.Seek(int64(len(r.header)), io.SeekStart); err != nil {
		return nil, err
	}
	return bufio.NewScanner(r.f), nil
}

// finish writes the whole file under a temporary name, syncs it and gives it
// its own name; then the .part file goes. head is what stands over the rows, and
// each row passes through write, which appends it to dst.
func (r *recording) finish(head []byte, write func(dst []byte, row string) ([]byte, error)) error {
	rows, err := r.rewind()
	if err != nil {
		return r.kept(err)
	}
	temp := r.out + ".tmp"
	f, err := r.disk.Open(temp, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o666)
	if err != nil {
		return r.kept(err)
	}
	if err = copyRows(f, head, rows, write); err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err == nil {
		err = r.damaged.finish()
	}
	if err == nil {
		err = r.disk.Rename(temp, r.out)
	}
	if err != nil {
		return r.kept(errors.Join(err, r.disk.Remove(temp)))
	}
	if err := r.disk.SyncDir(filepath.Dir(r.out)); err != nil {
		return r.kept(err)
	}
	return errors.Join(r.f.Close(), r.disk.Remove(r.part))
}

// kept says where the samples are after a failure.
func (r *recording) kept(err error) error {
	r.close()
	return fmt.Errorf("%w; the samples are kept in %s, which is a trace by itself", err, r.part)
}

func copyRows(to io.Writer, head []byte, rows *bufio.Scanner, write func([]byte, string) ([]byte, error)) error {
	w := bufio.NewWriter(to)
	if _, err := w.Write(head); err != nil {
		return err
	}
	var b []byte
	for rows.Scan() {
		var err error
		if b, err = write(b[:0], rows.Text()); err != nil {
			return err
		}
		if _, err := w.Write(append(b, '\n')); err != nil {
			return err
		}
	}
	return errors.Join(rows.Err(), w.Flush())
}

// asItIs passes a row on.
func asItIs(dst []byte, row string) ([]byte, error) { return append(dst, row...), nil }
