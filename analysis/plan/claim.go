package plan

import (
	"errors"
	"fmt"
	"math"

	"griptrial/analysis/trial"
)

// Step is one line of a table of cost against power, for the facing and for
// the control alike.
type Step struct {
	Samples int     `json:"samples"` // of each; 0: samples are not told apart
	Each    int     `json:"each"`    // pulls of each sample, or of each facing
	Pulls   int     `json:"pulls"`   // of the facing and the control together
	Power   float64 `json:"power"`
}

// Design says what a claim takes.
type Design struct {
	Claim        trial.Claim `json:"-"`
	Effect       float64     `json:"effect"`        // log of expected over claimed ratio
	Spread       float64     `json:"spread"`        // sd of log values, pull to pull
	SampleSpread float64     `json:"sample_spread"` // and sample to sample
	FromPilot    bool        `json:"from_pilot"`    // the spreads are estimates from pulls that were made
	Wanted       float64     `json:"wanted"`        // power asked for
	Needed       Step        `json:"needed"`        // the least that reaches it, with as many pulls a sample as planned
	Planned      Step        `json:"planned"`       // what the plan has
	Table        []Step      `json:"table"`         // cost against power, as planned otherwise
	Ways         []Step      `json:"ways"`          // with samples: other numbers of pulls a sample that reach the wanted power
}

// RefusedError says why a design cannot answer, and what to change.
type RefusedError struct{ Reason string }

func (e *RefusedError) Error() string { return e.Reason }

// ErrOneSample is wrapped by the refusal of a design in which a facing stands
// on one sample: no number of pulls helps.
var ErrOneSample = errors.New("one sample only")

// level is the one-sided level of the test behind a 95 % interval.
const level = 0.025

// ForRatio says how many pulls, or samples, of a facing and as many of the
// control show with the wanted power that the facing holds at least
// claim.Ratio times what the control holds, if in truth it holds claim.Expect
// times.
//
// The claim is shown when the lower end of the 95 % interval of the ratio lies
// above claim.Ratio: a one-sided t test at 2.5 % of log(expect/ratio). Pulls
// are independent with standard deviation s of log values (Spread):
//
//	delta = effect / (s sqrt(2/n)),  df = 2(n-1)
//
// Where the study names samples, m of each facing with r pulls each, a pull on
// one sample is no replicate of its facing; the means of samples are, with
// standard deviation s_m (t for SampleSpread):
//
//	s_m = sqrt(t² + s²/r),  delta = effect / (s_m sqrt(2/m)),  df = 2(m-1)
//
// which is what REML comes to in a balanced design. More facings in the study
// add degrees of freedom, so the answers are safe. Levels are taken as alike
// on the log scale. No adjustment is made for several claims.
//
// Refused: one sample of a facing, an expectation or a spread that is not
// known, a claim of another kind, more than 10000 of anything.
//
// Tested against R's power.t.test, and against simulation through the model
// that the analysis fits.
func ForRatio(s trial.Study, claim trial.Claim, pilot Pilot) (Design, error) {
	d := Design{Claim: claim, Wanted: claim.Power}
	if d.Wanted == 0 {
		d.Wanted = 0.8
	}
	control, facing, err := pair(s, claim)
	if err != nil {
		return d, err
	}
	sampled := len(control.Samples) > 0 || len(facing.Samples) > 0
	if err := d.spreads(claim, pilot, sampled); err != nil {
		return d, err
	}
	d.Effect = math.Log(claim.Expect / claim.Ratio)
	pulls := s.Plan.Blocks * s.Plan.Repeats * len(s.Levels)
	if !sampled {
		d.Planned = d.step(0, pulls)
		if d.Needed, err = d.least(d.Wanted, 0); err != nil {
			return d, err
		}
		d.Table = d.table(0)
		return d, nil
	}
	m := min(len(control.Samples), len(facing.Samples))
	if m == 0 {
		return d, &RefusedError{"samples are named for the facing or the control only; name them for both"}
	}
	// The fewest pulls that any sample gets.
	r := max(1, pulls/max(len(control.Samples), len(facing.Samples)))
	d.Planned = d.step(m, r)
	if d.Needed, err = d.least(d.Wanted, r); err != nil {
		return d, err
	}
	d.Table = d.table(r)
	for _, each := range []int{1, 2, 3, 5, 10} {
		if way, err := d.least(d.Wanted, each); err == nil {
			d.Ways = append(d.Ways, way)
		}
	}
	return d, nil
}

// spreads takes the spreads from the claim, else from the pilot.
func (d *Design) spreads(claim trial.Claim, pilot Pilot, sampled bool) error {
	switch {
	case claim.Kind != "ratio":
		return &RefusedError{fmt.Sprintf("a claim of kind %q is not one of a ratio", claim.Kind)}
	case claim.Expect == 0:
		return &RefusedError{fmt.Sprintf("to show at least %v times, the true ratio must be greater: say what you expect (expect = %.3g, say) in the claim", claim.Ratio, 1.25*claim.Ratio)}
	case claim.Expect <= claim.Ratio:
		return &RefusedError{fmt.Sprintf("at least %v times cannot be shown where %v is expected", claim.Ratio, claim.Expect)}
	}
	d.Spread, d.SampleSpread = claim.Spread, claim.SampleSpread
	if d.Spread == 0 && pilot.Pulls > 0 {
		d.Spread, d.FromPilot = pilot.Spread, true
	}
	if !(d.Spread > 0) {
		return &RefusedError{"the spread of repeated pulls is not known: say it in the claim (spread = 0.1 is 10 %), or make a few pulls on one sample first"}
	}
	if !sampled {
		d.SampleSpread = 0
		return nil
	}
	if d.SampleSpread == 0 && pilot.Samples > 0 {
		d.SampleSpread, d.FromPilot = pilot.SampleSpread, true
		return nil
	}
	if d.SampleSpread == 0 {
		return &RefusedError{"how much samples of one facing differ is not known: say it in the claim (sample_spread = 0.05 is 5 %), or pull two samples of a facing a few times first"}
	}
	return nil
}

// power of m samples with r pulls each, or with m = 0 of r pulls.
func (d *Design) power(m, r int) float64 {
	if m == 0 {
		return TwoSample(r, d.Effect, d.Spread, level, OneSided)
	}
	return TwoSample(m, d.Effect, math.Hypot(d.SampleSpread, d.Spread/math.Sqrt(float64(r))), level, OneSided)
}

// step is one design with its cost and power; power 0 where nothing can be
// tested.
func (d *Design) step(m, r int) Step {
	s := Step{Samples: m, Each: r, Pulls: 2 * max(m, 1) * r}
	if p := d.power(m, r); !math.IsNaN(p) {
		s.Power = p
	}
	return s
}

// least is the cheapest design that reaches a power; each is the number of
// pulls of a sample, 0 where samples are not told apart.
func (d *Design) least(power float64, each int) (Step, error) {
	step := func(n int) Step {
		if each == 0 {
			return d.step(0, n)
		}
		return d.step(n, each)
	}
	n, ok := least(power, func(n int) float64 { return step(n).Power })
	if !ok {
		return Step{}, &RefusedError{fmt.Sprintf("more than %d of each would be needed; the expected ratio lies too near the claimed one", most)}
	}
	return step(n), nil
}

// table is cost against power.
func (d *Design) table(each int) []Step {
	var table []Step
	for _, power := range []float64{0.5, 0.8, 0.9, 0.95, 0.99} {
		if s, err := d.least(power, each); err == nil {
			table = append(table, s)
		}
	}
	return table
}

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
