package plan

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"griptrial/analysis/dist"
	"griptrial/analysis/trial"
)

// Side is the number of tails of a test.
type Side int

// The two kinds of test.
const (
	OneSided Side = 1
	TwoSided Side = 2
)

// Power is the probability that a t test comes out: that T exceeds its
// critical value, where T is noncentral t with df degrees of freedom and
// noncentrality delta (the true effect over its standard error).
//
//	one-sided  P(T > t[1-alpha, df])
//	two-sided  P(|T| > t[1-alpha/2, df])
//
// alpha is the level of the test, 0 < alpha < 1; df > 0. NaN for anything else.
//
// Source: the definition of the noncentral t distribution; NIST/SEMATECH
// e-Handbook 7.2.2.2 states the problem (and solves it approximately).
func Power(delta, df, alpha float64, side Side) float64 {
	if !(df > 0) || !(alpha > 0 && alpha < 1) || math.IsNaN(delta) {
		return math.NaN()
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(1 - alpha/float64(side))
	p := dist.NoncentralTSurvival(t, df, delta)
	if side == TwoSided {
		p += dist.NoncentralTCDF(-t, df, delta)
	}
	return p
}

// TwoSample is the power of the t test of two groups of n each that share the
// standard deviation sd and differ by effect: delta = effect/(sd·sqrt(2/n)),
// df = 2(n-1). NaN for n < 2.
func TwoSample(n int, effect, sd, alpha float64, side Side) float64 {
	if n < 2 {
		return math.NaN()
	}
	return Power(effect/(sd*math.Sqrt(2/float64(n))), float64(2*(n-1)), alpha, side)
}

// OneSample is the power of the t test of one mean of n values with standard
// deviation sd that lies effect away: delta = effect·sqrt(n)/sd, df = n-1. NaN
// for n < 2.
func OneSample(n int, effect, sd, alpha float64, side Side) float64 {
	if n < 2 {
		return math.NaN()
	}
	return Power(effect*math.Sqrt(float64(n))/sd, float64(n-1), alpha, side)
}

// most is the greatest number of pulls that is looked for: no shop pulls more.
const most = 10000

// least finds the smallest n from 2 on for which the power is reached.
func least(power float64, at func(n int) float64) (int, bool) {
	if !(at(most) >= power) {
		return 0, false
	}
	lo, hi := 1, most
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; at(mid) >= power {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, true
}

// Step is one line of a table of pulls against power.
type Step struct {
	Each  int     `json:"each"` // of the facing, and as many of the control
	Power float64 `json:"power"`
}

// Design says what a claim takes.
type Design struct {
	Claim    trial.Claim `json:"-"`
	Unit     string      `json:"unit"`     // what is counted: "pulls" or "samples"
	Effect   float64     `json:"effect"`   // log of expected over claimed ratio
	Spread   float64     `json:"spread"`   // sd of log values that was taken
	Wanted   float64     `json:"wanted"`   // power asked for
	Each     int         `json:"each"`     // needed of the facing, and of the control
	Reached  float64     `json:"reached"`  // the power that Each gives
	Planned  int         `json:"planned"`  // what the plan has of each
	AsItIs   float64     `json:"as_it_is"` // the power of the plan as it is
	Table    []Step      `json:"table"`
	OneLevel float64     `json:"one_sided_level"`
}

// RefusedError says why a design cannot answer, and what to change.
type RefusedError struct{ Reason string }

func (e *RefusedError) Error() string { return e.Reason }

// ForRatio says how many pulls of a facing, and as many of the control, show
// with the wanted power that the facing holds at least claim.Ratio times what
// the control holds, if in truth it holds claim.Expect times.
//
// The claim is shown when the lower end of the 95 % interval of the ratio lies
// above claim.Ratio: a one-sided t test at 2.5 % of log(expect/ratio), with the
// sd of log values as spread. Degrees of freedom are those of the two facings
// alone, 2(n-1); more facings in the study add to them, so the answer is safe.
//
// Where the study names samples, they are what is counted, and spread is then
// that of sample means: pulls on one sample are no replicates of its facing.
//
// Refused: one sample of a facing, an expectation that is missing or not above
// the claim, a spread that is missing, a claim of another kind.
func ForRatio(s trial.Study, claim trial.Claim) (Design, error) {
	d := Design{Claim: claim, Unit: "pulls", Spread: claim.Spread, Wanted: claim.Power, OneLevel: 0.025}
	if d.Wanted == 0 {
		d.Wanted = 0.8
	}
	control, facing, err := pair(s, claim)
	if err != nil {
		return d, err
	}
	switch {
	case claim.Kind != "ratio":
		return d, &RefusedError{fmt.Sprintf("a claim of kind %q is not one of a ratio", claim.Kind)}
	case claim.Expect == 0:
		return d, &RefusedError{fmt.Sprintf("to show at least %v times, the true ratio must be greater: say what you expect (expect = %.3g, say) in the claim", claim.Ratio, 1.25*claim.Ratio)}
	case claim.Expect <= claim.Ratio:
		return d, &RefusedError{fmt.Sprintf("at least %v times cannot be shown where %v is expected", claim.Ratio, claim.Expect)}
	case !(claim.Spread > 0):
		return d, &RefusedError{"the spread of repeated pulls is not known: say it in the claim (spread = 0.1 is 10 %), or make a few pulls first"}
	}
	d.Effect = math.Log(claim.Expect / claim.Ratio)
	d.Planned = s.Plan.Blocks * s.Plan.Repeats * len(s.Levels)
	if len(control.Samples) > 0 || len(facing.Samples) > 0 {
		d.Unit, d.Planned = "samples", min(len(control.Samples), len(facing.Samples))
	}
	at := func(n int) float64 { return TwoSample(n, d.Effect, d.Spread, d.OneLevel, OneSided) }
	n, ok := least(d.Wanted, at)
	if !ok {
		return d, &RefusedError{fmt.Sprintf("more than %d %s of each would be needed; expect more than %v, or claim less than %v", most, d.Unit, claim.Expect, claim.Ratio)}
	}
	d.Each, d.Reached = n, at(n)
	if d.Planned >= 2 {
		d.AsItIs = at(d.Planned)
	}
	for _, power := range []float64{0.5, 0.8, 0.9, 0.95, 0.99} {
		if n, ok := least(power, at); ok {
			d.Table = append(d.Table, Step{n, at(n)})
		}
	}
	return d, nil
}

// ErrOneSample is wrapped by the refusal of a design in which a facing stands
// on one sample: no number of pulls helps.
var ErrOneSample = errors.New("one sample only")

// pair finds the control and the facing of a claim, and refuses a design in
// which a facing stands on one sample.
func pair(s trial.Study, claim trial.Claim) (control, facing trial.Facing, err error) {
	for _, f := range s.Facings {
		if f.Control {
			control = f
		}
		if f.Name == claim.Facing {
			facing = f
		}
	}
	if facing.Name == "" || control.Name == "" {
		return control, facing, errors.New("the claim's facing or the control is not in the study")
	}
	for _, f := range []trial.Facing{control, facing} {
		if len(f.Samples) == 1 {
			return control, facing, fmt.Errorf("%s has %w: a difference between facings could not be told from one between two strips of the same facing, however often it is pulled; add samples", f.Name, ErrOneSample)
		}
	}
	return control, facing, nil
}
