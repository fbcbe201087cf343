// Package example is a small trial made by hand, for the tests of the reports:
// a shop that machines cast-acrylic blanks compares what may face its jaws.
// Its numbers are invented and go together only roughly; no statistics were done.
package example

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"griptrial/analysis"
	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
	"griptrial/report"
)

// names of the facings and their grip.
var facings = []struct {
	name     string
	mu, sd   float64
	lo, hi   float64
	tol95    float64
	tol99    float64
	sampleOf string
}{
	{"ground steel", 0.125, 0.06, 0.119, 0.131, 0.105, 0.098, "S"},
	{"bonded P240 abrasive cloth", 0.412, 0.08, 0.390, 0.435, 0.338, 0.309, "A"},
	{"cast polyurethane sheet", 0.335, 0.10, 0.313, 0.358, 0.261, 0.233, "U"},
	{"fine cross-cut serration", 0.232, 0.07, 0.222, 0.243, 0.196, 0.181, "F"},
}

var levels = []trial.Level{
	{Name: "2 kg", Weight: 2}, {Name: "5 kg", Weight: 5}, {Name: "10 kg", Weight: 10, Usual: true},
}

// clampPerWeight is N on a jaw face for each kg on the handle.
const clampPerWeight = 428.7

// Input makes the trial. It is the same each time.
func Input() report.Input {
	kgf, err := unit.Lookup(unit.Force, "kgf")
	if err != nil {
		panic("example: kgf is gone: " + err.Error())
	}
	in := report.Input{
		Force:   kgf,
		Made:    time.Date(2026, 3, 14, 15, 26, 0, 0, time.UTC),
		Study:   study(),
		Command: "griptrial report blanks",
		Results: analysis.Results{
			Control: "ground steel", Confidence: 0.95, Quantity: analysis.Mu,
			Model: analysis.Model{Method: "censored-ml", Formula: "log mu ~ facing + block", Converged: true, LogLikelihood: 61.2},
		},
	}
	r := &in.Results
	rng := rand.New(rand.NewPCG(7, 11))
	n := 0
	for block := range 2 {
		for _, f := range facings {
			for _, l := range levels {
				for rep := range 2 {
					n++
					addPull(&in, rng, n, block, rep, f.name, f.sampleOf, f.mu*math.Exp(f.sd*rng.NormFloat64()), l)
				}
			}
		}
	}
	r.Model.Pulls = n
	for _, f := range facings {
		fr := analysis.FacingResult{
			Facing: f.name, Samples: 2, LogSD: analysis.Number(f.sd), CV: analysis.Number(f.sd),
			Grip:      analysis.Estimate{Estimate: analysis.Number(f.mu), Lower: analysis.Number(f.lo), Upper: analysis.Number(f.hi)},
			MuTotal:   &analysis.Estimate{Estimate: analysis.Number(f.mu), Lower: analysis.Number(f.mu * 0.76), Upper: analysis.Number(f.mu * 1.33)},
			Tolerance: []analysis.Tolerance{{Coverage: 0.95, Confidence: 0.95, Lower: analysis.Number(f.tol95)}, {Coverage: 0.99, Confidence: 0.95, Lower: analysis.Number(f.tol99)}},
		}
		mu := fr.Grip
		fr.Mu = &mu
		for _, p := range r.Pulls {
			if p.Facing != f.name {
				continue
			}
			switch p.Outcome {
			case "slipped":
				fr.Slipped++
			case "held":
				fr.Held++
			default:
				fr.Void++
			}
		}
		r.Facings = append(r.Facings, fr)
		r.Lines = append(r.Lines, analysis.ClampLine{
			Facing: f.name, Slope: analysis.Number(2 * f.mu), Lower: analysis.Number(2 * f.lo), Upper: analysis.Number(2 * f.hi),
			Min: 2 * clampPerWeight, Max: 10 * clampPerWeight,
		})
	}
	r.AgainstControl = []analysis.Ratio{
		{Facing: "bonded P240 abrasive cloth", Ratio: 3.296, Lower: 3.03, Upper: 3.58, P: 1e-9, Adjusted: "dunnett"},
		{Facing: "cast polyurethane sheet", Ratio: 2.68, Lower: 2.44, Upper: 2.94, P: 1e-9, Adjusted: "dunnett"},
		{Facing: "fine cross-cut serration", Ratio: 1.856, Lower: 1.71, Upper: 2.01, P: 1e-8, Adjusted: "dunnett"},
	}
	for i, a := range facings {
		for _, b := range facings[i+1:] {
			q := b.mu / a.mu
			r.Pairs = append(r.Pairs, analysis.Pair{A: a.name, B: b.name, Ratio: analysis.Number(q), Lower: analysis.Number(q * 0.91), Upper: analysis.Number(q * 1.10), P: 0.001, Adjusted: "tukey-kramer"})
		}
	}
	for _, x := range r.AgainstControl {
		inverse := analysis.Estimate{Estimate: 1 / x.Ratio, Lower: 1 / x.Upper, Upper: 1 / x.Lower}
		r.LessSqueeze = append(r.LessSqueeze, analysis.Squeeze{Facing: x.Facing, Usual: 10, Share: inverse,
			Weight: analysis.Estimate{Estimate: inverse.Estimate * 10, Lower: inverse.Lower * 10, Upper: inverse.Upper * 10}})
	}
	r.Claims = []analysis.ClaimVerdict{{Claim: in.Study.Claims[0], Text: "bonded P240 abrasive cloth grips at least twice as well as ground steel",
		Verdict: "shown", Reason: "the lower end of the interval is above 2", Lower: 3.03, Upper: 3.58}}
	r.Variance = analysis.Variance{ResidualSD: 0.078, BlockSD: analysis.Unknown(), SampleSD: analysis.Unknown()}
	r.Checks = analysis.Checks{
		WelchANOVA:      &analysis.FTest{Statistic: 412, DF1: 3, DF2: 24.1, P: 1e-20},
		ShapiroWilk:     &analysis.WTest{Statistic: 0.981, P: 0.64},
		Proportionality: &analysis.SlopeTest{Slope: 0.984, Lower: 0.951, Upper: 1.017, P: 0.33},
		Drift:           &analysis.DriftTest{Slope: -0.0004, Lower: -0.0019, Upper: 0.0011, P: 0.58},
	}
	r.Warnings = []analysis.Warning{{Code: "clamp-computed", Text: "The clamp force is computed from the handle weight and uncertain by about 30 %; ratios between facings are not touched by that."}}
	addChecks(r)
	in.Files = []report.RawFile{
		{Name: "study.toml", SHA256: "8f14e45fceea167a5a36dedd4bea25438f14e45fceea167a5a36dedd4bea2543"},
		{Name: "pulls.csv", SHA256: "c9f0f895fb98ab9159f51fd0297e236dc9f0f895fb98ab9159f51fd0297e236d"},
	}
	in.Superseded = []report.Superseded{{Pull: 5, Facing: "ground steel", Outcome: "held", Force: 98, Why: "typed the wrong outcome"}}
	return in
}

func study() trial.Study {
	s := trial.Study{
		Format: 1, Name: "Acrylic manifold blanks", Question: "Which facing holds a cast-acrylic blank with the least squeeze?",
		Unit: "kgf", Levels: levels,
		Plan:  trial.Plan{Blocks: 2, Repeats: 2, Seed: 20260314},
		Pull:  trial.PullSetup{How: "straight", Faces: 2},
		Scale: trial.Scale{Kind: "cell", Capacity: 1000, Calibration: "2026-03-14.csv"},
		Handle: trial.Handle{
			Arm: 0.15, Mass: 0.2, MassArm: 0.07,
		},
		Screw: trial.Screw{PitchDiameter: 0.018, Lead: 0.004, HalfFlank: 15 * math.Pi / 180, ThreadLow: 0.10, ThreadHigh: 0.20,
			CollarLow: 0.12, CollarHigh: 0.12, CollarDiameter: 0.024},
		Part:   []trial.Part{{Stage: "blank", Material: "cast acrylic", Length: 0.060, Width: 0.030, Height: 0.010, Grip: 0.003, Yield: 110e6, Modulus: 3.2e9}},
		Claims: []trial.Claim{{Kind: "ratio", Facing: "bonded P240 abrasive cloth", Ratio: 2}},
	}
	for i, f := range facings {
		s.Facings = append(s.Facings, trial.Facing{Name: f.name, Control: i == 0, Samples: []string{f.sampleOf + "1", f.sampleOf + "2"}})
	}
	return s
}

// addPull makes a pull with its trace. The strongest pulls are beyond the
// scale's end and count as held; every fifteenth is void.
func addPull(in *report.Input, rng *rand.Rand, n, block, rep int, facing, sampleOf string, mu float64, l trial.Level) {
	clamp := clampPerWeight * l.Weight
	force, outcome, note := 2*mu*clamp, "slipped", ""
	const end = 3500 // N, where the pull was stopped
	switch {
	case n%15 == 0:
		outcome, note = "void", "tie let go"
	case force > end:
		force, outcome, note = end, "held", "stopped at the end of the scale"
	}
	p := analysis.PullResult{
		Pull: n, Facing: facing, Sample: fmt.Sprintf("%s%d", sampleOf, rep+1), Block: fmt.Sprintf("day %d", block+1), Level: l.Name, Outcome: outcome,
		Force: analysis.Number(force), Clamp: analysis.Number(clamp), Weight: analysis.Number(l.Weight),
		Value: analysis.Number(force / (2 * clamp)), Fitted: analysis.Unknown(), Note: note,
		Order: analysis.Number(n), Clampings: analysis.Number((n - 1) % 12),
	}
	if outcome == "void" {
		p.Value = analysis.Unknown()
	}
	in.Results.Pulls = append(in.Results.Pulls, p)
	in.Plan = append(in.Plan, trial.PlannedPull{Order: n, Block: p.Block, Facing: facing, Sample: p.Sample, Level: p.Level})
	in.Traces = append(in.Traces, trace(rng, n, facing, outcome, force))
}

// trace draws a record: a ramp that breaks off, or is let down when held.
func trace(rng *rand.Rand, n int, facing, outcome string, force float64) report.Trace {
	const samples, rate = 320, 80.0
	tr := report.Trace{Pull: n, Facing: facing, Outcome: outcome, SHA256: fmt.Sprintf("%064x", n)}
	nan := math.NaN()
	tr.Slip = slip.Result{SlipForce: nan, SlipTime: nan, PeakForce: force, PeakTime: 2.5}
	for i := range samples {
		t := float64(i) / rate
		f := force * math.Max(0, math.Min(1, (t-0.5)/2))
		switch {
		case t > 2.5 && outcome == "slipped":
			f = force * (0.78 + 0.04*math.Sin(9*t))
		case t > 2.5 && outcome == "void":
			f = 0
		case t > 3.2:
			f = force * math.Max(0, 1-(t-3.2)/0.5)
		}
		tr.Trace.T = append(tr.Trace.T, t)
		tr.Trace.Force = append(tr.Trace.Force, f+force*0.006*rng.NormFloat64()+12)
	}
	if outcome == "slipped" {
		tr.Slip.SlipForce, tr.Slip.SlipTime, tr.Slip.Kind = force, 2.5, slip.Sharp
	}
	return tr
}

// Hostile names go where a facing's name goes, to show that a report shows
// every one of them safely.
var Hostile = []string{
	`<script>alert("x")</script>&amp;`,
	"averylongnamewithoutablank-averylongnamewithoutablank-averylongnamewithoutablank-averylongnamewithoutablank-averylongnamewithoutablank",
	"مطاط مصبوب",
	"pad 👩‍🔧🔥",
	"=HYPERLINK(\"x\") | `code` **bold** [a](b)",
	"P240\u202egnirpsdnuor",
	"\x00\x1b[31mred",
	"Τραχύ χαρτί – Шлифовальная ткань",
}

// Renamed is Input with the four names in place of those of the facings.
func Renamed(names [4]string) report.Input {
	in := Input()
	to := make(map[string]string)
	for i, f := range facings {
		to[f.name] = names[i]
	}
	r := &in.Results
	r.Control = to[r.Control]
	for i := range in.Study.Facings {
		in.Study.Facings[i].Name = names[i]
	}
	for i := range r.Facings {
		r.Facings[i].Facing, r.Lines[i].Facing = names[i], names[i]
	}
	for i := range r.AgainstControl {
		r.AgainstControl[i].Facing, r.LessSqueeze[i].Facing = to[r.AgainstControl[i].Facing], to[r.LessSqueeze[i].Facing]
	}
	for i := range r.Pairs {
		r.Pairs[i].A, r.Pairs[i].B = to[r.Pairs[i].A], to[r.Pairs[i].B]
	}
	for i := range r.Pulls {
		r.Pulls[i].Facing = to[r.Pulls[i].Facing]
		r.Pulls[i].Note = names[i%4]
	}
	for i := range in.Plan {
		in.Plan[i].Facing = to[in.Plan[i].Facing]
	}
	for i := range in.Traces {
		in.Traces[i].Facing = to[in.Traces[i].Facing]
	}
	for i := range r.Budgets {
		r.Budgets[i].Facing, r.Budgets[i].Against = to[r.Budgets[i].Facing], to[r.Budgets[i].Against]
	}
	for i := range r.Checks.Wear.Facings {
		r.Checks.Wear.Facings[i].Facing = to[r.Checks.Wear.Facings[i].Facing]
	}
	for i := range in.Superseded {
		in.Superseded[i].Facing, in.Superseded[i].Why = to[in.Superseded[i].Facing], names[1]
	}
	for i := range r.Claims {
		r.Claims[i].Text = names[1] + " grips at least twice as well as " + names[0]
	}
	in.Study.Name, in.Study.Question, in.Command = names[0], names[1], "griptrial report '"+names[3]+"'"
	return in
}
