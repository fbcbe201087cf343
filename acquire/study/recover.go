package study

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"griptrial/acquire/disk"
)

// OpenForWriting opens a study and takes the lock. What an earlier program
// left unfinished is set aside, never dropped, and told by Recovered.
func OpenForWriting(dir, who string) (*Folder, error) { return OpenForWritingOn(disk.OS{}, dir, who) }

// OpenForWritingOn is OpenForWriting on a given disk.
func OpenForWritingOn(d disk.FS, dir, who string) (*Folder, error) {
	if _, err := open(d, dir); err != nil {
		return nil, err
	}
	l, err := lock(dir, who)
	if err != nil {
		return nil, err
	}
	// Read again: another program may have written up to the lock.
	f, err := open(d, dir)
	if err == nil {
		err = f.Sound()
	}
	if err == nil {
		f.lock = l
		err = f.setAside()
	}
	if err != nil {
		return nil, errors.Join(err, l.Unlock())
	}
	return f, nil
}

// setAside moves a torn last row into a file of its own, and traces that were
// never finished to a name that says so.
func (f *Folder) setAside() error {
	if len(f.ledger.torn) > 0 {
		name, err := f.freeName("", "pulls.torn-%d.txt")
		if err != nil {
			return err
		}
		if err := disk.Create(f.disk, join(f.dir, name), f.ledger.torn); err != nil {
			return fmt.Errorf("the torn last row of %s could not be set aside: %w", f.ledger.name, err)
		}
		if err := f.cutLedger(nil); err != nil {
			return fmt.Errorf("the torn last row of %s could not be cut off: %w", f.ledger.name, err)
		}
		f.recovered = append(f.recovered, Problem{File: f.ledger.name, Note: true,
			What: fmt.Sprintf("the last row was cut off while it was written (%d bytes); it was not a saved pull, and is kept in %s", len(f.ledger.torn), name)})
		f.ledger.torn = nil
	}
	if f.ledger.bare {
		if err := f.cutLedger([]byte("\n")); err != nil {
			return fmt.Errorf("the last row of %s lacks its line end: %w", f.ledger.name, err)
		}
		f.ledger.bare = false
	}
	names, err := f.disk.ReadDir(f.path(TraceDir))
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, n := range names {
		stem, ok := strings.CutSuffix(n.Name(), ".csv"+unfinishedAfter)
		if !ok {
			continue
		}
		to, err := f.freeName(TraceDir, stem+".unfinished-%d.csv")
		if err != nil {
			return err
		}
		if err := f.disk.Rename(f.path(TraceDir, n.Name()), f.path(TraceDir, to)); err != nil {
			return err
		}
		f.unfinished = f.path(TraceDir, to)
		f.recovered = append(f.recovered, Problem{File: f.unfinished, Note: true,
			What: "a recording was cut off before its pull was judged; what there is of it is kept here"})
	}
	return f.disk.SyncDir(f.path(TraceDir))
}

// cutLedger ends the ledger where its last whole row ends, and adds more.
func (f *Folder) cutLedger(more []byte) error {
	h, err := f.disk.Open(f.ledger.name, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	err = h.Truncate(f.ledger.end)
	if err == nil {
		_, err = h.Seek(f.ledger.end, io.SeekStart)
	}
	if err == nil {
		_, err = h.Write(more)
	}
	if err == nil {
		err = h.Sync()
	}
	if err == nil {
		f.ledger.end += int64(len(more))
	}
	return errors.Join(err, h.Close())
}

// freeName finds a name that is not taken, from a pattern with one number.
func (f *Folder) freeName(sub, pattern string) (string, error) {
	for i := 1; i < 10000; i++ {
		name := fmt.Sprintf(pattern, i)
		if _, err := f.disk.Stat(f.path(sub, name)); errors.Is(err, os.ErrNotExist) {
			return name, nil
		}
	}
	return "", fmt.Errorf("%s: no free name like %s", f.path(sub), pattern)
}
