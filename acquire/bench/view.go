package bench

import (
	"time"

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
	Weighing              // a known weight is hung on the cell, to see that it reads true
	Pulling               // under load
	Judging               // a person is to confirm or overrule
	Typing                // a reading of a hand scale is to be typed
	Done                  // every planned pull is done; the last can still be undone
	Over                  // the session has ended
)

// String names the phase.
func (p Phase) String() string {
	return [...]string{"checks", "mounting", "settling", "ready", "weighing", "pulling", "judging", "typing", "done", "over"}[p]
}

// View is what a person is shown of a session. It is a value: what its slices
// hold is never changed afterwards.
type View struct {
	Step   int // grows with every phase and every command that is done once
	Phase  Phase
	Unit   unit.Unit // of forces, for display
	Places int       // decimals of a force in Unit that are worth showing while it changes
	Typed  bool      // readings are typed; there is no cell
	Cell   Cell
	Checks []Check

	Next      trial.PlannedPull // the pull at hand
	Before    trial.PlannedPull // the pull saved last in this session, undone or not; Order 0: none
	Level     trial.Level       // its clamp level
	Clampings int               // how often its sample was clamped before
	Again     bool              // it was tried before, and was void
	Weigh     bool              // hang a known weight on the cell first: none was in this block
	Done      int               // planned pulls done
	Planned   int               // of so many
	Summary   Summary           // of this session so far
	Left      time.Duration     // until the plan is done, at the pace of this session; 0: not known

	HasForce bool    // Force is known: a tare was taken, and the cell is there
	Force    float64 // N above the tare, at the moment
	Peak     float64 // N, of the pull under way
	Elapsed  float64 // s since the pull began
	State    slip.State
	Load     Load
	Capacity float64 // N, rated load; 0: not known

	Proposal *Proposal // while judging
	Last     *Saved    // the pull saved last in this session
	Notices  []Notice  // what has happened since the view before
}

// Check is one thing to look at before the first pull.
type Check struct {
	Text string
	At   time.Time // when a person ticked it; zero: not yet
}

// Notice is something that has happened.
type Notice struct {
	Text  string
	Grave bool // to be seen at once: overload, a pull not saved, a cable out
}

// Link says how the load cell is connected.
type Link uint8

// The links.
const (
	NoCell  Link = iota // readings are typed
	Waiting             // nothing came yet
	Live                // samples come
	Silent              // none came for a while
	Lost                // the port is gone
)

// String names the link.
func (l Link) String() string { return [...]string{"none", "waiting", "live", "silent", "lost"}[l] }

// Cell is the load cell as the session sees it.
type Cell struct {
	Link Link
	Name string // what the device calls itself; "": not known
	Text string // what happened and what to do; "" while all is well
}

// Load says how the force stands to the cell's rated load.
type Load uint8

// The loads.
const (
	LoadFine Load = iota
	LoadHigh      // from 80 % of the rated load
	LoadOver      // from 100 %
)

// String names the load.
func (l Load) String() string { return [...]string{"fine", "high", "over"}[l] }

// Proposal is what the tool makes of a record.
type Proposal struct {
	Outcome trial.Outcome
	Force   float64 // N; the slip force, or the peak where none was found
	Result  slip.Result
	Why     []string    // the evidence in words
	Doubts  []string    // what is wrong with the record itself
	Trace   trial.Trace // the record on the cell's clock; empty where it cannot be read
	Began   float64     // s on that clock, when the load was first seen
	Tool    *Mark       // the tool's slip point; nil: it found none
	Person  *Mark       // where a person moved it; nil: not moved
}

// Mark is a slip point on a record.
type Mark struct {
	Index int     // of the sample
	T     float64 // s on the cell's clock
	Force float64 // N above rest; of the tool's mark the slip force
}

// Saved is a pull that was saved.
type Saved struct {
	Pull    int
	Planned trial.PlannedPull
	Outcome trial.Outcome
	Force   float64 // N
	Digits  string  // the force as typed, in the study's unit; "": not typed
	Note    string
	Skipped bool // it is left out for good
	Undone  bool // the pull was withdrawn since
}
