// Package loadcell turns the counts of a load cell into newtons. It reads and
// writes calibration files (which weights were hung, which counts were read),
// takes the tare, and refuses a calibration that belongs to another cell, gain
// or sample rate.
package loadcell

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"griptrial/analysis/calibration"
)

// Calibration is a calibration file: what was hung and what was read.
type Calibration struct {
	Cell       string  // id of the device, by its fact "id"; "": not stated
	Name       string  // its name, by its fact "name"
	Gain       float64 // by its fact "gain"; 0: not stated
	SPS        float64 // samples a second, by its fact "sps"; 0: not stated
	Date       string  // day of the calibration, as written
	Gravity    float64 // m/s² where the weights hung; 0: standard gravity
	Density    float64 // kg/m³ of the weights; 0: they are marked with conventional mass
	Rated      float64 // N, rated load of the cell; 0: not stated
	WeightsRel float64 // relative standard uncertainty that all the weights share; 0: not stated
	Notes      []Note  // any other comment lines, kept as they are
	Rows       []Row
}

// Note is a comment line "# key: value" that the program has no use for, such
// as the temperature.
type Note struct{ Key, Value string }

// Row is what one load gave.
type Row struct {
	Mass      float64 // kg; used when Force is NaN
	Force     float64 // N, for a load that is known as a force; otherwise NaN
	Counts    float64
	Run       int // 1, 2, ...
	Direction calibration.Direction
}

// Load is the force of the row's load in N.
func (c Calibration) Load(r Row) (float64, error) {
	if !math.IsNaN(r.Force) {
		return r.Force, nil
	}
	return calibration.HangingForce(r.Mass, c.gravity(), c.Density)
}

// gravity is g in m/s²; standard gravity stands in where none was stated.
func (c Calibration) gravity() float64 {
	if c.Gravity == 0 {
		return 9.80665
	}
	return c.Gravity
}

// Points are the rows as the fit takes them, with forces in N.
func (c Calibration) Points() ([]calibration.Point, error) {
	points := make([]calibration.Point, len(c.Rows))
	for i, r := range c.Rows {
		f, err := c.Load(r)
		if err != nil {
			return nil, fmt.Errorf("row %d: %w", i+1, err)
		}
		points[i] = calibration.Point{Force: f, Counts: r.Counts, Run: r.Run, Direction: r.Direction}
	}
	return points, nil
}

// Fit fits the counts on the forces.
func (c Calibration) Fit() (calibration.Result, error) {
	points, err := c.Points()
	if err != nil {
		return calibration.Result{}, err
	}
	return calibration.Calibrate(points)
}

// Mismatch tells that a calibration does not belong to the device at hand.
type Mismatch struct {
	Differences []string
}

func (m *Mismatch) Error() string {
	return "the calibration is not for this device as it is set: " + strings.Join(m.Differences, "; ") +
		"; calibrate again with `griptrial calibrate`"
}

// Check holds the calibration against the facts that the device states. It
// returns a *Mismatch if the id of the cell, its gain or its sample rate
// differs. unverified names what could not be compared because one side does
// not state it.
func (c Calibration) Check(facts map[string]string) (unverified []string, err error) {
	var m Mismatch
	if id, ok := facts["id"]; !ok || c.Cell == "" {
		unverified = append(unverified, "id")
	} else if id != c.Cell {
		m.Differences = append(m.Differences, fmt.Sprintf("it was made for cell %s, this is %s", c.Cell, id))
	}
	number := func(key, what string, have float64) {
		text, ok := facts[key]
		if !ok || have == 0 {
			unverified = append(unverified, key)
			return
		}
		if v, err := strconv.ParseFloat(text, 64); err != nil || v != have {
			m.Differences = append(m.Differences, fmt.Sprintf("it was made at %s %g, the device is at %s", what, have, text))
		}
	}
	if code := facts["code"]; code != "" && code != "twos" {
		m.Differences = append(m.Differences, fmt.Sprintf("the device sends its counts in code %q, which jumps at zero, and not in two's complement", code))
	}
	number("gain", "gain", c.Gain)
	number("sps", "samples a second", c.SPS)
	if len(m.Differences) > 0 {
		return unverified, &m
	}
	return unverified, nil
}

// Identify takes cell, name, gain and rate from the facts of the device that is
// being calibrated. A fact that is not a number where one is needed is left out.
func (c *Calibration) Identify(facts map[string]string) {
	c.Cell, c.Name = facts["id"], facts["name"]
	c.Gain, c.SPS = positive(facts["gain"]), positive(facts["sps"])
}

func positive(s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || !(v > 0) || math.IsInf(v, 0) {
		return 0
	}
	return v
}

// Scale turns counts into newtons.
type Scale struct {
	Span float64 // counts/N
	Tare float64 // counts of the unloaded cell
}

// Newtons is the force in N at a number of counts.
func (s Scale) Newtons(counts float64) float64 { return (counts - s.Tare) / s.Span }

// ErrNoTare tells that there is nothing to take the tare from.
var ErrNoTare = errors.New("no samples to take the tare from")

// Tare is the mean of the counts at rest, with the standard deviation of one
// count; NaN for a single sample. Take it over about a second, unloaded.
func Tare(counts []int32) (mean, sd float64, err error) {
	if len(counts) == 0 {
		return 0, 0, ErrNoTare
	}
	var sum int64 // exact: 24 bits each
	for _, c := range counts {
		sum += int64(c)
	}
	n := float64(len(counts))
	mean = float64(sum) / n
	var ss float64
	for _, c := range counts {
		d := float64(c) - mean
		ss += d * d
	}
	return mean, math.Sqrt(ss / (n - 1)), nil
}
