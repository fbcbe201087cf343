package plan

import (
	"errors"
	"fmt"
	"math"

	"griptrial/analysis/dist"
	"griptrial/analysis/trial"
)

// Step is one line of a table of cost against power: for the facing and the
// control alike, or for the facing alone where the claim is a force.
type Step struct {
	Samples int     `json:"samples"` // of each; 0: samples are not told apart
	Each    int     `json:"each"`    // pulls of each sample, or of each facing
	Pulls   int     `json:"pulls"`   // of the facing and the control together; of the facing where it is alone
	Power   float64 `json:"power"`
}

// Design says what a claim takes.
type Design struct {
	Claim        trial.Claim `json:"-"`
	Effect       float64     `json:"effect"`        // log of expected over claimed: of ratios, of forces; for "same" log of the expected ratio
	Spread       float64     `json:"spread"`        // sd of log values, pull to pull
	SampleSpread float64     `json:"sample_spread"` // and sample to sample
	FromPilot    bool        `json:"from_pilot"`    // the spreads are estimates from pulls that were made
	Wanted       float64     `json:"wanted"`        // power asked for
	Facings      int         `json:"facings"`       // of the study: the claim is judged beside all of them
	Needed       Step        `json:"needed"`        // the least that reaches it, with as many pulls a sample as planned
	Planned      Step        `json:"planned"`       // what the plan has
	Table        []Step      `json:"table"`         // cost against power, as planned otherwise
	Ways         []Step      `json:"ways"`          // with samples: other numbers of pulls a sample that reach the wanted power

	kept map[int]float64 // critical values by tenths of a degree of freedom
}

// alone reports whether the claim is about the facing and not about a ratio.
func (d *Design) alone() bool { return d.Claim.Kind == "force" }

// RefusedError says why a design cannot answer, and what to change.
type RefusedError struct{ Reason string }

func (e *RefusedError) Error() string { return e.Reason }

// ErrOneSample is wrapped by the refusal of a design in which a facing stands
// on one sample: no number of pulls helps.
var ErrOneSample = errors.New("one sample only")

// confidence is that of the intervals that judge a claim.
const confidence = 0.95

// For says how many pulls, or samples, of every facing show a claim with the
// wanted power.
//
// A ratio is shown when the lower end of its 95 % interval, adjusted for the k
// facings of the study, lies above claim.Ratio, if in truth it is claim.Expect
// (see Power and Dunnett's distribution with correlation 1/2). Pulls are
// independent with standard deviation s of log values (Spread):
//
//	delta = log(expect/ratio) / (s sqrt(2/n)),  df = k(n-1)
//
// The same as the control within w is shown when the 90 % interval of the ratio
// lies within 1/(1+w) to 1+w, if in truth it is claim.Expect, 1 where that is
// not said (see Equivalence).
//
// A force in so many of 100 clampings is shown when the lower tolerance bound
// lies above it, if in truth the geometric mean is claim.Expect times it (see
// Bound). The facing's own pulls decide, n of them.
//
// Where the study names samples, m of each facing with r pulls each, a pull on
// one sample is no replicate of its facing; the means of samples are, with
// standard deviation s_m (t for SampleSpread),
//
//	s_m = sqrt(t² + s²/r),  delta = effect / (s_m sqrt(2/m)),  df = k(m-1)
//
// which is what REML comes to in a balanced design. Levels are taken as alike on
// the log scale, and blocks as costing no freedom. No adjustment is made for
// several claims.
//
// Refused: one sample of a facing, an expectation or a spread that is not
// known or cannot lead to the claim, more than 10000 of anything.
//
// Tested against R's power.t.test, double quadrature in R, and against
// simulation through the model that the analysis fits.
func For(s trial.Study, claim trial.Claim, pilot Pilot) (Design, error) {
	d := Design{Claim: claim, Wanted: claim.Power, Facings: len(s.Facings)}
	if d.Wanted == 0 {
		d.Wanted = 0.8
	}
	control, facing, err := pair(s, claim)
	if err != nil {
		return d, err
	}
	sampled := len(control.Samples) > 0 || len(facing.Samples) > 0
	if err := d.expect(); err != nil {
		return d, err
	}
	if err := d.spreads(claim, pilot, sampled); err != nil {
		return d, err
	}
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
	if d.alone() {
		m = len(facing.Samples)
	}
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

// expect works out the effect that is to be shown.
func (d *Design) expect() error {
	c := &d.Claim
	switch {
	case c.Kind == "ratio" && c.Expect == 0:
		return &RefusedError{fmt.Sprintf("to show at least %v times, the true ratio must be greater: say what you expect (expect = %.3g, say) in the claim", c.Ratio, 1.25*c.Ratio)}
	case c.Kind == "ratio" && c.Expect <= c.Ratio:
		return &RefusedError{fmt.Sprintf("at least %v times cannot be shown where %v is expected", c.Ratio, c.Expect)}
	case c.Kind == "ratio":
		d.Effect = math.Log(c.Expect / c.Ratio)
	case c.Kind == "same":
		if c.Expect == 0 {
			c.Expect = 1
		}
		if d.Effect = math.Log(c.Expect); math.Abs(d.Effect) >= math.Log1p(c.Within) {
			return &RefusedError{fmt.Sprintf("the same within %.3g %% cannot be shown where a ratio of %v is expected", 100*c.Within, c.Expect)}
		}
	case c.Kind == "force":
		if c.Coverage == 0 {
			c.Coverage = 0.99
		}
		if c.Expect <= 1 {
			return &RefusedError{"to show a force that nearly all clampings exceed, the mean must be greater: say how many times the claimed force you expect in the mean (expect = 1.5, say) in the claim"}
		}
		d.Effect = math.Log(c.Expect)
	default:
		return &RefusedError{fmt.Sprintf("a claim of kind %q is not known", c.Kind)}
	}
	return nil
}

// spreads takes the spreads from the claim, else from the pilot.
func (d *Design) spreads(claim trial.Claim, pilot Pilot, sampled bool) error {
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
	n, sd := r, d.Spread
	if m > 0 {
		n, sd = m, math.Hypot(d.SampleSpread, d.Spread/math.Sqrt(float64(r)))
	}
	if n < 2 {
		return math.NaN()
	}
	df := float64(d.Facings * (n - 1))
	se := sd * math.Sqrt(2/float64(n))
	switch d.Claim.Kind {
	case "same":
		return Equivalence(d.Effect/se, math.Log1p(d.Claim.Within)/se, df, 1-confidence)
	case "force":
		// The bound is that of a single pull on a fresh sample.
		total := math.Hypot(d.SampleSpread, d.Spread)
		worth, df := float64(n), float64(n-1)
		if m > 0 {
			worth, df = total*total/(sd*sd/float64(m)), d.boundFreedom(m, r)
		}
		return Bound(worth, df, d.Effect/total, d.Claim.Coverage, confidence)
	}
	return dist.NoncentralTSurvival(d.critical(df), df, d.Effect/se)
}

// boundFreedom are the degrees of freedom of a tolerance bound from m samples
// with r pulls each, as fit.Tolerance takes them: the harmonic mean of those of
// the total spread, Satterthwaite's of MS_samples/r + (1 - 1/r) MS_within, and
// those of the mean.
func (d *Design) boundFreedom(m, r int) float64 {
	k, s2 := float64(r), d.Spread*d.Spread
	between := d.SampleSpread*d.SampleSpread + s2/k
	within := (1 - 1/k) * s2
	total := (between + within) * (between + within) / (between*between/float64(m-1) + within*within/math.Max(1, float64(m*(r-1))))
	return 2 / (1/total + 1/float64(m-1))
}

// step is one design with its cost and power; power 0 where nothing can be
// tested.
func (d *Design) step(m, r int) Step {
	s := Step{Samples: m, Each: r, Pulls: max(m, 1) * r}
	if !d.alone() {
		s.Pulls *= 2
	}
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
		return Step{}, &RefusedError{fmt.Sprintf("more than %d of each would be needed; what is expected lies too near what is claimed", most)}
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
		if claim.Kind == "force" && f.Name != facing.Name {
			continue
		}
		if len(f.Samples) == 1 {
			return control, facing, fmt.Errorf("%s has %w: a difference between facings could not be told from one between two strips of the same facing, however often it is pulled; add samples", f.Name, ErrOneSample)
		}
	}
	return control, facing, nil
}
