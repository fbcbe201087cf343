package study

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"os"

	"griptrial/acquire/disk"
)

// Journal is a trace that is being recorded. What is written to it is handed
// to the operating system at once, so that it outlives the program.
type Journal struct {
	f       *Folder
	pull    int
	file    disk.File // nil: closed
	hash    hash.Hash
	doubt   bool // a sync failed: what was written before it may be lost
	renamed bool // the trace stands under its final name
	saved   bool // and will stand there whatever happens
	marked  Move // the move of the slip point that is noted
}

// Begin starts the trace of the next pull.
func (f *Folder) Begin() (*Journal, error) {
	if err := f.writable(); err != nil {
		return nil, err
	}
	if err := f.disk.Mkdir(f.path(TraceDir)); err != nil {
		return nil, fmt.Errorf("trace not started: %w", err)
	}
	pull, err := f.nextPull()
	if err != nil {
		return nil, fmt.Errorf("trace not started: %w", err)
	}
	j := &Journal{f: f, pull: pull, hash: sha256.New()}
	j.file, err = f.disk.Open(j.part(), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666)
	if err != nil {
		return nil, fmt.Errorf("trace not started: %w", err)
	}
	return j, nil
}

func (j *Journal) part() string { return j.f.path(TraceDir, traceName(j.pull)+unfinishedAfter) }

// Pull is the number that the pull will have.
func (j *Journal) Pull() int { return j.pull }

// Write adds to the trace.
func (j *Journal) Write(b []byte) (int, error) {
	if j.file == nil {
		return 0, fmt.Errorf("trace of pull %d: it is finished already", j.pull)
	}
	n, err := j.file.Write(b)
	j.hash.Write(b[:n])
	if err != nil {
		return n, fmt.Errorf("trace of pull %d: %w", j.pull, err)
	}
	return n, nil
}

// Save finishes the trace, notes where a person moved the slip point, and then
// appends the pull's row: a row never lacks what belongs to it. After an error it
// may be called again, when there is space, say.
func (j *Journal) Save(e Entry) (pull int, err error) {
	if err := j.f.writable(); err != nil {
		return 0, err
	}
	r, err := j.f.row(e)
	if err != nil {
		return 0, err
	}
	if !j.saved {
		if err := j.finish(); err != nil {
			return 0, fmt.Errorf("pull not saved: %w", err)
		}
	}
	if e.Moved != nil && *e.Moved != j.marked {
		if err := j.f.Note(Fact{Time: e.Time, What: Moved, Pull: j.pull, Tool: e.Moved.Tool, Person: e.Moved.Person}); err != nil {
			return 0, fmt.Errorf("pull not saved: %w", err)
		}
		j.marked = *e.Moved
	}
	r.Pull, r.Trace, r.SHA256 = j.pull, traceName(j.pull), hex.EncodeToString(j.hash.Sum(nil))
	return r.Pull, j.f.appendRow(r)
}

// finish makes the trace durable, read-only and named. After an error it goes on
// where it failed.
func (j *Journal) finish() error {
	d := j.f.disk
	if j.doubt {
		if err := j.again(); err != nil {
			return err
		}
	}
	if j.file != nil {
		err := j.file.Sync()
		if j.doubt = err != nil; err != nil {
			return err
		}
		file := j.file
		j.file = nil
		err = file.Close()
		if j.doubt = err != nil; err != nil {
			return err
		}
	}
	if !j.renamed {
		if err := d.Chmod(j.part(), 0o444); err != nil {
			return err
		}
		if err := d.Rename(j.part(), j.f.path(TraceDir, traceName(j.pull))); err != nil {
			return err
		}
		j.renamed = true
	}
	if err := d.SyncDir(j.f.path(TraceDir)); err != nil {
		return err
	}
	j.saved = true
	return nil
}

// again writes the trace anew after a sync that failed. The system may then have
// given up what it could not write, so that a second sync would succeed and mean
// nothing; what can still be read is held against what was written.
func (j *Journal) again() error {
	b, err := j.f.disk.ReadFile(j.part())
	if err != nil {
		return err
	}
	if sum := sha256.Sum256(b); !bytes.Equal(sum[:], j.hash.Sum(nil)) {
		return fmt.Errorf("%s: what was recorded is no longer whole on this disk; copy the file and look at the disk", j.part())
	}
	if j.file != nil {
		_ = j.file.Close() // what it says of bytes that are written again does not matter
		j.file = nil
	}
	if err := disk.Replace(j.f.disk, j.part(), b); err != nil {
		return err
	}
	j.doubt = false
	return nil
}

// Drop gives the trace up, before it was saved.
func (j *Journal) Drop() error {
	if j.file == nil {
		return nil
	}
	file := j.file
	j.file = nil
	return errors.Join(file.Close(), j.f.disk.Remove(j.part()))
}
