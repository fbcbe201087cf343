package report

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"griptrial/analysis"
)

// A remark that only lacks a check is not said to bear on the verdict, and what
// the reports know of codes is about codes that there are.
func TestRemarks(t *testing.T) {
	in := Input{}
	known := map[string]bool{}
	for _, c := range analysis.WarningCodes {
		known[c.Code] = true
	}
	codes := slices.Concat(unchecked, doubtful)
	for code := range heads {
		codes = append(codes, code)
	}
	for _, code := range codes {
		assert.True(t, known[code], code)
	}
	in.Results.Warnings = []analysis.Warning{
		{Code: "outlier", Text: "pull 7 (steel) reads unlike the others."}, {Code: "scatter-unknown", Text: "so many pulls held."}, {Code: "slope-scatter", Text: "a slope stands without an interval."},
	}
	grave, checks := in.Remarks()
	assert.Equal(t, []string{"One pull is unlike the others", "How much the pulls scatter is not known"}, []string{grave[0].Head, grave[1].Head})
	assert.Equal(t, "Pull 7 (steel) reads unlike the others.", grave[0].Text)
	assert.Equal(t, "slope-scatter", checks[0].Code)
	assert.Contains(t, strings.Join(in.Card().Notes, " "), "less sure")
	in.Results.Warnings = in.Results.Warnings[2:]
	assert.NotContains(t, strings.Join(in.Card().Notes, " "), "less sure")
}
