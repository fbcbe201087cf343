package page

// Hello is the first event of a stream.
type Hello struct {
	Client string `json:"client"` // give it in every command, and when connecting again
	Role   Role   `json:"role"`
	Page   string `json:"page"` // "vise" or "live"
	Run    string `json:"run"`  // another one after the program was started anew
}

// Role is what a page may do.
type Role string

// The roles.
const (
	Writer  Role = "writer"  // commands; one at a time
	Watcher Role = "watcher" // sees everything but the results so far
)

// RoleChange tells a page that its role, or who has the say, has changed.
type RoleChange struct {
	Role   Role   `json:"role"`
	Writer bool   `json:"writer"` // some page is connected that commands
	Why    string `json:"why"`
}

// State is the whole session but for the force, which is in Live.
type State struct {
	Step     int    `json:"step"`
	Phase    string `json:"phase"` // checks mounting settling ready weighing pulling judging typing done over
	Mode     string `json:"mode"`  // "cell" or "typed"
	Practice bool   `json:"practice"`
	Study    string `json:"study"`    // its name
	Question string `json:"question"` // "" where none is asked
	Unit     string `json:"unit"`     // of every force, as "kgf"
	Places   int    `json:"places"`   // decimals worth showing while the force changes

	Capacity *float64 `json:"capacity"` // rated load of the cell

	Next     *Next     `json:"next"` // the pull at hand; null when none is left
	Progress Progress  `json:"progress"`
	Cell     Cell      `json:"cell"`
	Checks   []Check   `json:"checks"`
	Cautions []string  `json:"cautions"`
	Reminder string    `json:"reminder"` // what to do before the next pull beside mounting, as hanging the check weight; "": nothing
	Proposal *Proposal `json:"proposal"` // while judging
	Last     *Saved    `json:"last"`     // the pull saved last in this session
	Notices  []Notice  `json:"notices"`  // the latest 30, oldest first
	Over     *Over     `json:"over"`     // when the session has ended
}

// Next is the pull at hand.
type Next struct {
	Order     int      `json:"order"`
	Block     string   `json:"block"`
	NewBlock  bool     `json:"new_block"` // the pull before was of another block
	Facing    string   `json:"facing"`
	Sample    string   `json:"sample"` // "": not named
	Level     string   `json:"level"`
	WeightKg  *float64 `json:"weight_kg"` // on the handle; null: the level is not a weight
	ClampN    *float64 `json:"clamp_N"`   // measured clamp force; null: not measured
	Clampings int      `json:"clampings"` // how often the sample was clamped before
	// What changes from the pull before, so that a person sees at a glance what
	// can stay: "facing", "sample", "weight".
	Changes []string `json:"changes"`
	Text    string   `json:"text"` // all of it in a sentence, for a screen reader
	Again   bool     `json:"again"`
}

// Progress is how far the plan is done.
type Progress struct {
	Done        int      `json:"done"`
	Planned     int      `json:"planned"`
	Slipped     int      `json:"slipped"` // saved in this session
	Held        int      `json:"held"`
	Void        int      `json:"void"`
	MinutesLeft *float64 `json:"minutes_left"` // at the pace of this session; null before two pulls
}

// Cell is how the load cell is connected.
type Cell struct {
	State string `json:"state"` // "none" (typed), "waiting" (nothing came yet), "live", "silent", "lost"
	Name  string `json:"name"`  // what the device calls itself; "" not known
	Port  string `json:"port"`  // path or identity
	Text  string `json:"text"`  // what happened and what to do; "" while live
}

// Check is one thing to look at before the first pull.
type Check struct {
	Text string  `json:"text"`
	Done bool    `json:"done"`
	At   *string `json:"at"` // when it was ticked
}

// Proposal is what the tool makes of a record, and where the person moved it.
type Proposal struct {
	Outcome string     `json:"outcome"` // slipped held unclear
	Force   float64    `json:"force"`   // slip force, or the peak
	Low     *float64   `json:"low"`     // 95 % interval of a slip force
	High    *float64   `json:"high"`
	Peak    float64    `json:"peak"`
	Kind    string     `json:"kind"` // sharp stick-slip creep; ""
	Flags   []string   `json:"flags"`
	Tool    *Mark      `json:"tool"`   // the tool's slip point; null where it found none
	Person  *Mark      `json:"person"` // where the person moved it; null: not moved
	Why     []string   `json:"why"`    // the evidence in words, the weightiest first
	Doubts  []string   `json:"doubts"` // what is wrong with the record itself
	Ask     bool       `json:"ask"`    // accept is refused: a person must say which
	Samples int        `json:"samples"`
	Span    [2]float64 `json:"span"` // s, first and last time of the record
}

// Mark is a slip point on the record.
type Mark struct {
	Index int     `json:"index"` // of the sample
	T     float64 `json:"t"`     // s
	Force float64 `json:"force"`
}

// Saved is a pull that was saved.
type Saved struct {
	Pull    int    `json:"pull"`
	Order   int    `json:"order"`
	Facing  string `json:"facing"`
	Sample  string `json:"sample"`
	Level   string `json:"level"`
	Outcome string `json:"outcome"` // slipped held void
	Force   string `json:"force"`   // as it is worth showing, with its unit: "12.31 kgf"; "" for a void pull
	Note    string `json:"note"`
	Undone  bool   `json:"undone"`
	Skipped bool   `json:"skipped"`
	Text    string `json:"text"` // all of it in a sentence
}

// Notice is something that has happened.
type Notice struct {
	ID    int    `json:"id"` // grows
	At    string `json:"at"`
	Text  string `json:"text"`
	Grave bool   `json:"grave"` // overload, not saved, cable out: to be seen at once
}

// Over says how the session ended.
type Over struct {
	Text  string `json:"text"`
	Error string `json:"error"` // "" where it ended as it should
	Left  int    `json:"left"`  // planned pulls still to do
}

// Live is the force and what is new of the trace.
type Live struct {
	Step    int      `json:"step"`
	Force   *float64 `json:"force"` // null: no tare was taken yet, or the cell is not there
	Peak    *float64 `json:"peak"`  // of the pull under way
	Elapsed *float64 `json:"elapsed"`
	Load    string   `json:"load"`   // fine high over, against the rated load
	Motion  string   `json:"motion"` // idle loading slipping ended: what the record looks like so far
	Pull    int      `json:"pull"`   // grows with every record begun; 0: none yet
	From    int      `json:"from"`   // place of the first bucket below in the trace of the pull
	// Trace is [t, least, greatest] for each bucket of time (10 ms, or one
	// sample where they are rarer), with t the time of its first sample. The
	// two seconds before the start have t below zero.
	Trace [][3]float64 `json:"trace"`
}

// Record answers GET /trace: the record between two times, each sample where
// they are few, and otherwise the least and greatest of each bucket in the
// order that they came.
type Record struct {
	Pull    int       `json:"pull"` // as in Live
	From    float64   `json:"from"` // s
	To      float64   `json:"to"`
	Samples int       `json:"samples"` // in the window
	Whole   bool      `json:"whole"`   // T and Force are every sample of it
	T       []float64 `json:"t"`       // s, not falling
	Force   []float64 `json:"force"`
}

// Command is what a person wants.
type Command struct {
	Client string   `json:"client"`
	Step   int      `json:"step"`
	Do     string   `json:"do"`
	Text   string   `json:"text,omitempty"` // note, reason or reading
	N      int      `json:"n,omitempty"`    // of the check, from 0
	On     bool     `json:"on,omitempty"`
	T      *float64 `json:"t,omitempty"`     // s: the mark goes to the nearest sample
	By     int      `json:"by,omitempty"`    // samples that the mark moves
	Reset  bool     `json:"reset,omitempty"` // the mark goes back to the tool's
}

// Answer tells that a command was taken.
type Answer struct {
	Step int    `json:"step"` // of the session now; use it in the next command
	Role Role   `json:"role"`
	Text string `json:"text"` // what there is to say, often ""
}

// Refusal tells that a request was not done.
type Refusal struct {
	Error string `json:"error"` // in plain words, for the person
	Step  int    `json:"step"`  // of the session now; 0 where the page was not let in
}

// Results are the facings' results so far.
type Results struct {
	Text    string   `json:"text"` // what this rests on, and what looking costs
	Facings []Result `json:"facings"`
}

// Result is one facing so far.
type Result struct {
	Facing  string   `json:"facing"`
	Control bool     `json:"control"`
	Slipped int      `json:"slipped"`
	Held    int      `json:"held"`
	Void    int      `json:"void"`
	Ratio   *float64 `json:"ratio"` // grip beside the control's
	Lower   *float64 `json:"lower"` // 95 %
	Upper   *float64 `json:"upper"`
	Text    string   `json:"text"` // why a number is not there; ""
}
