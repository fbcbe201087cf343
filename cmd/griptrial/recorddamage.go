package main

import (
	"bufio"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"

	"griptrial/acquire/disk"
)

// damagedLines keeps the lines that were rejected while recording, as they
// came, in a file that is begun with the first of them and named at the end.
type damagedLines struct {
	disk    disk.FS
	name    string
	f       disk.File // nil: no line was rejected yet
	w       *bufio.Writer
	written int
	begun   bool // a line of which only a part has come
	full    bool
	row     []byte
}

// mostDamage is how many bytes of rejected lines are kept: a line at the wrong
// speed is all noise.
const mostDamage = 16 << 20

// damagedName is the file of rejected lines beside a trace.
func damagedName(out string) string { return out + ".damaged.csv" }

const damagedHead = `# lines that were rejected, as they came; \x0A stands for the byte 0A
after [row],why,raw
`

// add keeps one line, or a part of one. rows is how many samples stand before
// it; more says that more parts of it follow.
func (d *damagedLines) add(rows int64, why string, raw []byte, more bool) error {
	if d.full {
		return nil
	}
	if d.f == nil {
		f, err := d.disk.Open(d.part(), os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o666)
		if err != nil {
			return err
		}
		d.f, d.w = f, bufio.NewWriter(f)
		if _, err := d.w.WriteString(damagedHead); err != nil {
			return err
		}
	}
	b := d.row[:0]
	if !d.begun {
		b = append(strconv.AppendInt(b, rows, 10), `,"`...)
		if more {
			why = "too long" // how it ends is not known yet
		}
		b = append(append(b, why...), `","`...)
	}
	for _, c := range raw {
		if c < ' ' || c > '~' || c == '"' || c == '\\' {
			b = fmt.Appendf(b, `\x%02X`, c)
		} else {
			b = append(b, c)
		}
	}
	if !more {
		b = append(b, "\"\n"...)
	}
	if d.written+len(b) > mostDamage {
		b = b[:0]
		if d.begun {
			b = append(b, "\"\n"...)
		}
		b = fmt.Appendf(b, "# more lines were rejected; only %d MB of them are kept\n", mostDamage>>20)
		d.full = true
	}
	d.begun = more
	d.row = b
	d.written += len(b)
	_, err := d.w.Write(b)
	return err
}

func (d *damagedLines) flush() error {
	if d.f == nil {
		return nil
	}
	return d.w.Flush()
}

// finish makes the file durable and gives it its name. Where no line was
// rejected, a file from an earlier recording goes.
func (d *damagedLines) finish() error {
	if d.f == nil {
		if err := d.disk.Remove(d.name); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		return nil
	}
	err := d.w.Flush()
	if err == nil {
		err = d.f.Sync()
	}
	if err = errors.Join(err, d.f.Close()); err != nil {
		return err
	}
	return d.disk.Rename(d.part(), d.name)
}

func (d *damagedLines) part() string { return d.name + ".part" }

// drop removes the file.
func (d *damagedLines) drop() error {
	if d.f == nil {
		return nil
	}
	return errors.Join(d.f.Close(), d.disk.Remove(d.part()))
}
