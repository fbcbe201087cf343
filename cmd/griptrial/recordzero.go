package main

import (
	"fmt"
	"io"
	"math"
	"time"

	"griptrial/acquire/loadcell"
	"griptrial/analysis"
)

// recordZero is the zero that was taken from the start of a recording.
type recordZero struct {
	Samples int             `json:"samples"`
	Counts  float64         `json:"counts"`
	Scatter analysis.Number `json:"scatter_N"`
	Later   analysis.Number `json:"least_scatter_later_N"` // of the quietest stretch as long; null: there is none
	Moving  bool            `json:"moving"`                // the load moved meanwhile: every force is off
}

// print tells of the zero, and loudly where it is wrong.
func (z *recordZero) print(w io.Writer) {
	if z == nil {
		return
	}
	fmt.Fprintf(w, "zero: mean of the first %d samples, %.1f counts, scatter %.2g N\n", z.Samples, z.Counts, float64(z.Scatter))
	if !z.Moving {
		return
	}
	later := ""
	if l := float64(z.Later); l < float64(z.Scatter)/2 {
		later = fmt.Sprintf(", later only %.2g N", l)
	}
	fmt.Fprintf(w, `WARNING: the load was moving while the zero was taken (scatter %.2g N%s).
WARNING: every force in this file is off by an unknown amount. Record again with
WARNING: the link hanging free, or with --tare "0 s" for the zero of the calibration.
`, float64(z.Scatter), later)
}

const (
	zeroFewest = 8     // samples of which it can be told whether they stand still
	zeroFloor  = 0.001 // of the greatest load: a change that does not matter (common practice, no source)
	zeroLoud   = 4     // times the scatter of the quietest stretch later is not rest (common practice, no source)
)

// scale takes the tare from the start of the recording, and whether the cell
// was at rest in it. Without a tare the zero is nil and that of the calibration
// stands.
func (s *session) scale(tare time.Duration) (*loadcell.Scale, *recordZero, error) {
	fit, err := s.calibration.Fit()
	if err != nil {
		return nil, nil, err
	}
	scale := loadcell.Scale{Span: fit.Span, Tare: fit.Line.Intercept}
	if tare == 0 {
		return &scale, nil, nil
	}
	rest, quietest, err := s.first(tare)
	if err != nil {
		return nil, nil, err
	}
	mean, sd, err := loadcell.Tare(rest)
	if err != nil {
		return nil, nil, err
	}
	scale.Tare = mean
	span := math.Abs(fit.Span)
	zero := recordZero{Samples: len(rest), Counts: mean, Scatter: analysis.Number(sd / span), Later: analysis.Number(quietest / span)}
	if len(rest) >= zeroFewest {
		floor := zeroFloor * greatest(s.calibration) * span
		_, still := loadcell.Still(rest, floor)
		zero.Moving = !still || sd > max(floor, zeroLoud*quietest)
	}
	return &scale, &zero, nil
}

// greatest is the rated load in N, or the greatest that was hung.
func greatest(c *loadcell.Calibration) float64 {
	most := c.Rated
	if most == 0 {
		for _, r := range c.Rows {
			if f, err := c.Load(r); err == nil {
				most = max(most, math.Abs(f))
			}
		}
	}
	return most
}

// first returns the counts of the first stretch of the first segment, and the
// least standard deviation that as many counts in a row have later; NaN where
// there are not so many.
func (s *session) first(stretch time.Duration) (counts []int32, quietest float64, err error) {
	rows, err := s.file.rewind()
	if err != nil {
		return nil, 0, err
	}
	quietest = math.NaN()
	var start, segment int64
	var later []int32
	begun := false // what is later than the stretch
	for rows.Scan() {
		row, err := parseRow(rows.Text())
		if err != nil {
			return nil, 0, fmt.Errorf("%s: %w", s.file.part, err)
		}
		if len(counts) == 0 {
			start = row.micros
		}
		begun = begun || row.segment > 0 || row.micros-start > stretch.Microseconds()
		if !begun {
			counts = append(counts, int32(row.counts))
			continue
		}
		if row.segment != segment {
			segment, later = row.segment, later[:0]
		}
		if later = append(later, int32(row.counts)); len(later) == len(counts) {
			if _, sd, err := loadcell.Tare(later); err == nil && !(sd >= quietest) {
				quietest = sd
			}
			later = later[:0]
		}
	}
	return counts, quietest, rows.Err()
}
