package study

import (
	"time"

	"griptrial/analysis/trial"
)

// reportFile is the table [report] of study.toml.
type reportFile struct {
	Number       string `toml:"number"`
	Laboratory   string `toml:"laboratory"`
	Address      string `toml:"address"`
	Location     string `toml:"location"`
	Customer     string `toml:"customer"`
	Contact      string `toml:"contact"`
	Items        string `toml:"items"`
	Received     string `toml:"received"`
	Issued       string `toml:"issued"`
	Method       string `toml:"method"`
	Conditions   string `toml:"conditions"`
	Sampling     string `toml:"sampling"`
	DecisionRule string `toml:"decision_rule"`
	Provided     string `toml:"provided"`
	External     string `toml:"external"`
	Opinion      string `toml:"opinion"`
	AuthorisedBy string `toml:"authorised_by"`
}

// particulars lifts the table [report].
func (c *checker) particulars(f *setupFile, s *trial.Study) {
	s.Report = trial.Particulars(f.Report)
	for _, d := range []struct{ key, date string }{{"report.received", f.Report.Received}, {"report.issued", f.Report.Issued}} {
		if _, err := time.Parse(time.DateOnly, d.date); d.date != "" && err != nil {
			c.fail(d.key, "%q is not a date; write it as \"2026-03-14\"", d.date)
		}
	}
	if r, i := f.Report.Received, f.Report.Issued; r != "" && i != "" && i < r {
		c.fail("report.issued", "the report is dated %s, before its items came (%s)", i, r)
	}
}

// report writes the table [report]: what is not given stands as a comment.
func (w *templateWriter) report(p trial.Particulars) {
	w.line("")
	w.line("# What the validation document names besides the trial. What is left out stands")
	w.line("# there as not given, for a reader to see. Dates are text: \"2026-03-14\".")
	if p == (trial.Particulars{}) {
		w.line("# [report]")
	} else {
		w.line("[report]")
	}
	for _, f := range []struct{ key, value, example string }{
		{"number", p.Number, "GT-2026-014"},
		{"laboratory", p.Laboratory, "Example Jaws Ltd, test shop"},
		{"address", p.Address, "1 Mill Lane, Sampletown"},
		{"location", p.Location, "bay 3, vise no. 2"},
		{"customer", p.Customer, ""},
		{"contact", p.Contact, ""},
		{"items", p.Items, "12 acrylic blanks, sawn, wiped dry; strips A1 to A6, new"},
		{"received", p.Received, "2026-03-10"},
		{"issued", p.Issued, "2026-03-20"},
		{"method", p.Method, "shop procedure SP-12, edition 3"},
		{"conditions", p.Conditions, "21 to 23 degrees C, dry, no oil"},
		{"sampling", p.Sampling, "blanks taken at random from one sheet"},
		{"decision_rule", p.DecisionRule, "a claim is shown where the whole interval supports it"},
		{"provided", p.Provided, "the blanks, and what they are made of"},
		{"external", p.External, ""},
		{"opinion", p.Opinion, ""},
		{"authorised_by", p.AuthorisedBy, "name, function"},
	} {
		if f.value != "" {
			w.line("%s = %s", f.key, basic(f.value))
			continue
		}
		w.line("# %s = %s", f.key, basic(f.example))
	}
}
