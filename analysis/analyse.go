package analysis

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"griptrial/analysis/fit"
	"griptrial/analysis/trial"
)

// ErrNoPulls says that there is nothing to analyse yet.
var ErrNoPulls = errors.New("there are no pulls to analyse")

// work is an analysis in progress: what was asked, the rows that tell
// something, and the results so far.
type work struct {
	readings []trial.Reading
	study    trial.Study
	o        Options
	res      Results

	facings []string // in the order of the results
	index   map[string]int
	control int
	scale   scale
	rows    []row // slipped and held pulls, in the order of the data
	exact   [][]float64
	slipped []int // of each facing
	held    []int

	bounded       bool // some row is held or read to a division
	sampled       bool // samples are told apart and carry several pulls
	model         *fit.Fitted
	separate      *fit.Fitted // each facing with its own spread; nil: the common one
	separatePairs *fit.Fitted // the same, for pairs
	inModel       []int       // place of each facing in the model; -1: not in it
	blocks        []string
	used          []row // rows of the model
	method        string

	alone    *fit.Fitted // fitApart's answer, once it was asked
	aloneErr error
}

// row is one pull as the models see it, on the log scale of the quantity.
type row struct {
	at           int // in readings
	facing       int
	lower, upper float64 // log value; equal: exact; upper +Inf: held
	squeeze      float64 // N or kg that the force was divided by; NaN: none
	block        string
	sample       string // unique over facings; "": not recorded
}

// exact reports whether the row is a single value.
func (r row) exact() bool { return r.lower == r.upper }

// held reports whether the row is only a lower bound.
func (r row) held() bool { return math.IsInf(r.upper, 1) }

// Analyse says which facing holds best, how sure that is, and what it means
// for the clamp, from the pulls of one or more studies.
//
// readings are the pulls in the order of the data; unclear ones are left out.
// s describes the rig and may be the zero value where there is none: then the
// first facing in the data is the control, two faces rub, and the pull is
// straight. Results are in the order of s.Facings, or of first appearance.
//
// What the data cannot tell is unknown (null in JSON) and a warning says why
// and what to add. An error means that the question itself is wrong: no pulls,
// an unknown control, a confidence outside 0 to 1, a force that is no number,
// a way of pulling that cannot be.
//
// Methods: ordinary least squares on the log value; REML where samples carry
// several pulls; maximum likelihood where pulls were held or read to a
// division (see package fit); Dunnett, Tukey-Kramer and Games-Howell intervals
// (see package compare).
func Analyse(readings []trial.Reading, s trial.Study, o Options) (Results, error) {
	w := &work{readings: readings, study: s, o: o}
	for _, stage := range stages {
		if err := stage(w); err != nil {
			return Results{}, err
		}
		if o.Step != nil {
			o.Step()
		}
	}
	return w.res, nil
}

// stages are the steps of an analysis, in their order: each rests on those
// before it.
var stages = []func(*work) error{
	(*work).ask, (*work).gather,
	always((*work).fitModel), always((*work).chooseSpreads), always((*work).describeFacings), always((*work).compareFacings),
	always((*work).resample), always((*work).check), always((*work).outlying), always((*work).boundRatios),
	always((*work).squeeze), always((*work).judgeClaims), always((*work).blockEffects), always((*work).budgets),
	(*work).doubt,
	always((*work).drawPulls), always((*work).residuals), always((*work).window),
}

// Steps is how often an analysis calls Options.Step.
func Steps() int { return len(stages) }

// always makes a stage of one that cannot fail.
func always(f func(*work)) func(*work) error {
	return func(w *work) error { f(w); return nil }
}

// ask fills in the defaults and refuses what makes no sense.
func (w *work) ask() error {
	if w.o.Confidence == 0 {
		w.o.Confidence = 0.95
	}
	if !(w.o.Confidence > 0 && w.o.Confidence < 1) {
		return fmt.Errorf("confidence %v: give a share between 0 and 1, such as 0.95", w.o.Confidence)
	}
	if w.o.Faces < 0 || w.o.GripFactor < 0 || math.IsNaN(w.o.GripFactor) || math.IsInf(w.o.GripFactor, 0) {
		return fmt.Errorf("faces %d, grip factor %v: both must be above zero", w.o.Faces, w.o.GripFactor)
	}
	if s := w.o.Spreads; s != SpreadsAuto && s != SpreadsCommon && s != SpreadsByFacing {
		return fmt.Errorf("spread %q: say %q or %q", s, SpreadsCommon, SpreadsByFacing)
	}
	w.index = map[string]int{}
	add := func(name string) {
		if _, ok := w.index[name]; !ok {
			w.index[name] = len(w.facings)
			w.facings = append(w.facings, name)
		}
	}
	for _, f := range w.study.Facings {
		add(f.Name)
	}
	any := false
	for _, r := range w.readings {
		if r.Outcome == trial.Unclear {
			continue
		}
		any = true
		add(r.Facing)
	}
	if !any {
		return ErrNoPulls
	}
	name := w.o.Control
	for _, f := range w.study.Facings {
		if name == "" && f.Control {
			name = f.Name
		}
	}
	if name == "" {
		name = w.facings[0]
	}
	control, ok := w.index[name]
	if !ok {
		return fmt.Errorf("no pulls on a facing called %q; the facings are %s", name, quoted(w.facings))
	}
	w.control = control
	n := len(w.facings)
	w.exact, w.slipped, w.held = make([][]float64, n), make([]int, n), make([]int, n)
	w.res = Results{
		Control: name, Confidence: w.o.Confidence,
		Facings: []FacingResult{}, AgainstControl: []Ratio{}, Pairs: []Pair{}, Bounds: []BoundRatio{}, LessSqueeze: []Squeeze{},
		Claims: []ClaimVerdict{}, Warnings: []Warning{}, Pulls: []PullResult{}, Lines: []ClampLine{},
	}
	return nil
}

// quoted lists names for a message.
func quoted(names []string) string {
	q := make([]string, len(names))
	for i, n := range names {
		q[i] = fmt.Sprintf("%q", n)
	}
	return strings.Join(q, ", ")
}

// warn adds a remark, once.
func (w *work) warn(code, format string, args ...any) {
	v := Warning{Code: code, Text: fmt.Sprintf(format, args...)}
	for _, have := range w.res.Warnings {
		if have == v {
			return
		}
	}
	w.res.Warnings = append(w.res.Warnings, v)
}
