package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"griptrial/acquire/disk"
	"griptrial/acquire/loadcell"
	"griptrial/acquire/table"
	"griptrial/acquire/wire"
)

// recording is a trace on its way to disk: rows go to a .part file as they
// come, and the finished file takes its name when it is whole.
type recording struct {
	out, part string
	f         *os.File
	w         *bufio.Writer
	rows      int64
	started   time.Time // wall clock of the first sample
	synced    time.Time // last time the rows were handed to the system
	row       []byte
}

// atRisk is how long a row may wait in memory.
const atRisk = 200 * time.Millisecond

func newRecording(out string, force bool) (*recording, error) {
	if _, err := os.Lstat(out); err == nil && !force {
		return nil, fmt.Errorf("%s exists; give another name, or --force to overwrite it", out)
	} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	r := &recording{out: out, part: out + ".part"}
	mode := os.O_RDWR | os.O_CREATE | os.O_EXCL
	if force {
		mode = os.O_RDWR | os.O_CREATE | os.O_TRUNC
	}
	f, err := os.OpenFile(r.part, mode, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return nil, fmt.Errorf("%s is left from a recording that was cut short: move it away, or --force to overwrite it", r.part)
	}
	if err != nil {
		return nil, err
	}
	r.f, r.w = f, bufio.NewWriter(f)
	if _, err := r.w.WriteString(table.SampleHeader); err != nil {
		return nil, errors.Join(err, r.drop())
	}
	return r, nil
}

// sample adds one row.
func (r *recording) sample(s wire.Sample, now func() time.Time) error {
	if r.rows == 0 {
		r.started = s.Arrival
	}
	r.rows++
	r.row = table.AppendSample(r.row[:0], s.Seq, s.T, int64(s.Counts), int64(s.Segment))
	_, err := r.w.Write(r.row)
	if t := now(); err == nil && t.Sub(r.synced) > atRisk {
		err = r.w.Flush()
		r.synced = t
	}
	if err != nil {
		return fmt.Errorf("%w; what was written is in %s", err, r.part)
	}
	return nil
}

// drop removes the .part file.
func (r *recording) drop() error { return errors.Join(r.f.Close(), os.Remove(r.part)) }

// rewind makes the rows readable from the start, after the header.
func (r *recording) rewind() (*bufio.Scanner, error) {
	if err := r.w.Flush(); err != nil {
		return nil, err
	}
	if _, err := r.f.Seek(int64(len(table.SampleHeader)), io.SeekStart); err != nil {
		return nil, err
	}
	return bufio.NewScanner(r.f), nil
}

// parseRow takes a row of the .part file apart.
func parseRow(text string) (row struct{ micros, counts, segment int64 }, err error) {
	fields := strings.Split(text, ",")
	if len(fields) != 4 {
		return row, fmt.Errorf("row %q has not four fields", text)
	}
	for i, to := range []*int64{&row.micros, &row.counts, &row.segment} {
		if *to, err = strconv.ParseInt(fields[i+1], 10, 64); err != nil {
			return row, err
		}
	}
	return row, nil
}

// first returns the counts of the first stretch of the first segment.
func (r *recording) first(stretch time.Duration) ([]int32, error) {
	rows, err := r.rewind()
	if err != nil {
		return nil, err
	}
	var counts []int32
	var start int64
	for rows.Scan() {
		row, err := parseRow(rows.Text())
		if err != nil {
			return nil, fmt.Errorf("%s: %w", r.part, err)
		}
		if len(counts) == 0 {
			start = row.micros
		}
		if row.segment > 0 || row.micros-start > stretch.Microseconds() {
			break
		}
		counts = append(counts, int32(row.counts))
	}
	return counts, rows.Err()
}

// finish writes the whole file under a temporary name, syncs it and gives it
// its own name; then the .part file goes.
func (r *recording) finish(account wire.Account, scale *loadcell.Scale, calibration string) error {
	rows, err := r.rewind()
	if err != nil {
		return r.kept(err)
	}
	temp, err := os.OpenFile(r.out+".tmp", os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o666)
	if err != nil {
		return r.kept(err)
	}
	err = errors.Join(r.write(temp, rows, account, scale, calibration), temp.Sync())
	if err := errors.Join(err, temp.Close()); err != nil {
		return r.kept(errors.Join(err, os.Remove(temp.Name())))
	}
	if err := os.Rename(temp.Name(), r.out); err != nil {
		return r.kept(errors.Join(err, os.Remove(temp.Name())))
	}
	return errors.Join(disk.OS{}.SyncDir(filepath.Dir(r.out)), r.drop())
}

// kept says where the samples are after a failure.
func (r *recording) kept(err error) error {
	return errors.Join(fmt.Errorf("%w; the samples are kept in %s", err, r.part), r.f.Close())
}

func (r *recording) write(to io.Writer, rows *bufio.Scanner, account wire.Account, scale *loadcell.Scale, calibration string) error {
	w := bufio.NewWriter(to)
	var b []byte
	for _, key := range slices.Sorted(maps.Keys(account.Facts)) {
		b = table.AppendMeta(b, table.Meta{Key: key, Value: account.Facts[key]})
	}
	if !r.started.IsZero() {
		b = table.AppendMeta(b, table.Meta{Key: "started", Value: r.started.UTC().Format(time.RFC3339)})
	}
	for _, m := range []table.Meta{
		{Key: "samples", Value: strconv.FormatInt(account.Samples, 10)},
		{Key: "lost", Value: strconv.FormatInt(account.Lost, 10)},
		{Key: "rejected", Value: strconv.FormatInt(account.Rejected, 10)},
	} {
		b = table.AppendMeta(b, m)
	}
	header := table.SampleHeader
	if scale != nil {
		b = table.AppendMeta(b, table.Meta{Key: "calibration", Value: filepath.Base(calibration)})
		b = table.AppendMeta(b, table.Meta{Key: "span", Value: strconv.FormatFloat(scale.Span, 'g', -1, 64) + " counts/N"})
		b = table.AppendMeta(b, table.Meta{Key: "tare", Value: strconv.FormatFloat(scale.Tare, 'g', -1, 64) + " counts"})
		header = header[:len(header)-1] + ",force [N]\n"
	}
	b = append(b, header...)
	if _, err := w.Write(b); err != nil {
		return err
	}
	for rows.Scan() {
		b = append(b[:0], rows.Bytes()...)
		if scale != nil {
			row, err := parseRow(rows.Text())
			if err != nil {
				return err
			}
			b = append(b, ',')
			b = strconv.AppendFloat(b, scale.Newtons(float64(row.counts)), 'g', 9, 64)
		}
		b = append(b, '\n')
		if _, err := w.Write(b); err != nil {
			return err
		}
	}
	return errors.Join(rows.Err(), w.Flush())
}
