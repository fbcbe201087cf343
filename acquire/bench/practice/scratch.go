package practice

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"time"

	"griptrial/acquire/study"
	"griptrial/analysis/trial"
)

const (
	// scratchName begins the names of the temporary folders.
	scratchName = "griptrial-practice-"
	// leftAfter is the age from which a folder that nobody writes to was left
	// behind by a program that was killed, and is not just being made.
	leftAfter = time.Hour
)

// Scratch makes a study of the same setup and run order in a new temporary
// folder. remove closes it and takes it away. Folders that killed programs have
// left behind are taken away as well.
func Scratch(s trial.Study, now time.Time) (f *study.Folder, remove func() error, err error) {
	sweep(os.TempDir(), now)
	dir, err := os.MkdirTemp("", scratchName)
	if err != nil {
		return nil, nil, err
	}
	f, err = study.Create(filepath.Join(dir, scratchStudy), s, "griptrial bench --practice")
	if err != nil {
		return nil, nil, errors.Join(err, os.RemoveAll(dir))
	}
	remove = func() error { return errors.Join(f.Close(), os.RemoveAll(dir)) }
	if err := f.Draw(s.Plan.Seed); err != nil {
		return nil, nil, errors.Join(err, remove())
	}
	return f, remove, nil
}

// scratchStudy is the one thing in a temporary folder.
const scratchStudy = "study"

// sweep takes away what earlier programs left in a folder for temporary files:
// folders of the right name that hold a study and nothing else, are old, and
// are written to by nobody. What cannot be looked at or taken away stays; it is
// in nobody's way.
func sweep(temp string, now time.Time) {
	entries, err := os.ReadDir(temp)
	if err != nil {
		return
	}
	for _, e := range entries {
		if !e.IsDir() || !strings.HasPrefix(e.Name(), scratchName) { // a link is no folder
			continue
		}
		dir := filepath.Join(temp, e.Name())
		info, err := e.Info()
		if err != nil || now.Sub(info.ModTime()) < leftAfter {
			continue
		}
		inside, err := os.ReadDir(dir)
		if err != nil || len(inside) > 1 || len(inside) == 1 && (!inside[0].IsDir() || inside[0].Name() != scratchStudy) {
			continue
		}
		if len(inside) == 0 || study.Idle(filepath.Join(dir, scratchStudy)) {
			_ = os.RemoveAll(dir)
		}
	}
}
