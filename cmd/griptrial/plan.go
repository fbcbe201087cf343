package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"griptrial/acquire/study"
	"griptrial/analysis/plan"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

type planFlags struct {
	seed         uint64
	seeded       bool
	redraw, json bool
	anyway       bool
}

// planResult is what `plan --json` prints.
type planResult struct {
	Study  string      `json:"study"`
	Seed   uint64      `json:"seed"`
	Drawn  bool        `json:"drawn"` // by this command; otherwise it was stored before
	Left   int         `json:"left"`
	Pulls  []planPull  `json:"pulls"`
	Claims []planClaim `json:"claims"`
}

type planPull struct {
	Order  int     `json:"order"`
	Block  string  `json:"block"`
	Facing string  `json:"facing"`
	Sample string  `json:"sample"`
	Level  string  `json:"level"`
	Weight float64 `json:"weight_kg"`
	Done   string  `json:"done"` // what was read, in the display unit; "" where it is still to do
}

type planClaim struct {
	Claim     string          `json:"claim"`
	Design    *plan.Design    `json:"design"`
	Simulated *plan.Simulated `json:"simulated"` // the plan as it is, where pulls will reach the scale's end
	Reason    string          `json:"reason"`    // why there is no design, or nothing simulated
}

func planCommand(a *app) *cobra.Command {
	var f planFlags
	cmd := &cobra.Command{
		Use:   "plan [flags] DIR",
		Short: "Draw the run order and print the run sheet",
		Long: `plan draws the order of the pulls at random within blocks, stores it in plan.csv
with its seed, and prints a run sheet that can go to the vise on paper. Run
again, it shows the stored order and what was done of it; --redraw draws anew,
as long as there are no pulls.

Where study.toml makes a claim, plan says how many pulls or samples it takes. It
needs what you expect (expect under the claim: the true ratio; for a claim on a
force how many times that force you expect in the mean; for "same" it is 1), and
how far pulls and samples scatter (spread and sample_spread; they may come from
pulls already made). A ratio is judged beside all other facings of the study, so
more facings take more pulls. Where pulls are likely to reach the scale's end the
plan's power is found by simulation. Where something is not known, plan draws the
order all the same and says what is missing. A design that cannot answer the claim
however often it is pulled, as one with one sample of each facing, is refused.

Exit status: 0 also where how many pulls it takes cannot be said; 3 the design
cannot answer the claim (--anyway draws it all the same).`,
		Example: `  griptrial plan blanks
  griptrial plan blanks --seed 240 > run-sheet.txt
  griptrial plan blanks --redraw`,
		Args: exactly(1, "a study folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			f.seeded = cmd.Flags().Changed("seed")
			return runPlan(a, args[0], f)
		},
	}
	cmd.Flags().Uint64Var(&f.seed, "seed", 0, "seed of the order (default: the one in study.toml, or a fresh one)")
	cmd.Flags().BoolVar(&f.redraw, "redraw", false, "draw anew; refused once there are pulls")
	cmd.Flags().BoolVar(&f.anyway, "anyway", false, "draw a design that cannot answer its claim")
	cmd.Flags().BoolVar(&f.json, "json", false, "print the order as JSON")
	return cmd
}

func runPlan(a *app, dir string, fl planFlags) error {
	f, err := study.Open(dir)
	if err != nil {
		return err
	}
	if err := f.Sound(); err != nil {
		return err
	}
	display, err := unit.Lookup(unit.Force, f.Setup().Unit)
	if err != nil {
		return err
	}
	claims, err := claimDesigns(a, f, display)
	if cannot := (cannotError{}); err != nil && !(fl.anyway && errors.As(err, &cannot)) {
		return err
	}
	drawn := false
	switch {
	case f.HasPlan() && !fl.redraw && fl.seeded && fl.seed != f.Setup().Plan.Seed:
		return usageError{fmt.Errorf("%s was drawn with seed %d; --redraw --seed %d draws it anew", filepath.Join(dir, study.PlanFile), f.Setup().Plan.Seed, fl.seed)}
	case !f.HasPlan() || fl.redraw:
		if f, err = drawPlan(a, dir, fl, f.Setup()); err != nil {
			return err
		}
		drawn = true
	}
	if fl.json {
		return printPlanJSON(a, f, display, drawn, claims)
	}
	printSheet(a, f, display, drawn)
	printClaims(a, claims)
	return nil
}

// drawPlan takes the lock for as long as the order is drawn and stored.
func drawPlan(a *app, dir string, fl planFlags, s trial.Study) (f *study.Folder, err error) {
	if f, err = study.OpenForWritingOn(a.files(), dir, "griptrial plan"); err != nil {
		return nil, err
	}
	seed := fl.seed
	switch {
	case fl.seeded:
	case s.Plan.Seed != 0 && !f.HasPlan():
		seed = s.Plan.Seed
	default:
		// Short enough to be copied from paper.
		seed = 1 + rand.Uint64N(999_999)
	}
	return f, errors.Join(f.Draw(seed), f.Close())
}

// claimDesigns works out what every claim takes, with the spreads of the pulls
// that were made where the claim does not say them. The error tells of a
// design that cannot answer whatever the number of pulls.
func claimDesigns(a *app, f *study.Folder, display unit.Unit) (claims []planClaim, err error) {
	s := f.Setup()
	if len(s.Claims) == 0 {
		return nil, nil
	}
	readings, err := f.Readings()
	if err != nil {
		return nil, err
	}
	for _, c := range s.Claims {
		pc := planClaim{Claim: claimText(c, display)}
		d, reason := plan.For(s, c, plan.FromReadings(readings))
		if reason == nil {
			pc.Design = &d
			reason = simulateHeld(a, &pc, d, plan.Headroom(s, c, readings))
		}
		if reason != nil {
			pc.Reason = reason.Error()
		}
		if errors.Is(reason, plan.ErrOneSample) {
			err = errors.Join(err, cannotError{fmt.Errorf("%s: the design cannot answer the claim %q: %w (--anyway draws the order all the same)", filepath.Join(f.Dir(), study.SetupFile), pc.Claim, reason)})
		}
		claims = append(claims, pc)
	}
	return claims, err
}

// simulateHeld finds the power of the plan by simulation where the scale's end
// lies so near that some of the facing's pulls are likely to reach it.
func simulateHeld(a *app, pc *planClaim, d plan.Design, headroom []float64) error {
	const far = 3 // sd: one pull in a thousand
	near := false
	for _, room := range headroom {
		near = near || room < far*math.Hypot(d.Spread, d.SampleSpread)
	}
	if !near {
		return nil
	}
	const seed = 1
	draws := 2000
	if d.Planned.Samples > 0 { // a fit with samples and bounds takes a hundred times as long
		draws = 100
	}
	bar := newProgress(a, "simulating trials", draws)
	sim, err := plan.Simulate(d, d.Planned, headroom, draws, seed, bar.step)
	bar.done()
	if err == nil {
		pc.Simulated = &sim
	}
	return err
}

// claimText says a claim in words.
func claimText(c trial.Claim, display unit.Unit) string {
	switch c.Kind {
	case "ratio":
		return fmt.Sprintf("%s holds at least %v times the control", c.Facing, c.Ratio)
	case "same":
		return fmt.Sprintf("%s holds as much as the control, within %v %%", c.Facing, 100*c.Within)
	}
	return fmt.Sprintf("%s holds at least %s at %s", c.Facing, display.Format(c.Force, 3), c.Level)
}

// doneText is what a planned pull gave, as it would be typed.
func doneText(f *study.Folder, display unit.Unit) map[int]string {
	done := map[int]string{}
	for _, r := range f.Current() {
		if !r.Order.Known {
			continue
		}
		switch r.Outcome {
		case trial.Slipped:
			done[r.Order.N] = asRead(r.Force, display)
		case trial.Held:
			done[r.Order.N] = strings.Replace(asRead(r.Force, display), " ", "+ ", 1)
		case trial.Void:
			if done[r.Order.N] == "" {
				done[r.Order.N] = "x " + r.Note
			}
		}
	}
	return done
}

func printPlanJSON(a *app, f *study.Folder, display unit.Unit, drawn bool, claims []planClaim) error {
	s := f.Setup()
	weights := map[string]float64{}
	for _, l := range s.Levels {
		weights[l.Name] = l.Weight
	}
	done := doneText(f, display)
	out := planResult{Study: f.Dir(), Seed: s.Plan.Seed, Drawn: drawn, Left: f.Left(), Pulls: []planPull{}, Claims: []planClaim{}}
	for _, p := range f.Plan() {
		out.Pulls = append(out.Pulls, planPull{p.Order, p.Block, p.Facing, p.Sample, p.Level, weights[p.Level], done[p.Order]})
	}
	out.Claims = append(out.Claims, claims...)
	return printJSON(a.stdout, out)
}

// printSheet prints the run order with blanks to write in.
func printSheet(a *app, f *study.Folder, display unit.Unit, drawn bool) {
	s := f.Setup()
	w := a.stdout
	fmt.Fprintf(w, "%s\n%s\n\n", s.Name, s.Question)
	printCautions(w)
	fmt.Fprintf(w, "Run order, seed %d. Slipped at 10: 10. Held at 35 without slipping: 35+. Says nothing: x and why.\n", s.Plan.Seed)
	done := doneText(f, display)
	facingWide, sampleWide, levelWide := len("facing"), len("sample"), len("clamp with")
	for _, p := range f.Plan() {
		facingWide = max(facingWide, utf8.RuneCountInString(p.Facing))
		sampleWide = max(sampleWide, utf8.RuneCountInString(p.Sample))
		levelWide = max(levelWide, utf8.RuneCountInString(p.Level))
	}
	block := ""
	for _, p := range f.Plan() {
		if p.Block != block {
			block = p.Block
			fmt.Fprintf(w, "\nBlock %s\n %4s  %s  %s  %s  %s\n", block, "no.", pad("facing", facingWide), pad("sample", sampleWide), pad("clamp with", levelWide), "force ["+s.Unit+"]")
		}
		blank := done[p.Order]
		if blank == "" {
			blank = strings.Repeat("_", 12) + "  " + strings.Repeat("_", 12)
		}
		fmt.Fprintf(w, " %4d  %s  %s  %s  %s\n", p.Order, pad(p.Facing, facingWide), pad(p.Sample, sampleWide), pad(p.Level, levelWide), blank)
	}
	fmt.Fprintf(w, "\n%s, %d to do. Type them in with: griptrial log %s\n", counted(len(f.Plan()), "pull"), f.Left(), f.Dir())
	if drawn {
		fmt.Fprintf(a.stderr, "order stored in %s\n", filepath.Join(f.Dir(), study.PlanFile))
	}
}

// pad fills a text with blanks to a width in letters.
func pad(s string, wide int) string {
	return s + strings.Repeat(" ", max(0, wide-utf8.RuneCountInString(s)))
}

func printClaims(a *app, claims []planClaim) {
	for _, c := range claims {
		fmt.Fprintf(a.stdout, "\nClaim: %s.\n", c.Claim)
		if c.Design == nil {
			fmt.Fprintf(a.stdout, "  How many pulls it takes cannot be said: %s.\n", c.Reason)
			continue
		}
		printDesign(a.stdout, *c.Design)
		switch {
		case c.Simulated != nil:
			fmt.Fprintf(a.stdout, "  About %.0f %% of its pulls will reach the scale's end and count as held; with them the plan\n  has power %s (%d simulated trials).\n", 100*c.Simulated.Held, powerText(c.Simulated.Power), c.Simulated.Draws)
		case c.Reason != "":
			fmt.Fprintf(a.stdout, "  Some of its pulls are likely to reach the scale's end: %s.\n", c.Reason)
		}
	}
}

// printDesign words what a claim takes, and tables cost against power.
func printDesign(w io.Writer, d plan.Design) {
	spread := fmt.Sprintf("%.3g %% from pull to pull", 100*d.Spread)
	if d.Needed.Samples > 0 {
		spread += fmt.Sprintf(" and %.3g %% from sample to sample", 100*d.SampleSpread)
	}
	if d.FromPilot {
		spread += " (as the pulls so far show)"
	}
	truth, of, both := fmt.Sprintf("If it holds %v times in truth", d.Claim.Expect), "of the facing and of the control", "both"
	switch d.Claim.Kind {
	case "same":
		truth = fmt.Sprintf("If it holds %v times what the control holds in truth", d.Claim.Expect)
	case "force":
		truth, of, both = fmt.Sprintf("If it holds %v times that in the mean", d.Claim.Expect), "of the facing", "it"
	}
	fmt.Fprintf(w, "  %s, and forces scatter by %s,\n", truth, spread)
	fmt.Fprintf(w, "  %s %s show it with power %s.\n", stepText(d.Needed), of, powerText(d.Needed.Power))
	if d.Claim.Kind == "ratio" && d.Facings > 2 {
		fmt.Fprintf(w, "  (It is judged beside all %d facings, with as many pulls of each.)\n", d.Facings)
	}
	fmt.Fprintf(w, "  The plan has %s", stepText(d.Planned))
	switch {
	case d.Planned.Power == 0:
		fmt.Fprint(w, ", from which there is no interval.\n\n")
	default:
		fmt.Fprintf(w, ": power %s.\n\n", powerText(d.Planned.Power))
	}
	fmt.Fprintf(w, "   samples  pulls of each  pulls of %-4s  power\n", both)
	steps := append(slices.Clone(d.Table), d.Ways...)
	slices.SortFunc(steps, func(a, b plan.Step) int {
		return cmp.Or(cmp.Compare(a.Pulls, b.Pulls), cmp.Compare(a.Samples, b.Samples))
	})
	for _, s := range slices.Compact(steps) {
		samples := "-"
		if s.Samples > 0 {
			samples = strconv.Itoa(s.Samples)
		}
		fmt.Fprintf(w, "  %8s  %13d  %13d   %s\n", samples, s.Each, s.Pulls, powerText(s.Power))
	}
}

// powerText never rounds a power up to certainty.
func powerText(p float64) string {
	if p > 0.99 {
		return "over 0.99"
	}
	return strconv.FormatFloat(p, 'f', 2, 64)
}

// stepText words one design.
func stepText(s plan.Step) string {
	if s.Samples == 0 {
		return counted(s.Each, "pull")
	}
	return fmt.Sprintf("%s with %s each", counted(s.Samples, "sample"), counted(s.Each, "pull"))
}
