// Package calibration turns the counts of a load cell into force: it fits the
// counts that dead weights gave, and says how far the fit can be trusted.
//
// Counts are fitted on force, because the weights are far better known than the
// readings. The straight line is what is used; a parabola only shows how far
// the cell bends away from it. A reading in use is
//
//	F = (counts − tare) / span
//
// with the tare taken before each pull, so the intercept of the fit never
// enters.
package calibration

import (
	"errors"
	"fmt"
	"math"
)

// AirDensity is the density of air in kg/m³ that conventional mass is defined
// with (OIML D 28, from memory).
const AirDensity = 1.2

// ConventionalDensity is the density in kg/m³ that a weight marked with its
// conventional mass may be taken to have (OIML D 28, from memory).
const ConventionalDensity = 8000

// HangingForce is the force in N with which a mass in kg pulls on a cell, in air:
//
//	F = m·g·(1 − ρ_air/ρ_weight)
//
// g is the local acceleration of free fall in m/s², density that of the weight
// in kg/m³; 0 stands for ConventionalDensity, which is right for weights marked
// with their conventional mass. For steel the air takes off 0.015 %. Zero mass
// gives zero. A mass below zero, a g that is not positive, or a density not above
// that of air gives an error. Source: JCGM 101:2008, 9.3, without the reference
// weight.
func HangingForce(mass, g, density float64) (float64, error) {
	if density == 0 {
		density = ConventionalDensity
	}
	switch {
	case !(mass >= 0) || math.IsInf(mass, 0):
		return 0, fmt.Errorf("a mass of %g kg: must be zero or more", mass)
	case !(g > 0) || math.IsInf(g, 0):
		return 0, fmt.Errorf("a gravity of %g m/s²: must be above zero", g)
	case !(density > AirDensity):
		return 0, fmt.Errorf("a density of %g kg/m³: must be above that of air", density)
	}
	return mass * g * (1 - AirDensity/density), nil
}

// Direction says how a load was reached.
type Direction uint8

const (
	// Up: from a smaller load.
	Up Direction = iota
	// Down: from a greater load.
	Down
)

// String gives the word used in files.
func (d Direction) String() string {
	if d == Down {
		return "down"
	}
	return "up"
}

// Point is what one load gave.
type Point struct {
	Force     float64 // N; 0: unloaded
	Counts    float64 // mean of the samples at that load
	Run       int     // 1, 2, ...
	Direction Direction
}

// Result is a calibration.
type Result struct {
	Line      Line      // counts on force
	Span      float64   // counts/N, the slope of the line
	SpanSE    float64   // counts/N, standard uncertainty from the scatter; NaN for two points
	Residuals []float64 // N for each point: (counts − line)/span
	Worst     int       // the point with the largest residual

	Bend          Deviation // parabola against line
	Interpolation Deviation // mean reading of a load against the line through zero
	Repeatability Deviation // between runs, same load and direction
	Hysteresis    Deviation // down against up, same load and run
	ZeroReturn    Deviation // zero after a run against zero before it
	Accuracy      Deviation // mean reading of a load, by the span, against the load
	Class         Class     // of ISO 376
	MachineClass  Class     // of ISO 7500-1
}

// Deviation is the worst case of one property, in percent as its comment in
// Calibrate says. Percent is NaN where the points cannot tell.
type Deviation struct {
	Percent float64
	Force   float64 // N, where it was found
	Run     int     // 0: not of one run
}

// Known tells whether the points could tell.
func (d Deviation) Known() bool { return !math.IsNaN(d.Percent) }

// Calibrate fits points from dead weights and measures what the runs up and
// down show. The deviations are
//
//	Bend           largest |parabola − line| over the loads, in % of the greatest load
//	Interpolation  largest (X̄ − S·F)/(S·F) of a load reached upward, with X̄ the mean
//	               deflection over the runs and S·F their least-squares line through zero
//	Repeatability  largest (X_max − X_min)/X̄ over runs, for a load reached upward
//	Hysteresis     largest |X_down − X_up|/X_up in one run
//	ZeroReturn     largest |zero after − zero before|/X_max in one run
//	Accuracy       largest (X̄/S − F)/F of a load reached upward, with S the span: what a
//	               tared reading of that load is wrong by
//
// where the deflection X is counts less the counts of the unloaded cell at the
// start of the same run. They follow the definitions of ISO 376:2011, clause 7
// (from memory), Accuracy that of q in ISO 7500-1 (Annex C of the edition of 1999), without turning the cell between runs; a deviation that needs
// points that are not there is NaN. Loads count as equal when they agree to
// 0.1 %. Points come in the order in which they were taken.
//
// Errors: fewer than two different loads give ErrTooFew, NaN or infinity
// ErrNotFinite, a load that is negative or a line without slope a plain error.
func Calibrate(points []Point) (Result, error) {
	x, y := make([]float64, len(points)), make([]float64, len(points))
	for i, p := range points {
		x[i], y[i] = p.Force, p.Counts
		if p.Force < 0 {
			return Result{}, fmt.Errorf("point %d: a load of %g N: must be zero or more", i+1, p.Force)
		}
	}
	line, err := FitLine(x, y)
	if err != nil {
		return Result{}, err
	}
	if line.Slope == 0 {
		return Result{}, errors.New("the counts do not change with the load: is the cell connected?")
	}
	r := Result{Line: line, Span: line.Slope, SpanSE: line.SlopeSE, Residuals: make([]float64, len(points))}
	for i, p := range points {
		fitted, _ := line.At(p.Force)
		r.Residuals[i] = (p.Counts - fitted) / line.Slope
		if math.Abs(r.Residuals[i]) > math.Abs(r.Residuals[r.Worst]) {
			r.Worst = i
		}
	}
	r.Bend = bend(line, x, y)
	runs := splitRuns(points)
	r.Interpolation = interpolation(runs)
	r.Repeatability = repeatability(runs)
	r.Hysteresis = hysteresis(runs)
	r.ZeroReturn = zeroReturn(runs)
	r.Accuracy = accuracy(runs, r.Span)
	r.Class, r.MachineClass = r.classify(), r.classifyMachine()
	return r, nil
}

// Uncertainty is the standard uncertainty in N of one tared reading of force F:
//
//	u² = (F·u(S)/S)² + (F·u_w)² + 2·(s/S)²
//
// with S the span, s the residual standard deviation of the calibration, which
// the reading and its tare each carry once, and u_w the relative standard
// uncertainty that all the weights and gravity share (0: neglected). NaN where
// the calibration has only two points. The combination is that of JCGM
// 100:2008, 5.1.2.
func (r Result) Uncertainty(force, weights float64) float64 {
	scatter := r.Line.ResidualSD / r.Span
	span := force * r.SpanSE / r.Span
	shared := force * weights
	return math.Sqrt(span*span + shared*shared + 2*scatter*scatter)
}
