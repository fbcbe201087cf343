package trial

// Study is what a trial asks and how it is rigged: study.toml in SI units.
type Study struct {
	Format   int // layout version of the folder
	Name     string
	Question string
	Unit     string // display unit of force: "N", "kgf", "lbf", ...
	Facings  []Facing
	Levels   []Level
	Plan     Plan
	Handle   Handle
	Screw    Screw
	Pull     PullSetup
	Part     []Part // one for each stage of machining; empty: not described
	Cut      []Cut  // likewise
	Scale    Scale
	Claims   []Claim
	Report   Particulars
	// Typed is the unit in which each quantity of study.toml was typed, by its key,
	// such as "part[0].length"; nil where there is no such file.
	Typed map[string]string
}

// Facing is one thing that faces the jaws.
type Facing struct {
	Name    string
	Control bool     // what the others are compared with; exactly one
	Samples []string // names of its specimens
}

// Level is one clamp level.
type Level struct {
	Name   string
	Weight float64 // kg on the handle; 0: not a handle weight
	Clamp  float64 // N on one jaw face, measured; 0: not measured
	Usual  bool    // the level the shop uses today; at most one
}

// Plan says how the run order is drawn.
type Plan struct {
	Blocks  int    // sessions; each holds every facing at every level
	Repeats int    // pulls of each facing and level in a block
	Seed    uint64 // drawn once and stored
}

// Handle is how a hung weight makes torque.
type Handle struct {
	Arm      float64 // m from the screw axis to the weight; 0: not known
	Mass     float64 // kg of the handle itself
	MassArm  float64 // m from the screw axis to its centre of mass
	Tilt     float64 // rad from level
	Latitude float64 // rad; used with HasPlace
	Altitude float64 // m
	HasPlace bool    // latitude is given; otherwise standard gravity
}

// Screw is what makes clamp force of torque. Zero PitchDiameter: not known.
type Screw struct {
	PitchDiameter  float64 // m
	Lead           float64 // m
	HalfFlank      float64 // rad
	ThreadLow      float64 // least thread friction
	ThreadHigh     float64 // greatest; equal to the least when known
	CollarLow      float64
	CollarHigh     float64
	CollarDiameter float64 // m, mean
}

// PullSetup is how the pull is made.
type PullSetup struct {
	How       string  // "straight", "twist" or "offset"
	Arm       float64 // m, signed moment arm about the centre of the patch
	Direction float64 // rad from +x, along the jaw
	Patch     string  // as the contact calculator takes it; "": even straight pull
	Faces     int     // faces that rub; 2 in a vise
}

// Scale is what reads the force.
type Scale struct {
	Kind        string  // "hand" or "cell"
	Division    float64 // N; 0: read exactly
	Capacity    float64 // N; 0: not known
	Calibration string  // file under calibrations/; "": none
	U           float64 // relative standard uncertainty of its readings, as stated or as calibrated; 0: not known
}

// Claim is what the trial is to show.
type Claim struct {
	Kind     string // "ratio" (at least Ratio times the control), "force" or "same"
	Facing   string
	Ratio    float64 // for "ratio"
	Expect   float64 // what the ratio is thought to be, for "force" the mean over Force; 0: not said
	Force    float64 // N, for "force"
	Level    string  // for "force"
	Coverage float64 // for "force": share of clampings; 0: 0.99
	Within   float64 // for "same": 0.1 is within 10 %
	Power    float64 // wanted power; 0: 0.8
	Spread   float64 // guessed sd of log mu, pull to pull on one sample; 0: from pilot data
	// SampleSpread is the guessed sd of log mu from sample to sample; 0: from
	// pilot data.
	SampleSpread float64
}

// Part is what the jaws press on in one stage of machining.
type Part struct {
	Stage     string
	Material  string
	Yield     float64 // Pa, compressive
	Modulus   float64 // Pa
	Length    float64 // m along the jaws
	Width     float64 // m between the jaws
	Height    float64 // m
	Grip      float64 // m of height between the jaws
	Floor     float64 // m: thinnest floor or wall between the jaws; 0: solid
	FloorWide float64 // m: its extent along the jaws; 0: Length
	Flex      float64 // m of bow, or of squeeze of a ring, allowed; 0: no limit
	Peak      float64 // greatest over mean pressure on the gripped face; 0: 1.7

	// A ring is squeezed across a diameter; its width is Length.
	RingRadius float64 // m, mean; 0: not a ring
	RingWall   float64 // m
}

// Cut is the milling cut that the part must hold in one stage.
type Cut struct {
	Stage    string
	Kc11     float64 // Pa; specific cutting force at 1 mm chip thickness
	Mc       float64
	Diameter float64 // m
	Teeth    int
	Runout   float64 // m; 0: not measured, one tooth is taken to do all
	FeedTooth,
	Depth, Width float64 // m
	Mode      string  // "slot", "conventional", "climb" or "t-slot"
	Neck      float64 // m, for "t-slot": width of the slot already cut
	Direction float64 // rad of the feed from +x along the jaws
	X, Y, Z   float64 // m from the mid-point of the two patches to the tool
	Radial    float64 // Fr/Ft
	Axial     float64 // Fa/Ft
	Dullness  [2]float64
	Dynamic   [2]float64
	Safety    float64
}

// PlannedPull is one row of plan.csv.
type PlannedPull struct {
	Order  int // 1, 2, ... over the whole plan
	Block  string
	Facing string
	Sample string
	Level  string
}
