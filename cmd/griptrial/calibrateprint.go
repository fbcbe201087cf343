package main

import (
	"fmt"
	"io"
	"math"

	"griptrial/acquire/loadcell"
	"griptrial/analysis"
	"griptrial/analysis/calibration"
)

// calibrationJSON is what `calibrate --json` prints.
type calibrationJSON struct {
	Cell          string                 `json:"cell"`
	Span          analysis.Number        `json:"span_counts_per_N"`
	SpanU         analysis.Number        `json:"span_standard_uncertainty"`
	Intercept     analysis.Number        `json:"intercept_counts"`
	ResidualSD    analysis.Number        `json:"residual_sd_N"`
	DF            int                    `json:"df"`
	R2            analysis.Number        `json:"r_squared"`
	Greatest      analysis.Number        `json:"greatest_load_N"`
	ReadingU      analysis.Number        `json:"reading_standard_uncertainty_N"` // at the greatest load
	Bend          analysis.Number        `json:"bend_percent"`
	Interpolation analysis.Number        `json:"interpolation_percent"`
	Repeatability analysis.Number        `json:"repeatability_percent"`
	Hysteresis    analysis.Number        `json:"hysteresis_percent"`
	ZeroReturn    analysis.Number        `json:"zero_return_percent"`
	Accuracy      analysis.Number        `json:"accuracy_percent"`
	Class         calibration.Class      `json:"iso_376_class_indication"`
	MachineClass  calibration.Class      `json:"iso_7500_1_class_indication"`
	Points        []calibrationPointJSON `json:"points"`
}

type calibrationPointJSON struct {
	Force     analysis.Number `json:"force_N"`
	Counts    analysis.Number `json:"counts"`
	Residual  analysis.Number `json:"residual_N"`
	Run       int             `json:"run"`
	Direction string          `json:"direction"`
}

func printCalibration(a *app, asJSON bool, c loadcell.Calibration, r calibration.Result) error {
	out := calibrationJSON{
		Cell: c.Cell, Span: analysis.Number(r.Span), SpanU: analysis.Number(r.SpanSE),
		Intercept: analysis.Number(r.Line.Intercept), ResidualSD: analysis.Number(r.Line.ResidualSD / math.Abs(r.Span)),
		DF: r.Line.DF, R2: analysis.Number(r.Line.R2), Greatest: analysis.Number(r.Line.MaxX),
		ReadingU: analysis.Number(r.Uncertainty(r.Line.MaxX, c.WeightsRel)),
		Bend:     analysis.Number(r.Bend.Percent), Interpolation: analysis.Number(r.Interpolation.Percent),
		Repeatability: analysis.Number(r.Repeatability.Percent), Hysteresis: analysis.Number(r.Hysteresis.Percent),
		ZeroReturn: analysis.Number(r.ZeroReturn.Percent), Accuracy: analysis.Number(r.Accuracy.Percent), Class: r.Class, MachineClass: r.MachineClass,
	}
	for i, row := range c.Rows {
		force, err := c.Load(row)
		if err != nil {
			return err
		}
		out.Points = append(out.Points, calibrationPointJSON{analysis.Number(force), analysis.Number(row.Counts),
			analysis.Number(r.Residuals[i]), row.Run, row.Direction.String()})
	}
	if asJSON {
		return printJSON(a.stdout, out)
	}
	return printCalibrationTable(a, c, r, out)
}

func printCalibrationTable(a *app, c loadcell.Calibration, r calibration.Result, out calibrationJSON) error {
	t := textTable{columns: []textColumn{{head: "run", right: true}, {head: "load [N]", right: true}, {head: "counts", right: true}, {head: "residual [N]", right: true}, {head: "direction"}}}
	for i, p := range out.Points {
		mark := ""
		if i == r.Worst && r.Line.DF > 0 {
			mark = " *"
		}
		t.add(fmt.Sprint(p.Run), fmt.Sprintf("%.4f", float64(p.Force)), fmt.Sprintf("%.1f", float64(p.Counts)), fmt.Sprintf("%+.4f", float64(p.Residual)), p.Direction+mark)
	}
	if _, err := io.WriteString(a.stdout, t.text(lookOf(a.stdout), 0)); err != nil {
		return err
	}
	if r.Line.DF < 1 {
		fmt.Fprintf(a.stdout, "\nspan   %.7g counts/N, from two points: a wrong weight would not show; hang more\n", r.Span)
	} else {
		fmt.Fprintf(a.stdout, "\nspan   %.7g counts/N, standard uncertainty %.2g (%.2g %%)\n", r.Span, r.SpanSE, 100*math.Abs(r.SpanSE/r.Span))
		fmt.Fprintf(a.stdout, "scatter about the line %.2g N; a reading of %.4g N has a standard uncertainty of %.2g N\n",
			float64(out.ResidualSD), r.Line.MaxX, float64(out.ReadingU))
		fmt.Fprintln(a.stdout, "* the largest residual: look at that weight first")
	}
	for _, d := range []struct {
		name string
		calibration.Deviation
		missing string
	}{
		{"bend of the cell", r.Bend, "three loads or more"},
		{"interpolation", r.Interpolation, "a zero and two loads, upward"},
		{"repeatability", r.Repeatability, "two runs, each with a zero"},
		{"hysteresis", r.Hysteresis, "loads both up and down"},
		{"return to zero", r.ZeroReturn, "a zero before and after the loads"},
		{"error of a load", r.Accuracy, "a zero and a load, upward"},
	} {
		if d.Known() {
			fmt.Fprintf(a.stdout, "%-17s %7.3f %%\n", d.name, d.Percent)
		} else {
			fmt.Fprintf(a.stdout, "%-17s unknown: needs %s\n", d.name, d.missing)
		}
	}
	for _, s := range []struct {
		class    calibration.Class
		standard string
	}{{r.Class, "ISO 376, for the cell by itself"}, {r.MachineClass, "ISO 7500-1, for the rig as a testing machine"}} {
		switch s.class {
		case calibration.NoClass:
		case calibration.ClassNone:
			fmt.Fprintf(a.stdout, "beyond the limits of every class of %s\n", s.standard)
		default:
			fmt.Fprintf(a.stdout, "within the limits of class %s of %s (an indication, not a certificate)\n", s.class, s.standard)
		}
	}
	if c.Gravity == 0 && math.IsNaN(c.Rows[0].Force) {
		fmt.Fprintln(a.stderr, "warning: standard gravity was used; with --latitude the force of a weight is up to 0.27 % better")
	}
	return nil
}
