package study

import (
	"bytes"
	"fmt"
	"unicode/utf8"

	"griptrial/acquire/disk"
)

// What a person or the program writes is far below these; a file beyond them
// is some other file under the name, and is refused before it fills the memory.
const (
	maxSetup = 1 << 20  // bytes of study.toml
	maxTable = 64 << 20 // bytes of plan.csv and pulls.csv
	maxLine  = 64 << 10 // bytes of a line
)

// readFile reads a file of at most limit bytes.
func readFile(d disk.FS, name string, limit int64) ([]byte, error) {
	info, err := d.Stat(name)
	if err != nil {
		return nil, err
	}
	if info.Size() > limit {
		return nil, fmt.Errorf("%s:1: the file has %d bytes, and at most %d are read; another file stands under this name: put the right one back", name, info.Size(), limit)
	}
	return d.ReadFile(name)
}

// readText reads a text file, and refuses what is none.
func readText(d disk.FS, name string, limit int64) ([]byte, error) {
	b, err := readFile(d, name, limit)
	if err != nil {
		return nil, err
	}
	line := 1
	for rest := b; len(rest) > 0; line++ {
		end := bytes.IndexByte(rest, '\n') + 1
		if end == 0 {
			end = len(rest)
		}
		switch text := rest[:end]; {
		case end > maxLine:
			return nil, fmt.Errorf("%s:%d: the line has %d bytes, and at most %d are read", name, line, end, maxLine)
		case bytes.IndexByte(text, 0) >= 0 || !utf8.Valid(text):
			return nil, fmt.Errorf("%s:%d: this is not text in UTF-8: put the right file back, or save it as UTF-8", name, line)
		}
		rest = rest[end:]
	}
	return b, nil
}
