package main

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"

	"griptrial/acquire/loadcell"
	"griptrial/acquire/study"
	"griptrial/analysis/calibration"
	"griptrial/analysis/trial"
	"griptrial/report"
)

// calibrated is the calibration of a study's load cell.
type calibrated struct {
	file loadcell.Calibration
	fit  calibration.Result
}

// calibrationOf reads the study's calibration; nil where it has none.
func calibrationOf(folder *study.Folder) (*calibrated, error) {
	name := folder.Setup().Scale.Calibration
	if name == "" {
		return nil, nil
	}
	path := filepath.Join(folder.Dir(), study.CalibrationDir, name)
	file, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil // traces that need it say so
	}
	if err != nil {
		return nil, err
	}
	defer file.Close()
	c, err := loadcell.Read(path, file)
	if err != nil {
		return nil, err
	}
	fit, err := c.Fit()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return &calibrated{c, fit}, nil
}

// state gives the scale the relative standard uncertainty of its forces, unless
// study.toml states one: that of the span, with what all the weights share.
// Where the points cannot tell, it stays unknown.
func (c *calibrated) state(s *trial.Scale) {
	if u := math.Hypot(c.fit.SpanSE/c.fit.Span, c.file.WeightsRel); s.U == 0 && !math.IsNaN(u) {
		s.U = u
	}
}

// facts is what a report says of the calibration.
func (c *calibrated) facts(name string) *report.Calibration {
	r := c.fit
	out := &report.Calibration{
		File: study.CalibrationDir + "/" + name, Cell: c.file.Cell, Date: c.file.Date, Points: len(c.file.Rows), Greatest: r.Line.MaxX,
		SpanU: math.Abs(r.SpanSE / r.Span), WeightsU: c.file.WeightsRel, ReadingU: r.Uncertainty(r.Line.MaxX, c.file.WeightsRel),
	}
	if c.file.Name != "" {
		out.Cell += " (" + c.file.Name + ")"
	}
	switch r.Class {
	case calibration.NoClass:
	case calibration.ClassNone:
		out.Class = "beyond the limits of every class"
	default:
		out.Class = fmt.Sprintf("within the limits of class %s (an indication, not a certificate)", r.Class)
	}
	for _, d := range []struct {
		name string
		calibration.Deviation
	}{{"bend", r.Bend}, {"interpolation", r.Interpolation}, {"repeatability", r.Repeatability}, {"hysteresis", r.Hysteresis}, {"return to zero", r.ZeroReturn}} {
		if d.Known() {
			out.Deviations = append(out.Deviations, [2]string{d.name, report.Short(d.Percent, 2) + " %"})
		}
	}
	for _, n := range c.file.Notes {
		out.Notes = append(out.Notes, [2]string{n.Key, n.Value})
	}
	return out
}
