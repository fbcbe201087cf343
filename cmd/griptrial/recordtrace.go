package main

import (
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"griptrial/acquire/loadcell"
	"griptrial/acquire/table"
	"griptrial/acquire/wire"
)

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

// finish writes OUT.csv from what was recorded.
func (s *session) finish(account wire.Account, scale *loadcell.Scale, zero *recordZero, calibrationFile string) error {
	if s.mismatch != nil {
		// The pull cannot be repeated: what was converted is kept.
		err := s.write(account, nil, nil, "")
		if err == nil {
			err = fmt.Errorf("%w. The counts are saved in %s, without forces", s.mismatch, s.file.out)
		}
		return err
	}
	return s.write(account, scale, zero, calibrationFile)
}

// write writes OUT.csv: what the device says of itself and what became of its
// lines, then the samples, with forces where there is a scale.
func (s *session) write(account wire.Account, scale *loadcell.Scale, zero *recordZero, calibration string) error {
	var b []byte
	for _, key := range slices.Sorted(maps.Keys(account.Facts)) {
		b = table.AppendMeta(b, table.Meta{Key: key, Value: account.Facts[key]})
	}
	if !s.started.IsZero() {
		b = table.AppendMeta(b, table.Meta{Key: "started", Value: s.started.UTC().Format(time.RFC3339)})
	}
	for _, m := range []table.Meta{
		{Key: "samples", Value: strconv.FormatInt(account.Samples, 10)},
		{Key: "lost", Value: strconv.FormatInt(account.Lost, 10)},
		{Key: "rejected", Value: strconv.FormatInt(account.Rejected, 10)},
	} {
		b = table.AppendMeta(b, m)
	}
	if account.Rejected > 0 {
		b = table.AppendMeta(b, table.Meta{Key: "rejected lines", Value: filepath.Base(s.file.damaged.name)})
	}
	if scale == nil {
		return s.file.finish(append(b, table.SampleHeader...), asItIs)
	}
	b = table.AppendMeta(b, table.Meta{Key: "calibration", Value: filepath.Base(calibration)})
	b = table.AppendMeta(b, table.Meta{Key: "span", Value: strconv.FormatFloat(scale.Span, 'g', -1, 64) + " counts/N"})
	b = table.AppendMeta(b, table.Meta{Key: "tare", Value: strconv.FormatFloat(scale.Tare, 'g', -1, 64) + " counts"})
	if zero != nil && zero.Moving {
		b = table.AppendMeta(b, table.Meta{Key: "zero", Value: "taken while the load was moving; every force is off by an unknown amount"})
	}
	b = append(b, strings.TrimSuffix(table.SampleHeader, "\n")...)
	return s.file.finish(append(b, ",force [N]\n"...), func(dst []byte, text string) ([]byte, error) {
		row, err := parseRow(text)
		if err != nil {
			return dst, err
		}
		dst = append(append(dst, text...), ',')
		return strconv.AppendFloat(dst, scale.Newtons(float64(row.counts)), 'g', 9, 64), nil
	})
}
