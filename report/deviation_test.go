package report_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"griptrial/analysis"
	"griptrial/analysis/trial"
	"griptrial/report"
	"griptrial/report/internal/example"
)

// planned is a study of four planned pulls, pulled as the orders say.
func planned(orders ...int) report.Input {
	in := report.Input{Force: example.Input().Force}
	facings := []string{"ground steel", "bonded P240 abrasive cloth"}
	for i := range 4 {
		in.Plan = append(in.Plan, trial.PlannedPull{Order: i + 1, Facing: facings[i%2], Sample: "1", Level: "firm"})
	}
	for i, n := range orders {
		p := analysis.PullResult{Pull: i + 1, Order: analysis.Number(n), Outcome: "slipped", Sample: "1", Level: "firm"}
		if n >= 1 && n <= 4 {
			p.Facing = in.Plan[n-1].Facing
		}
		in.Results.Pulls = append(in.Results.Pulls, p)
	}
	in.Results.Facings = []analysis.FacingResult{{Facing: facings[0], Slipped: len(orders)}}
	return in
}

func TestDeviations(t *testing.T) {
	says := func(in report.Input) string { return strings.Join(in.Deviations(), "\n") }
	assert.Equal(t, "None: all 4 planned pulls were made once, in the order that was drawn.", says(planned(1, 2, 3, 4)))
	assert.Equal(t, "1 of 4 planned pulls gave no result: number 4 (bonded P240 abrasive cloth, sample 1, firm).", says(planned(1, 2, 3)))
	assert.Equal(t, "Pull 4 was made later than its place in the order.", says(planned(1, 3, 4, 2)))
	in := planned(1, 2, 2, 3, 4)
	in.Results.Pulls[1].Outcome = "void"
	in.Results.Facings[0].Void = 1
	assert.Equal(t, "The planned pull number 2 was tried more than once.\n1 pull is void and without a value; the reason stands in the table of pulls.",
		strings.Replace(says(in), "number 2 (pulls 2 and 3)", "number 2", 1))
	in = planned(1, 2, 3, 4)
	in.Results.Pulls[3].Outcome, in.Results.Pulls[3].Note, in.Skipped = "void", "blank broke", map[int]bool{4: true}
	assert.Contains(t, says(in), "number 4 (bonded P240 abrasive cloth, sample 1, firm; skipped: blank broke)")
	in = planned(1, 2, 3, 4, 0)
	assert.Equal(t, "Pull 5 stands outside the plan.", says(in))
	in = planned(1, 2, 3, 4)
	in.Results.Pulls[2].Level = "light"
	assert.Equal(t, "Pull 3 (planned: ground steel, sample 1, firm) was made otherwise than planned.", says(in))
	in.Plan = nil
	in.Superseded = []report.Superseded{{Pull: 1}, {Pull: 2}}
	in.Bench = []report.Looked{{What: "results", Time: time.Date(2026, 3, 14, 11, 5, 0, 0, time.UTC)}, {What: "mark", Pull: 3}}
	got := says(in)
	for _, want := range []string{"No run order was drawn", "2 rows were corrected", "looked at during the trial, on 14 March 2026, 11:05", "moved the slip point of 1 pull"} {
		assert.Contains(t, got, want)
	}
	assert.Equal(t, "Nothing was pulled yet.", says(report.Input{}))
}

// Every clause has its place, and what nobody gave is seen to be missing.
func TestItems(t *testing.T) {
	in := example.Input()
	in.Study.Report = trial.Particulars{Laboratory: "Example Jaws Ltd", Issued: "2026-03-20", AuthorisedBy: "A. Fitter, foreman"}
	says, missing := map[string]string{}, 0
	for _, i := range in.Items(report.Places{Limits: "11"}) {
		assert.Equal(t, i.Missing, i.Says == report.NotGiven, i.What)
		says[i.Clause] = i.Says
		if i.Missing {
			missing++
		}
	}
	for _, letter := range "abcdefghijklmnop" {
		assert.NotEmpty(t, says["7.8.2.1 "+string(letter)], string(letter))
	}
	assert.Equal(t, "Example Jaws Ltd", says["7.8.2.1 b"])
	assert.Equal(t, "20 March 2026", says["7.8.2.1 j"])
	assert.Equal(t, "14 March 2026", says["7.8.2.1 i"])
	assert.Equal(t, report.NotGiven, says["7.8.2.1 e"])
	assert.Contains(t, says["7.8.2.1 l"], "only to the items tested, as stated under 11")
	assert.Contains(t, says["7.8.6"], "whole 95 % interval")
	assert.Equal(t, 7, missing, "place, number, customer, items, receipt, sampling, conditions")
}

func TestTraceability(t *testing.T) {
	in := example.Input()
	assert.Contains(t, in.Traceability()[0][1], "2026-03-14.csv is named in study.toml and was not found")
	in.Study.Scale.Calibration = ""
	assert.Contains(t, in.Traceability()[0][1], "no calibration is part of the study")
	assert.Equal(t, report.NotGiven, in.Traceability()[1][1])
	in.Study.Scale.U = 0.005
	assert.Equal(t, "relative standard uncertainty 0.50 %", in.Traceability()[1][1])
	in.Cell = &report.Calibration{File: "cell.csv", Cell: "C1", Date: "2026-03-13", Points: 11, Greatest: 490.3325, SpanU: 0.0004, WeightsU: 5e-5, ReadingU: 0.098, Notes: [][2]string{{"temperature", "21 degrees"}}}
	says := map[string]string{}
	for _, f := range in.Traceability() {
		says[f[0]] = f[1]
	}
	assert.Equal(t, "13 March 2026", says["Date of calibration"])
	assert.Equal(t, "11 points, up to 50.0 kgf", says["Loads"])
	assert.Contains(t, says["Span"], "0.040 %")
	assert.Equal(t, report.NotGiven, says["Traceability of the weights"])
	assert.Equal(t, "21 degrees", says["Temperature"])
	in.Cell.Notes = append(in.Cell.Notes, [2]string{"traceability", "certificate 1234 of the weights"})
	assert.Contains(t, in.Traceability()[len(in.Traceability())-1][1], "certificate 1234")
}
