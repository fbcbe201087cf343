package analysis

import (
	"errors"
	"math"

	"griptrial/analysis/trial"
	"griptrial/analysis/window"
)

// Window is the band of clamp force for each facing under the study's cuts:
// what `window --json` prints and the reports draw.
type Window struct {
	Rule       string         `json:"rule"` // "careful"; see package window
	Coverage   float64        `json:"coverage"`
	Confidence float64        `json:"confidence"`
	Control    string         `json:"control"`
	Usual      Number         `json:"usual_kg"`
	UsualClamp Number         `json:"usual_N"` // where the usual level is a measured clamp force
	Facings    []WindowFacing `json:"facings"`
	Stages     []WindowStage  `json:"stages"`
	Warnings   []Warning      `json:"warnings"`
	Cautions   []string       `json:"cautions"`
}

// WindowFacing is the band of one facing. Forces are on each face.
type WindowFacing struct {
	Facing      string            `json:"facing"`
	Mu          Number            `json:"mu_lower"`     // what the least force rests on
	Tolerance   Number            `json:"mu_tolerance"` // lower tolerance bound of mu at the clamp forces used in the trial
	Clamp       string            `json:"clamp"`        // whence those: "measured", "computed", "mixed"
	Least       Number            `json:"least_N"`
	Most        Number            `json:"most_N"`
	LeastWeight Number            `json:"least_kg"`
	MostWeight  Number            `json:"most_kg"`
	Open        *bool             `json:"open"` // null: cannot be said
	Margin      Number            `json:"margin"`
	LeastStage  string            `json:"least_stage"`
	MostStage   string            `json:"most_stage"`
	MostBy      string            `json:"most_by"`
	Stages      []WindowStageBand `json:"stages"`
	Beyond      bool              `json:"beyond"`
	Usual       string            `json:"usual"` // "holds", "slips", "crushes" or "": how the usual squeeze fares
	Reason      string            `json:"reason"`
	Ways        []WindowWay       `json:"ways"`
	NoWays      []string          `json:"no_ways"` // lighter cuts that open nothing at a tenth of what is described
}

// WindowStageBand is the band of one facing in one stage.
type WindowStageBand struct {
	Stage string `json:"stage"`
	Least Number `json:"least_N"`
	Most  Number `json:"most_N"`
}

// WindowWay is one change that alone opens a closed window.
type WindowWay struct {
	Change string `json:"change"`
	Text   string `json:"text"`
	Least  Number `json:"least_N"`
	Most   Number `json:"most_N"`
}

// WindowStage is a stage without regard to the facing.
type WindowStage struct {
	Stage      string        `json:"stage"`
	OpensBelow Number        `json:"opens_below_N"`
	Limits     []WindowLimit `json:"limits"`
	Assumed    []string      `json:"assumed"`
}

// WindowLimit is one way in which the part gives.
type WindowLimit struct {
	Kind  string `json:"kind"`
	Force Number `json:"force_N"`
	Text  string `json:"text"`
}

// WindowCoverage is the share of clampings that a window is made for unless
// told otherwise.
const WindowCoverage = 0.99

// ErrNoCut says that a study describes no cut or no part, so that no window
// can be had.
var ErrNoCut = errors.New("the study describes no cut or no part")

// window fills in the window of a study that describes a cut and the part.
func (w *work) window() {
	if len(w.study.Cut) == 0 || len(w.study.Part) == 0 {
		return
	}
	found, err := WindowOf(w.res, w.study, WindowCoverage)
	if err != nil {
		w.warn("no-window", "the clamp window cannot be had: %v.", err)
		return
	}
	w.res.Window = &found
}

// WindowOf finds the band of clamp force for each facing of results, for the
// cuts and parts of the study. Friction is the lower tolerance bound of the
// facing's pulls at the given coverage, one of those in its Tolerance.
// Errors: ErrNoCut, those of window.Find.
func WindowOf(r Results, s trial.Study, coverage float64) (Window, error) {
	if len(s.Cut) == 0 || len(s.Part) == 0 {
		return Window{}, ErrNoCut
	}
	facings := windowFacings(r, coverage)
	found, err := window.Find(s, facings)
	if err != nil {
		return Window{}, err
	}
	out := Window{Rule: "careful", Coverage: coverage, Confidence: r.Confidence, Control: r.Control,
		Usual: r.Usual, UsualClamp: Unknown(), Facings: []WindowFacing{}, Stages: []WindowStage{}, Warnings: []Warning{}, Cautions: trial.Cautions}
	for _, st := range found.Stages {
		w := WindowStage{Stage: st.Stage.Name, OpensBelow: Number(st.OpensBelow), Limits: []WindowLimit{}, Assumed: append([]string{}, st.Defaults...)}
		for _, l := range st.Limits {
			w.Limits = append(w.Limits, WindowLimit{l.Kind, Number(l.Force), l.Text})
		}
		out.Stages = append(out.Stages, w)
	}
	for _, l := range s.Levels {
		if l.Usual && l.Clamp > 0 {
			out.UsualClamp = Number(l.Clamp)
		}
	}
	for i, b := range found.Bands {
		w := windowFacing(b)
		w.Usual = out.fares(w)
		w.Clamp = r.Facings[i].Clamp
		out.Facings = append(out.Facings, w)
	}
	for _, n := range found.Notes {
		out.Warnings = append(out.Warnings, Warning{n.Code, n.Text})
	}
	return out, nil
}

// windowFacings takes the friction that a shop may count on.
func windowFacings(r Results, coverage float64) []window.Facing {
	var list []window.Facing
	for _, f := range r.Facings {
		w := window.Facing{Name: f.Facing, Mu: math.NaN()}
		switch {
		case r.Quantity != Mu:
			w.Why = "the clamp force of its pulls is not known, so its friction is not: describe handle and screw, or measure the clamp force"
		default:
			w.Why = "no tolerance bound of its friction: it takes more pulls that slipped"
			for _, t := range f.Tolerance {
				if t.Coverage == coverage && t.Lower.Known() {
					w.Mu = float64(t.Lower)
				}
			}
		}
		switch f.Clamp {
		case "computed":
			w.From = window.Computed
		case "mixed":
			w.From = window.Mixed
		}
		for _, l := range r.Lines {
			if l.Facing == f.Facing && r.Quantity == Mu && l.Min.Known() && l.Max.Known() {
				w.Low, w.High = float64(l.Min), float64(l.Max)
			}
		}
		list = append(list, w)
	}
	return list
}

// fares says how the usual squeeze does on a facing: the measured clamp force
// where there is one, else the weight.
func (w Window) fares(f WindowFacing) string {
	usual, least, most := w.UsualClamp, f.Least, f.Most
	if !usual.Known() {
		usual, least, most = w.Usual, f.LeastWeight, f.MostWeight
	}
	switch {
	case !usual.Known() || !least.Known():
		return ""
	case usual < least:
		return "slips"
	case !most.Known():
		return ""
	case usual > most:
		return "crushes"
	}
	return "holds"
}

func windowFacing(b window.Band) WindowFacing {
	w := WindowFacing{Facing: b.Facing, Mu: Number(b.MuLow), Tolerance: Number(b.Mu), Least: Number(b.Least), Most: Number(b.Most),
		LeastWeight: Number(b.LeastWeight), MostWeight: Number(b.MostWeight), Margin: Number(b.Margin),
		LeastStage: b.LeastStage, MostStage: b.MostStage, MostBy: b.MostBy.Kind, Stages: []WindowStageBand{},
		Beyond: b.Beyond, Reason: b.Why, Ways: []WindowWay{}, NoWays: append([]string{}, b.NoWays...)}
	if w.Margin.Known() {
		open := b.Open
		w.Open = &open
	}
	for _, s := range b.Stages {
		w.Stages = append(w.Stages, WindowStageBand{s.Stage, Number(s.Least), Number(s.Most)})
	}
	for _, way := range b.Ways {
		w.Ways = append(w.Ways, WindowWay{way.Change, way.Text, Number(way.Least), Number(way.Most)})
	}
	return w
}
