package analysis

// WarningCode is one kind of remark that Analyse can make.
type WarningCode struct {
	Code    string
	Meaning string
}

// WarningCodes lists every remark that Analyse can make, for manuals. Codes
// stay as they are once released; texts may change.
var WarningCodes = []WarningCode{
	{"all-held", "no pull of a facing slipped, so there is only a lower bound"},
	{"bound-only", "what held pulls say of a ratio: a lower bound without an interval"},
	{"clamp-mixed", "some clamp forces measured, some computed: screw friction does not quite cancel in a ratio"},
	{"clamp-uncertain", "clamp force computed from the handle weight; mu is uncertain with it, ratios are not"},
	{"drift", "the grip changes over the run order"},
	{"facing-aliased", "no block links a facing with the control, so their difference cannot be told from the blocks'"},
	{"large-scatter", "a facing's pulls scatter so much that readings may stand at the wrong pulls, or two conditions are mixed"},
	{"mu-implausible", "a friction coefficient that jaw faces hardly have: handle, screw, arm or units are usually wrong"},
	{"no-brown-forsythe", "the test for equal spread cannot be made"},
	{"no-clamp", "the clamp force is not known, so mu is not"},
	{"no-drift", "the slope on run order cannot be had"},
	{"no-group-tests", "the classical tests of groups do not apply"},
	{"no-kruskal-wallis", "the rank test cannot be made"},
	{"no-lasting", "how long a facing lasts cannot be said"},
	{"no-permutation", "the permutation test does not apply"},
	{"no-proportionality", "the slope of force against squeeze cannot be had"},
	{"no-pulls", "a facing of the study without a pull that tells something"},
	{"no-shapiro-wilk", "the residuals cannot be tested for normality"},
	{"no-spread-by-facing", "a scatter for each facing was asked for and cannot be had"},
	{"no-bootstrap", "the bootstrap was asked for and does not apply"},
	{"no-wear", "the slope on clampings cannot be had"},
	{"no-welch", "Welch's test cannot be made"},
	{"no-window", "the clamp window cannot be had from the cut and the part described"},
	{"not-converged", "the fit found no maximum"},
	{"not-normal", "the residuals are not normal"},
	{"not-proportional", "force does not follow squeeze in proportion"},
	{"nothing-slipped", "no pull slipped at all"},
	{"one-level", "all pulls at one squeeze"},
	{"one-pull", "one pull of a facing says nothing about scatter"},
	{"one-sample", "one sample of each facing: no interval for the comparison"},
	{"outlier", "a pull reads unlike the others; it stays in"},
	{"sample-missing", "pulls without a sample among pulls with one"},
	{"sample-spread-zero", "samples seem not to differ; the intervals keep the samples' degrees of freedom"},
	{"scatter-unknown", "too many held or too coarse a scale to know the scatter"},
	{"slope-scatter", "a slope stands without an interval"},
	{"some-drift", "run order is recorded for some pulls only"},
	{"some-wear", "clampings are recorded for some pulls only"},
	{"too-few-pulls", "too few slipped pulls for any interval"},
	{"unequal-spread", "facings scatter differently"},
	{"wear", "the grip changes with use"},
	{"zero-spread", "pulls that read the same: no scatter, no interval"},
}
