// Package report says what a trial found to the people who act on it.
//
// This package holds what every report shares: the Input, the verdict in
// words, and honest numbers with their units. It does no statistics: each
// figure comes from the Results that it is given. The packages below it draw
// and write:
//
//	figure    pictures to an io.Writer: SVG, PNG, PDF
//	page      one self-contained HTML page with the shop card first
//	document  the validation document as PDF
//	post      a Markdown post with its figures beside it
//
// Same input, same bytes: dates come from the study and never from the clock.
package report

import (
	"time"

	"griptrial/analysis"
	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
	"griptrial/analysis/window"
)

// Input is all that a report is made of.
type Input struct {
	Study      trial.Study
	Results    analysis.Results
	Traces     []Trace
	Bands      []window.Band // squeeze for the study's cut; nil: it describes none
	Force      unit.Unit     // unit in which forces are shown
	Made       time.Time     // date of the study's last pull; zero: not recorded
	Files      []RawFile
	Superseded []Superseded
	Command    string // command line that makes the reports again; each adds its own format
	Remark     string // stands on top of every report, such as "Simulated rig."; "": nothing
}

// Again is the command line that makes one format of the report again, such as
// "document"; "": not known.
func (in Input) Again(format string) string {
	if in.Command == "" {
		return ""
	}
	return in.Command + " --format " + format
}

// Trace is the record of one pull and where it gave way.
type Trace struct {
	Pull    int
	Facing  string
	Outcome string // as it stands in the ledger, where a person may have overruled the proposal
	Trace   trial.Trace
	Slip    slip.Result
	SHA256  string
}

// RawFile is a file of the study, with its checksum in hexadecimal.
type RawFile struct {
	Name, SHA256 string
}

// Superseded is a ledger row that a later one replaced.
type Superseded struct {
	Pull    int
	Facing  string
	Outcome string
	Force   float64 // N; NaN: not recorded
	Why     string  // as the later row says
}
