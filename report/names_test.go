package report_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"griptrial/report"
)

func TestPlain(t *testing.T) {
	for in, want := range map[string]string{
		"ground steel":              "ground steel",
		"  cast\tpolyurethane\n":    "cast polyurethane",
		"":                          "(no name)",
		"\x00\x07":                  "(no name)",
		"P240\u202ekcab":            "P240kcab", // would turn the rest of the line round
		"مطاط":                      "مطاط",
		"pad 👩‍🔧":                   "pad 👩‍🔧", // the joiner is part of the sign
		"\xff\xfebroken":            "broken",
		"<script>alert(1)</script>": "<script>alert(1)</script>", // escaping is the writer's job
	} {
		assert.Equal(t, want, report.Plain(in), "%q", in)
	}
	assert.Equal(t, "abcd…", report.Brief("abcdefgh", 5))
	assert.Equal(t, 60, len([]rune(report.Brief(strings.Repeat("ж", 500), 60))))
	assert.Equal(t, "Ground steel", report.Sentence("ground steel"))
	assert.Equal(t, "", report.Sentence(""))
}
