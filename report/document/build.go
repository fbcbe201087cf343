package document

import (
	"fmt"
	"strings"

	"griptrial/analysis/trial"
	"griptrial/report"
	"griptrial/report/figure"
)

// sections of the document, in their order; a heading bears its number.
var sections = []struct{ id, name string }{
	{"claim", "Claim and verdict"},
	{"items", "What this report names, and what it does not"},
	{"method", "Method and terms"},
	{"rig", "Set-up, calibration and traceability"},
	{"plan", "Plan and randomisation"},
	{"results", "Results"},
	{"pulls", "Every pull"},
	{"models", "Models and what they rest on"},
	{"budget", "Uncertainty budget"},
	{"deviations", "Deviations from the plan"},
	{"limits", "Limits of validity"},
	{"data", "Raw data, and how to redo this"},
	{"traces", "Every trace"},
}

// section starts a section.
func (d *document) section(id string) {
	for i, s := range sections {
		if s.id == id {
			d.heading(0, id, fmt.Sprintf("%d  %s", i+1, s.name))
			return
		}
	}
	panic("document: no section " + id)
}

// at is how a text points to a section.
func at(id string) string {
	for i, s := range sections {
		if s.id == id {
			return fmt.Sprintf("section %d", i+1)
		}
	}
	panic("document: no section " + id)
}

// build makes the document, with figures laid out for a width in points.
func build(in report.Input, wide float64) document {
	name := report.Brief(in.Title(), 200)
	d := document{Title: name + ": validation of a grip trial", Subject: "Validation of a grip trial"}
	d.front(in, name)
	d.items(in)
	d.method(in)
	d.rig(in)
	d.plan(in)
	d.results(in, wide)
	d.pulls(in)
	d.models(in, wide)
	d.budget(in, wide)
	d.section("deviations")
	d.list(items(in.Deviations()))
	d.limits(in)
	d.data(in)
	d.traces(in)
	d.add(part{Kind: text, Style: quiet, Text: "End of the report " + number(in, name) + "."})
	return d
}

// number is what the report is called by.
func number(in report.Input, name string) string {
	if n := in.Study.Report.Number; n != "" {
		return report.Plain(n)
	}
	return name
}

func items(texts []string) []item {
	var out []item
	for _, t := range texts {
		out = append(out, item{Text: t})
	}
	return out
}

// front says what the trial showed.
func (d *document) front(in report.Input, name string) {
	d.add(part{Kind: text, Style: quiet, Text: "Validation of a grip trial"}, part{Kind: text, Style: title, Text: name})
	if in.Study.Question != "" {
		d.say(report.Plain(in.Study.Question))
	}
	var line []string
	for _, t := range []string{in.Study.Report.Number, in.Study.Report.Laboratory} {
		if t != "" {
			line = append(line, report.Plain(t))
		}
	}
	dates := in.Dates()
	if dates == "" {
		dates = in.Date()
	}
	d.add(part{Kind: text, Style: quiet, Text: strings.Join(append(line, dates, in.Ended()), " · ")})
	if in.Remark != "" {
		d.add(part{Kind: text, Style: strong, Text: report.Plain(in.Remark)})
	}
	d.section("claim")
	verdict := part{Kind: framed}
	for i, t := range in.Verdict().Lines() {
		p := part{Kind: text, Text: t}
		if i == 0 {
			p.Style = answer
		}
		verdict.Parts = append(verdict.Parts, p)
	}
	d.add(verdict)
	if len(in.Results.Claims) == 0 {
		d.say("The study makes no claim beforehand, so there is none to judge.")
	} else {
		var rows []row
		for _, c := range in.Results.Claims {
			bounds := report.Dash
			if c.Lower.Known() && c.Upper.Known() {
				bounds = report.Short(float64(c.Lower), 3) + " to " + report.Short(float64(c.Upper), 3)
			}
			rows = append(rows, row{Cells: []string{report.Sentence(report.Plain(c.Text)), c.Verdict, report.Plain(c.Reason), bounds}})
		}
		d.table([]column{{Name: "claim", Share: 5, Typed: true}, {Name: "verdict", Share: 1.6}, {Name: "why", Share: 4}, {Name: "interval", Share: 2, Number: true}}, rows)
	}
	if grave, _ := in.Remarks(); len(grave) > 0 {
		d.heading(1, "remarks", "Remarks on the data")
		d.list(remarks(grave))
	}
}

func remarks(list []report.Remark) []item {
	var out []item
	for _, r := range list {
		out = append(out, item{Head: r.Head, Text: r.Text, Code: r.Code})
	}
	return out
}

// items sets what a report of a test names.
func (d *document) items(in report.Input) {
	d.section("items")
	d.say("The items that ISO/IEC 17025:2017, 7.8.2 and 7.8.3, asks of the report of a test, in other words than its own. What nobody gave is marked; table [report] of study.toml takes it. Naming the clauses claims no accreditation.")
	var rows []row
	missing := 0
	for _, i := range in.Items(report.Places{Claim: at("claim"), Method: at("method"), Rig: at("rig"), Results: at("results"), Pulls: at("pulls"),
		Budget: at("budget"), Deviations: at("deviations"), Limits: at("limits")}) {
		rows = append(rows, row{Cells: []string{i.Clause, i.What, i.Says}, Missing: i.Missing})
		if i.Missing {
			missing++
		}
	}
	d.table([]column{{Name: "clause", Share: 1}, {Name: "item", Share: 2.6}, {Name: "as given", Share: 4, Typed: true}}, rows)
	if missing > 0 {
		d.say(fmt.Sprintf("Not given: %d of %d items.", missing, len(rows)))
	}
	d.say("This report is of use only as a whole; parts of it may mislead.")
}

func (d *document) method(in report.Input) {
	d.section("method")
	if m := in.Study.Report.Method; m != "" {
		d.say("Method: " + report.Plain(m) + ".")
	}
	d.say("A part is clamped between the faced jaws and pulled until it moves. The force at which it gives way, against the clamp force, says how well the facing grips.")
	d.say(in.Procedure()...)
	var rows []row
	for _, t := range report.Terms {
		rows = append(rows, row{Cells: []string{t.Word, t.Means, t.Standard}})
	}
	d.table([]column{{Name: "word", Share: 1.2}, {Name: "what it means here", Share: 4.4}, {Name: "standard term", Share: 2.4}}, rows)
}

func (d *document) rig(in report.Input) {
	d.section("rig")
	if setup := in.Setup(); len(setup) > 0 {
		d.pairs("what", "as recorded", setup, "")
	} else {
		d.say("The set-up was not recorded.")
	}
	d.heading(1, "calibration", "Calibration and traceability")
	d.pairs("what", "as recorded", in.Traceability(), report.NotGiven)
	d.heading(1, "looked", "Looked at at the vise")
	var rows []row
	for _, l := range in.Bench {
		if l.What == "check" || l.What == "weight" {
			what := map[string]string{"check": "check of the set-up", "weight": "known weight"}[l.What]
			rows = append(rows, row{Cells: []string{l.Time.Format("2006-01-02 15:04"), what, report.Plain(l.Text)}})
		}
	}
	if len(rows) == 0 {
		d.say("No check of the set-up and no known weight was recorded.")
		return
	}
	d.table([]column{{Name: "when", Share: 1.4}, {Name: "what", Share: 1.6}, {Name: "as recorded", Share: 5, Typed: true}}, rows)
}

// mostPlanned is the longest run order that is written out.
const mostPlanned = 400

func (d *document) plan(in report.Input) {
	d.section("plan")
	if len(in.Plan) == 0 {
		d.say("No run order was drawn beforehand.")
		return
	}
	d.say(fmt.Sprintf("%d pulls were planned.", len(in.Plan)))
	d.say(in.Randomisation()...)
	if len(in.Plan) > mostPlanned {
		d.say("The order stands in plan.csv, whose checksum is under " + at("data") + ".")
		return
	}
	pulls := make([][]string, len(in.Plan)+1)
	for i, p := range in.Results.Pulls {
		if n := int(p.Order); p.Order.Known() && n >= 1 && n <= len(in.Plan) {
			number := p.Pull
			if number == 0 {
				number = i + 1
			}
			pulls[n] = append(pulls[n], fmt.Sprintf("%d %s", number, p.Outcome))
		}
	}
	var rows []row
	for i, p := range in.Plan {
		r := row{Cells: []string{fmt.Sprint(i + 1), p.Block, report.Brief(p.Facing, 120), p.Sample, p.Level, strings.Join(pulls[i+1], ", ")}}
		if r.Cells[5] == "" {
			r.Cells[5], r.Quiet = "not pulled", true
		}
		rows = append(rows, r)
	}
	d.table([]column{{Name: "order", Share: 0.9, Number: true}, {Name: "block", Share: 1, Typed: true}, {Name: "facing", Share: 3.4, Typed: true},
		{Name: "sample", Share: 1.2, Typed: true}, {Name: "level", Share: 1.4, Typed: true}, {Name: "pull and outcome", Share: 2.6}}, rows)
}

func (d *document) limits(in report.Input) {
	d.section("limits")
	d.list(items(in.Limits()))
	if _, checks := in.Remarks(); len(checks) > 0 {
		d.heading(1, "unchecked", "What could not be checked")
		d.list(remarks(checks))
	}
	d.heading(1, "cautions", "Cautions")
	d.list(items(trial.Cautions))
}

func (d *document) data(in report.Input) {
	d.section("data")
	if in.Command != "" {
		d.say("This document is made again, to the byte, by")
		d.add(part{Kind: command, Text: report.Plain(in.Again("document"))})
	}
	if len(in.Files) == 0 {
		d.say("No raw file is named: the readings came from a pipe.")
		return
	}
	d.say(fmt.Sprintf("SHA-256 of every raw file (%d):", len(in.Files)))
	var rows []row
	for _, f := range in.Files {
		rows = append(rows, row{Cells: []string{f.Name, f.SHA256}})
	}
	d.table([]column{{Name: "file", Share: 2, Typed: true}, {Name: "SHA-256", Share: 5, Mono: true}}, rows)
}

func (d *document) traces(in report.Input) {
	d.section("traces")
	if len(in.Traces) == 0 {
		d.say("No record of force against time is part of this study.")
		return
	}
	d.say("Force against time, each to its own scale. The ring marks where the part slipped; an arrow, how far a pull that held was taken.")
	p := part{Kind: small}
	for _, tr := range in.Traces {
		p.Pictures = append(p.Pictures, figure.Trace(in, tr))
	}
	d.add(p)
}
