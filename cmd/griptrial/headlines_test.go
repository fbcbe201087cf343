package main

import (
	"encoding/csv"
	"encoding/json"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis"
	"griptrial/analysis/unit"
	"griptrial/report"
)

// TestHeadlineNumbers: every ratio, grip and squeeze of the results stands in
// the terminal, in the comparison (text and page) and, to the last digit, in
// the tables that are given away.
func TestHeadlineNumbers(t *testing.T) {
	dir := madeStudy(t, filepath.Join(t.TempDir(), "blanks"), []string{"ground steel", "bonded P240 abrasive cloth", "cast polyurethane sheet", "fine cross-cut serration"}, 80)
	run := func(args ...string) string {
		code, out, talk := exported(t, args...)
		require.Zero(t, code, talk)
		return out
	}
	text := run("analyse", dir)
	changed := run("report", "--compare", dir, dir)
	run("export", dir)
	page, err := os.ReadFile(filepath.Join(dir, "reports", "compare.html"))
	require.NoError(t, err)
	shown := html.UnescapeString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(string(page), " "))

	type number struct{ Estimate, Lower, Upper float64 }
	var r struct {
		Control string
		Facings []struct {
			Facing string
			Grip   number
		}
		AgainstControl []struct {
			Facing              string
			Ratio, Lower, Upper float64
		} `json:"against_control"`
		LessSqueeze []struct {
			Facing string
			Weight number `json:"weight_kg"`
		} `json:"less_squeeze"`
	}
	require.NoError(t, json.Unmarshal([]byte(run("analyse", "--json", dir)), &r))
	require.Len(t, r.AgainstControl, 3)

	file, err := os.Open(filepath.Join(dir, "reports", "data", "facings.csv"))
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	at := map[string]map[string]string{}
	for _, row := range rows[1:] {
		at[row[0]] = map[string]string{}
		for i, head := range rows[0] {
			at[row[0]][head] = row[i]
		}
	}
	exact := func(facing, head string, want float64) {
		got, err := strconv.ParseFloat(at[facing][head], 64)
		require.NoError(t, err, "%s of %s", head, facing)
		assert.Equal(t, want, got, "%s of %s", head, facing)
	}
	newton, err := unit.Lookup(unit.Force, "N")
	require.NoError(t, err)
	_, _, perWeight := report.Input{Force: newton, Results: analysis.Results{Quantity: analysis.PerWeight}}.Grip()
	written := func(n number, scale func(float64) float64) string {
		return report.Write(analysis.Estimate{Estimate: analysis.Number(n.Estimate), Lower: analysis.Number(n.Lower), Upper: analysis.Number(n.Upper)}, scale).String()
	}
	for _, f := range r.Facings {
		grip := written(f.Grip, perWeight)
		for name, document := range map[string]string{"terminal": text, "comparison": changed, "page": shown} {
			assert.Contains(t, document, grip, "grip of %s in the %s", f.Facing, name)
		}
		exact(f.Facing, "grip", f.Grip.Estimate)
		exact(f.Facing, "grip lower", f.Grip.Lower)
		exact(f.Facing, "grip upper", f.Grip.Upper)
	}
	for _, x := range r.AgainstControl {
		ratio := written(number{x.Ratio, x.Lower, x.Upper}, report.Same)
		for name, document := range map[string]string{"terminal": text, "comparison": changed, "page": shown} {
			assert.Contains(t, document, ratio, "ratio of %s in the %s", x.Facing, name)
		}
		exact(x.Facing, "ratio", x.Ratio)
		exact(x.Facing, "ratio lower", x.Lower)
		exact(x.Facing, "ratio upper", x.Upper)
	}
	kilo := report.Input{Force: newton}
	for _, s := range r.LessSqueeze {
		hang := kilo.SafeWeight(analysis.Squeeze{Weight: analysis.Estimate{Estimate: analysis.Number(s.Weight.Estimate), Lower: analysis.Number(s.Weight.Lower), Upper: analysis.Number(s.Weight.Upper)}})
		assert.Regexp(t, regexp.QuoteMeta(s.Facing)+" +"+regexp.QuoteMeta(hang+" "), text, "what to hang with %s", s.Facing)
		assert.Contains(t, text, written(s.Weight, report.Same)+" kg", "squeeze of %s in the terminal", s.Facing)
		exact(s.Facing, "handle weight [kg]", s.Weight.Estimate)
	}
	assert.Equal(t, "true", at[r.Control]["control"])
	assert.False(t, strings.Contains(text, "NaN"))
}

// TestSameRemarks: what every report says bears on the verdict, the terminal
// says too; only a check that was not made is cut to a word there.
func TestSameRemarks(t *testing.T) {
	for code := range unchecked {
		in := report.Input{Results: analysis.Results{Warnings: []analysis.Warning{{Code: code, Text: "x"}}}}
		grave, _ := in.Remarks()
		assert.Empty(t, grave, code)
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "one-level.csv")
	require.NoError(t, os.WriteFile(file, []byte("facing,force [kgf],weight [kg]\nground steel,10,5\nground steel,11,5\nP240 cloth,30,5\nP240 cloth,32,5\n"), 0o666))
	code, out, talk := exported(t, "analyse", file)
	require.Zero(t, code, talk)
	assert.Contains(t, strings.Join(strings.Fields(out), " "), "Pull at a second clamp level.")
}
