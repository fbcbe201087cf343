package loadcell

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"

	"griptrial/analysis/calibration"
	"griptrial/analysis/unit"
)

// DriftLimit is the relative drift of a known weight beyond which nothing may be
// pulled before the cell is calibrated again (common practice, no source).
const DriftLimit = 0.005

// Weighing is what a known weight reads on a calibrated cell: the check before
// each series of pulls, and once a day.
type Weighing struct {
	Hung  string  // what hangs, as typed: "2 kg"
	Force float64 // N, with which it pulls
	Read  float64 // N, what the cell reads; without a sign, however it is wired
	U     float64 // N, standard uncertainty of Read from the scatter of the samples; 0: not known
	Span  float64 // counts/N, of the calibration that was checked
}

// Drift is Read/Force - 1: how far the cell reads the weight too high.
func (w Weighing) Drift() float64 { return w.Read/w.Force - 1 }

// Off tells that the drift is beyond DriftLimit: the session stops here.
func (w Weighing) Off() bool { return math.Abs(w.Drift()) > DriftLimit }

// ErrLight is wrapped by the error of Weigh for a weight that is too light for
// the scatter of the cell.
var ErrLight = errors.New("the weight is too light for the scatter of this cell")

// ErrNotHung is wrapped by the error of Weigh where the cell reads something
// else altogether: no drift does that.
var ErrNotHung = errors.New("that is not the weight")

// Weigh compares a known weight, "2 kg" or "20 N", with what the cell reads.
// Read is the difference of two means over |span|, and U that of its standard
// errors,
//
//	read = |mean(loaded) - mean(empty)| / |span|
//	u    = √(s²(loaded)/n + s²(empty)/m) / |span|
//
// with the counts taken as independent. The force of a mass is that of the
// calibration's gravity and density.
//
// A reading of less than half or more than twice the force gives ErrNotHung.
// One whose uncertainty is more than a fifth of DriftLimit gives ErrLight:
// its drift would say nothing. Errors also for a load that is not above zero and
// for less than two samples of either kind.
func (c Calibration) Weigh(hung string, empty, loaded []int32) (Weighing, error) {
	force, err := c.known(hung)
	if err != nil {
		return Weighing{}, err
	}
	fit, err := c.Fit()
	if err != nil {
		return Weighing{}, err
	}
	if len(empty) < 2 || len(loaded) < 2 {
		return Weighing{}, ErrNoTare
	}
	zero, sd0, err := Tare(empty)
	if err != nil {
		return Weighing{}, err
	}
	mean, sd, err := Tare(loaded)
	if err != nil {
		return Weighing{}, err
	}
	w := Weighing{Hung: hung, Force: force, Span: fit.Span, Read: math.Abs((mean - zero) / fit.Span),
		U: math.Sqrt(sd0*sd0/float64(len(empty))+sd*sd/float64(len(loaded))) / math.Abs(fit.Span)}
	if w.Read < force/2 || w.Read > 2*force {
		return w, fmt.Errorf("%s should read %.4g N and reads %.4g N: %w; does it hang, and by itself, and is it %s?", hung, w.Force, w.Read, ErrNotHung, hung)
	}
	if w.U > DriftLimit/5*force {
		return w, fmt.Errorf("%s reads %.4g N and is sure to ±%.2g N only: %w; hang a heavier one, or let it come to rest", hung, w.Read, w.U, ErrLight)
	}
	return w, nil
}

// known is the force of a weight as typed.
func (c Calibration) known(hung string) (float64, error) {
	mass, _, massErr := unit.Parse(unit.Mass, hung)
	if massErr == nil {
		force, err := calibration.HangingForce(mass, c.gravity(), c.Density)
		if err == nil && !(force > 0) {
			err = fmt.Errorf("%q: a known weight is above zero", hung)
		}
		return force, err
	}
	force, _, err := unit.Parse(unit.Force, hung)
	if err != nil {
		return 0, fmt.Errorf("%w; write what hangs like \"2 kg\"", massErr)
	}
	if !(force > 0) {
		return 0, fmt.Errorf("%q: a known force is above zero", hung)
	}
	return force, nil
}

// String is the weighing as a study keeps it, and as ParseWeighing reads it.
func (w Weighing) String() string {
	return fmt.Sprintf("%s hung: %.6g N read, %.6g N expected (%+.2f %%), span %.8g counts/N", w.Hung, w.Read, w.Force, 100*w.Drift(), w.Span)
}

// Text is the weighing for a person, with forces in the given unit.
func (w Weighing) Text(u unit.Unit) string {
	return fmt.Sprintf("%s hung: %s read, %s expected (%+.2f %%)", w.Hung, u.Format(w.Read, 5), u.Format(w.Force, 5), 100*w.Drift())
}

var weighing = regexp.MustCompile(`^(.+) hung: (\S+) N read, (\S+) N expected \(\S+ %\), span (\S+) counts/N$`)

// ParseWeighing reads what String wrote, but for U; ok is false for any other
// text.
func ParseWeighing(text string) (w Weighing, ok bool) {
	m := weighing.FindStringSubmatch(text)
	if m == nil {
		return Weighing{}, false
	}
	w.Hung = m[1]
	for i, to := range []*float64{&w.Read, &w.Force, &w.Span} {
		v, err := strconv.ParseFloat(m[i+2], 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || v == 0 {
			return Weighing{}, false
		}
		*to = v
	}
	return w, true
}

// Of tells whether a weighing checked this calibration, and not one before or
// after it.
func (w Weighing) Of(c Calibration) bool {
	fit, err := c.Fit()
	return err == nil && math.Abs(w.Span/fit.Span-1) < 1e-6
}
