package study

// setupFile is study.toml as it is written: quantities are text with a unit.
// The order of the fields is the order of the template.
type setupFile struct {
	Format   int    `toml:"format"`
	Name     string `toml:"name"`
	Question string `toml:"question"`
	Unit     string `toml:"unit"`

	Facings []facingFile `toml:"facing"`
	Levels  []levelFile  `toml:"level"`
	Plan    planFile     `toml:"plan"`
	Scale   scaleFile    `toml:"scale"`
	Handle  handleFile   `toml:"handle"`
	Screw   screwFile    `toml:"screw"`
	Pull    pullFile     `toml:"pull"`
	Claims  []claimFile  `toml:"claim"`
	Parts   []partFile   `toml:"part"`
	Cuts    []cutFile    `toml:"cut"`
	Report  reportFile   `toml:"report"`
}

type facingFile struct {
	Name    string   `toml:"name"`
	Control bool     `toml:"control"`
	Samples []string `toml:"samples"`
}

type levelFile struct {
	Name   string   `toml:"name"`
	Weight quantity `toml:"weight"`
	Clamp  quantity `toml:"clamp"`
	Usual  bool     `toml:"usual"`
}

type planFile struct {
	Blocks  int    `toml:"blocks"`
	Repeats int    `toml:"repeats"`
	Seed    uint64 `toml:"seed"`
}

type scaleFile struct {
	Kind        string   `toml:"kind"`
	Division    quantity `toml:"division"`
	Capacity    quantity `toml:"capacity"`
	Calibration string   `toml:"calibration"`
	Uncertainty float64  `toml:"uncertainty"`
}

type handleFile struct {
	Arm      quantity `toml:"arm"`
	Mass     quantity `toml:"mass"`
	MassArm  quantity `toml:"mass_arm"`
	Tilt     quantity `toml:"tilt"`
	Latitude quantity `toml:"latitude"`
	Altitude quantity `toml:"altitude"`
}

type screwFile struct {
	PitchDiameter  quantity `toml:"pitch_diameter"`
	Lead           quantity `toml:"lead"`
	HalfFlank      quantity `toml:"half_flank"`
	ThreadFriction numbers  `toml:"thread_friction"`
	CollarFriction numbers  `toml:"collar_friction"`
	CollarDiameter quantity `toml:"collar_diameter"`
}

type pullFile struct {
	How       string   `toml:"how"`
	Arm       quantity `toml:"arm"`
	Direction quantity `toml:"direction"`
	Patch     string   `toml:"patch"`
	Faces     int      `toml:"faces"`
}

type claimFile struct {
	Kind     string   `toml:"kind"`
	Facing   string   `toml:"facing"`
	Ratio    float64  `toml:"ratio"`
	Expect   float64  `toml:"expect"`
	Force    quantity `toml:"force"`
	Level    string   `toml:"level"`
	Coverage float64  `toml:"coverage"`
	Within   float64  `toml:"within"`
	Power    float64  `toml:"power"`
	Spread   float64  `toml:"spread"`

	SampleSpread float64 `toml:"sample_spread"`
}

type partFile struct {
	Stage     string   `toml:"stage"`
	Material  string   `toml:"material"`
	Yield     quantity `toml:"yield"`
	Modulus   quantity `toml:"modulus"`
	Length    quantity `toml:"length"`
	Width     quantity `toml:"width"`
	Height    quantity `toml:"height"`
	Grip      quantity `toml:"grip"`
	Floor     quantity `toml:"floor"`
	FloorWide quantity `toml:"floor_wide"`
	Flex      quantity `toml:"flex"`
	Peak      float64  `toml:"peak"`

	RingRadius quantity `toml:"ring_radius"`
	RingWall   quantity `toml:"ring_wall"`
}

type cutFile struct {
	Stage     string   `toml:"stage"`
	Kc11      quantity `toml:"kc11"`
	Mc        float64  `toml:"mc"`
	Diameter  quantity `toml:"diameter"`
	Teeth     int      `toml:"teeth"`
	Runout    quantity `toml:"runout"`
	FeedTooth quantity `toml:"feed_tooth"`
	Depth     quantity `toml:"depth"`
	Width     quantity `toml:"width"`
	Mode      string   `toml:"mode"`
	Neck      quantity `toml:"neck"`
	Direction quantity `toml:"direction"`
	X         quantity `toml:"x"`
	Y         quantity `toml:"y"`
	Z         quantity `toml:"z"`
	Radial    float64  `toml:"radial"`
	Axial     float64  `toml:"axial"`
	Dullness  numbers  `toml:"dullness"`
	Dynamic   numbers  `toml:"dynamic"`
	Safety    float64  `toml:"safety"`
}

// quantity is a number with its unit, as it stands in the file. It takes bare
// numbers too, so that the missing unit is refused where the key is known.
type quantity string

// UnmarshalText takes what stands in the file.
func (q *quantity) UnmarshalText(b []byte) error { *q = quantity(b); return nil }

// numbers is a number, or two that bound it: 0.15 or "0.10..0.20".
type numbers string

// UnmarshalText takes what stands in the file.
func (n *numbers) UnmarshalText(b []byte) error { *n = numbers(b); return nil }
