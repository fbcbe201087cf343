// Package report says what a trial found to the people who act on it.
//
// This package holds what every report shares: the Input, the verdict in
// words, and honest numbers with their units. It does no statistics: each
// figure comes from the Results that it is given. The packages below it draw
// and write:
//
//	figure    pictures to an io.Writer: SVG, PNG, PDF
//	page      one self-contained HTML page with the shop card first
//	document  the validation document, as PDF and as HTML
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
)

// Input is all that a report is made of.
type Input struct {
	Study      trial.Study
	Results    analysis.Results
	Traces     []Trace
	Force      unit.Unit // unit in which forces are shown
	Made       time.Time // date of the study's last pull; zero: not recorded
	Files      []RawFile
	Superseded []Superseded
	Plan       []trial.PlannedPull // the run order as drawn; nil: none was
	Skipped    map[int]bool        // pulls that were not to be tried again, by number
	Began      time.Time           // date of the study's first pull; zero: not recorded
	Cell       *Calibration        // of the load cell; nil: none
	Bench      []Looked            // what was looked at and done at the vise
	Command    string              // command line that makes the reports again; each adds its own format
	Remark     string              // stands on top of every report, such as "Simulated rig."; "": nothing
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

// Calibration is what is known of the calibration of the load cell.
type Calibration struct {
	File, Cell, Date string
	Points           int
	Greatest         float64     // N, greatest load
	SpanU            float64     // relative standard uncertainty of the span; NaN: two points
	WeightsU         float64     // that all the weights share; 0: not stated
	ReadingU         float64     // N, standard uncertainty of a reading of the greatest load; NaN: not known
	Class            string      // of ISO 376, as an indication; "": cannot be told
	Deviations       [][2]string // such as {"hysteresis", "0.02 %"}
	Notes            [][2]string // other lines of its file
}

// Looked is something looked at or done at the vise beside the pulls.
type Looked struct {
	Time time.Time
	What string // "check", "weight", "mark", "results"
	Pull int    // 0: of no pull
	Text string
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
