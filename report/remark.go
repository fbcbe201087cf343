package report

import (
	"slices"

	"griptrial/analysis"
)

// heads say in a few plain words what a remark on the data means for whoever
// acts on it, by code. The text of the remark says what to do.
var heads = map[string]string{
	"all-held":           "A facing never let go",
	"bound-only":         "Only a lower bound",
	"clamp-uncertain":    "The coefficient is less sure than the ratios",
	"drift":              "The grip drifted over the run",
	"facing-aliased":     "A facing and a session cannot be told apart",
	"large-scatter":      "Pulls on one facing differ very much",
	"mu-implausible":     "Handle, screw or a unit looks wrong",
	"no-clamp":           "The squeeze itself is not known",
	"no-pulls":           "A facing without pulls",
	"not-converged":      "The model did not settle",
	"not-normal":         "The scatter has an unusual shape",
	"not-proportional":   "Twice the squeeze does not give twice the hold",
	"nothing-slipped":    "Nothing slipped",
	"one-level":          "Only one squeeze was tried",
	"one-pull":           "One pull says nothing about scatter",
	"one-sample":         "One sample of a facing is not the facing",
	"outlier":            "One pull is unlike the others",
	"sample-missing":     "Some pulls do not say which sample",
	"sample-spread-zero": "Too few samples to see how they differ",
	"scatter-unknown":    "How much the pulls scatter is not known",
	"slope-scatter":      "A check has no range",
	"too-few-pulls":      "Too few pulls",
	"unequal-spread":     "Facings scatter differently",
	"wear":               "The grip changes with use",
	"zero-spread":        "Pulls that all read the same",
}

// unchecked are the remarks that only say which check could not be made, or
// made in full.
var unchecked = []string{
	"no-group-tests", "no-welch", "no-brown-forsythe", "no-kruskal-wallis", "no-shapiro-wilk", "no-permutation", "no-proportionality",
	"no-drift", "no-wear", "no-lasting", "some-drift", "some-wear", "slope-scatter",
}

// doubtful are the remarks that make the stated range less sure than it looks.
var doubtful = []string{
	"drift", "facing-aliased", "large-scatter", "not-converged", "not-normal", "not-proportional", "one-sample", "outlier", "sample-missing", "scatter-unknown",
	"unequal-spread", "wear",
}

// Remark is a remark on the data, as the reports show it.
type Remark struct {
	Head string // what it means, in a few words; "": the text says it all
	Text string
	Code string
}

// Remarks sorts the remarks on the data: those that bear on the verdict, and
// those that only say which check could not be made.
func (in Input) Remarks() (grave, checks []Remark) {
	for _, w := range in.Results.Warnings {
		r := Remark{heads[w.Code], Sentence(Plain(w.Text)), w.Code}
		if slices.Contains(unchecked, w.Code) {
			checks = append(checks, r)
			continue
		}
		grave = append(grave, r)
	}
	return grave, checks
}

// Warnings is Remarks without their heads.
func (in Input) Warnings() (grave, checks []analysis.Warning) {
	plain := func(list []Remark) (out []analysis.Warning) {
		for _, r := range list {
			out = append(out, analysis.Warning{Code: r.Code, Text: r.Text})
		}
		return out
	}
	g, c := in.Remarks()
	return plain(g), plain(c)
}

// doubts reports whether a remark makes the stated range less sure than it
// looks.
func (in Input) doubts() bool {
	return slices.ContainsFunc(in.Results.Warnings, func(w analysis.Warning) bool { return slices.Contains(doubtful, w.Code) })
}
