package bench

import (
	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// Phase is where a session stands.
type Phase uint8

// The phases, in their order.
const (
	Checks   Phase = iota // the set-up is to be looked at before the first pull
	Mounting              // the next pull is to be made ready: part, facing, weight, link
	Settling              // the tare is taken, with the link hanging free
	Ready                 // the pull may begin
	Pulling               // under load
	Judging               // a person is to confirm or overrule
	Over                  // the session has ended
)

// String names the phase.
func (p Phase) String() string {
	return [...]string{"checks", "mounting", "settling", "ready", "pulling", "judging", "over"}[p]
}

// View is what a person is shown of a session.
type View struct {
	Step   int // grows with every phase and every command taken
	Phase  Phase
	Unit   unit.Unit // of forces, for display
	Places int       // decimals of a force in Unit that are worth showing while it changes

	Next      trial.PlannedPull // the pull at hand
	Level     trial.Level       // its clamp level
	Clampings int               // how often its sample was clamped before
	Done      int               // planned pulls done
	Planned   int               // of so many

	Force   float64 // N above the tare, at the moment
	Peak    float64 // N, of the pull under way
	Elapsed float64 // s since the pull began
	State   slip.State
	Load    Load

	Proposal *Proposal // while judging
	Last     *Saved    // the pull saved last in this session
	Notices  []string  // what has happened since the view before
}

// Load says how the force stands to the cell's rated load.
type Load uint8

// The loads.
const (
	LoadFine Load = iota
	LoadHigh      // from 80 % of the rated load
	LoadOver      // from 100 %
)

// Proposal is what the tool makes of a record.
type Proposal struct {
	Outcome trial.Outcome
	Force   float64 // N; the slip force, or the peak where none was found
	Result  slip.Result
	Why     []string // the evidence in words
	Doubts  []string // what is wrong with the record itself
}

// Saved is a pull that was saved.
type Saved struct {
	Pull    int
	Planned trial.PlannedPull
	Outcome trial.Outcome
	Force   float64 // N
	Note    string
	Undone  bool // the pull was withdrawn since
}

// Verb is what a person can ask for.
type Verb uint8

// The verbs, with the phases that take them.
const (
	Begin   Verb = iota // the set-up was looked at (checks)
	Tare                // all is mounted, take the tare (mounting, settling, ready)
	Accept              // as proposed (judging)
	Slipped             // it slipped, at Force or the tool's slip point or the peak (judging)
	Held                // it held, at Force or the peak (judging)
	Void                // the pull says nothing; Text is why (judging)
	End                 // the pull is over, judge it (pulling)
	Undo                // withdraw the pull saved last; Text is why (mounting, settling, ready)
	Skip                // leave the planned pull out for good; Text is why (mounting, settling, ready)
	Quit                // end the session (any but pulling)
)

// Command is what a person wants.
type Command struct {
	Verb   Verb
	Text   string  // reason or note
	Force  float64 // N, as typed by the person; 0: as measured
	Digits string  // the same as typed, in the study's unit; "": not typed
}
