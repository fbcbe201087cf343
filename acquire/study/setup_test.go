package study

import (
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

const fullSetup = `format = 1
name = "blanks"
question = "Will it hold?"
unit = "kgf"

[[facing]]
name = "ground steel"
control = true
samples = ["1", "2"]

[[facing]]
name = "bonded P240 cloth"
samples = ["1", "2"]

[[level]]
name = "light"
weight = "2 kg"

[[level]]
weight = "11 lb"
usual = true

[plan]
blocks = 2
repeats = 3
seed = 240

[scale]
kind = "cell"
division = "0.5 kgf"
capacity = "50 kgf"
calibration = "cell.csv"
uncertainty = 0.004

[handle]
arm = "150 mm"
mass = "0.2 kg"
mass_arm = "70 mm"
tilt = "5 deg"
latitude = "51.5 deg"
altitude = "50 m"

[screw]
pitch_diameter = "18 mm"
lead = "4 mm"
half_flank = "15 deg"
thread_friction = "0.10..0.20"
collar_friction = 0.12
collar_diameter = "24 mm"

[pull]
how = "twist"
arm = "30 mm"
direction = "90 deg"
patch = "rectangle 60 mm x 3 mm"
faces = 2

[[claim]]
kind = "ratio"
facing = "bonded P240 cloth"
ratio = 2
expect = 2.5
power = 0.9
spread = 0.1
sample_spread = 0.05

[part]
material = "cast acrylic"
yield = "100 MPa"
modulus = "3000 MPa"
length = "60 mm"
width = "30 mm"
height = "10 mm"
grip = "3 mm"
floor = "2 mm"

[cut] # only one
kc11 = "80 MPa"
mc = 0.2
diameter = "6 mm"
teeth = 2
feed_tooth = "0.05 mm"
depth = "2 mm"
width = "6 mm"
mode = "slot"
direction = "0 deg"
z = "4 mm"
radial = 0.4
dullness = "1..1.5"
dynamic = 1.2
safety = 2
`

func TestSetupIsLiftedIntoSI(t *testing.T) {
	s, err := ParseSetup("study.toml", []byte(fullSetup))
	require.NoError(t, err)
	si := func(k unit.Kind, text string) float64 {
		v, _, err := unit.Parse(k, text)
		require.NoError(t, err)
		return v
	}
	assert.Equal(t, "kgf", s.Typed["scale.capacity"])
	assert.Equal(t, "lb", s.Typed["level[1].weight"])
	assert.Equal(t, "mm", s.Typed["part[0].length"])
	s.Typed = nil
	assert.Equal(t, trial.Study{
		Format: 1, Name: "blanks", Question: "Will it hold?", Unit: "kgf",
		Facings: []trial.Facing{{Name: "ground steel", Control: true, Samples: []string{"1", "2"}}, {Name: "bonded P240 cloth", Samples: []string{"1", "2"}}},
		Levels:  []trial.Level{{Name: "light", Weight: 2}, {Name: "11 lb", Weight: si(unit.Mass, "11 lb"), Usual: true}},
		Plan:    trial.Plan{Blocks: 2, Repeats: 3, Seed: 240},
		Handle:  trial.Handle{Arm: 0.15, Mass: 0.2, MassArm: 0.07, Tilt: si(unit.Angle, "5 deg"), Latitude: si(unit.Angle, "51.5 deg"), Altitude: 50, HasPlace: true},
		Screw: trial.Screw{PitchDiameter: 0.018, Lead: 0.004, HalfFlank: si(unit.Angle, "15 deg"), ThreadLow: 0.1, ThreadHigh: 0.2,
			CollarLow: 0.12, CollarHigh: 0.12, CollarDiameter: 0.024},
		Pull:   trial.PullSetup{How: "twist", Arm: 0.03, Direction: si(unit.Angle, "90 deg"), Patch: "rectangle 60 mm x 3 mm", Faces: 2},
		Scale:  trial.Scale{Kind: "cell", Division: 0.5 * 9.80665, Capacity: 50 * 9.80665, Calibration: "cell.csv", U: 0.004},
		Claims: []trial.Claim{{Kind: "ratio", Facing: "bonded P240 cloth", Ratio: 2, Expect: 2.5, Power: 0.9, Spread: 0.1, SampleSpread: 0.05}},
		Part: []trial.Part{{Material: "cast acrylic", Yield: 100e6, Modulus: 3000e6, Length: 0.06, Width: 0.03, Height: 0.01,
			Grip: 0.003, Floor: 0.002}},
		Cut: []trial.Cut{{Kc11: 80e6, Mc: 0.2, Diameter: 0.006, Teeth: 2, FeedTooth: 0.05 / 1000, Depth: 0.002, Width: 0.006,
			Mode: "slot", Z: 0.004, Radial: 0.4, Dullness: [2]float64{1, 1.5}, Dynamic: [2]float64{1.2, 1.2}, Safety: 2}},
	}, s)
}

// What WriteSetup writes is the same study when it is read again.
func TestSetupRoundTrip(t *testing.T) {
	s, err := ParseSetup("study.toml", []byte(fullSetup))
	require.NoError(t, err)
	s.Plan.Seed = 0 // stands in plan.csv
	s.Name = "odd \"name\" \\ \t \u00e9 \u007f"
	report := reflect.ValueOf(&s.Report).Elem() // every key of [report]
	for i := range report.NumField() {
		report.Field(i).SetString("some words")
	}
	s.Report.Received, s.Report.Issued = "2026-03-10", "2026-03-20"
	again, err := ParseSetup("study.toml", WriteSetup(s))
	require.NoError(t, err)
	assert.Equal(t, s, again)
	for _, line := range strings.Split(string(WriteSetup(s)), "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 90, line)
	}
}

// The template shows every key of a part and of a cut, and its notes are taken
// once the # is away.
func TestTemplateShowsEveryKeyOfTheWindow(t *testing.T) {
	s, err := ParseSetup("study.toml", []byte(least))
	require.NoError(t, err)
	text := string(WriteSetup(s))
	at := strings.Index(text, "# [[part]]")
	require.Positive(t, at)
	uncommented := regexp.MustCompile(`(?m)^# (\[\[|[a-z0-9_]+ = )`).ReplaceAllString(text[at:], "$1")
	_, err = ParseSetup("study.toml", []byte(text[:at]+uncommented))
	assert.ErrorContains(t, err, "part[0].floor: belongs to a block", "all lines at once are a block and a ring")
	for _, kind := range []string{"floor", "ring"} {
		one := regexp.MustCompile(`(?m)^`+kind+`.*\n`).ReplaceAllString(uncommented, "")
		require.NotEqual(t, uncommented, one)
		_, err = ParseSetup("study.toml", []byte(text[:at]+one))
		require.NoError(t, err, "without the lines of %s", kind)
	}
	part, cut, found := strings.Cut(uncommented, "[[cut]]")
	require.True(t, found)
	for _, c := range []struct {
		text string
		keys []string
	}{{part, keysOf(reflect.TypeFor[partFile]())}, {cut, keysOf(reflect.TypeFor[cutFile]())}} {
		for _, key := range c.keys {
			assert.Contains(t, c.text, "\n"+key+" = ")
		}
	}
}

// The particulars of a report are shown in the template, and taken once the # is
// away.
func TestTemplateShowsEveryKeyOfTheReport(t *testing.T) {
	s, err := ParseSetup("study.toml", []byte(least))
	require.NoError(t, err)
	text := string(WriteSetup(s))
	from, to := strings.Index(text, "# [report]"), strings.Index(text, "# What the trial is to show")
	require.Positive(t, from)
	require.Less(t, from, to)
	uncommented := strings.ReplaceAll(text[from:to], "# ", "")
	s, err = ParseSetup("study.toml", []byte(text[:from]+uncommented+text[to:]))
	require.NoError(t, err)
	assert.Equal(t, "2026-03-20", s.Report.Issued)
	for _, key := range keysOf(reflect.TypeFor[reportFile]()) {
		assert.Contains(t, uncommented, "\n"+key+" = ")
	}
}

const least = "format = 1\n[[facing]]\nname = \"ground steel\"\ncontrol = true\n[[facing]]\nname = \"cork\"\n[[level]]\nweight = \"5 kg\"\n"

// least and mostly valid: a line added or changed, and the error it gives.
func TestSetupMistakes(t *testing.T) {
	for _, c := range []struct{ from, to, want string }{
		{"format = 1", "", "study.toml:1:1: format: missing; write format = 1"},
		{"format = 1", "format = 1\n[report]\nissued = \"soon\"", "study.toml:3:10: report.issued: \"soon\" is not a date; write it as \"2026-03-14\""},
		{"format = 1", "format = 1\n[report]\nreceived = \"2026-03-14\"\nissued = \"2026-03-01\"", "report.issued: the report is dated 2026-03-01, before its items came"},
		{"format = 1", "format = 1\n[report]\nlaborotory = \"x\"", "unknown key; did you mean laboratory?"},
		{"format = 1", "format = 2", "study.toml:1:10: format: the study is in layout 2, from a newer griptrial"},
		{"format = 1", "format = 0", "study.toml:1:10: format: there is no layout 0"},
		{"format = 1", "format = \"one\"", "study.toml:1:"},
		{"control = true", "", "study.toml:2:3: facing[0].control: no facing is the control"},
		{"name = \"cork\"", "name = \"cork\"\ncontrol = true", "study.toml:7:11: facing[1].control: a second control"},
		{"name = \"cork\"", "name = \"Ground steel\"", "study.toml:6:8: facing[1].name: \"Ground steel\" is named twice"},
		{"name = \"cork\"", "name = \" \"", "facing[1].name: a name is missing"},
		{"name = \"cork\"", "name = \"a\\nb\"", "facing[1].name: \"a\\nb\" holds a line break, a tab or another control character"},
		{"name = \"cork\"", "name = \"\\u001b[31mred\"", "holds a line break, a tab or another control character"},
		{"name = \"cork\"", "name = \"cork\"\nsamples = [\"1\", \"1\"]", "study.toml:7:17: facing[1].samples[1]: \"1\" is named twice"},
		{"name = \"cork\"", "name = \"cork\"\nsample = [\"1\"]", "study.toml:7:1: facing.sample: unknown key; did you mean samples?"},
		{"weight = \"5 kg\"", "wieght = \"5 kg\"", "study.toml:8:1: level.wieght: unknown key; did you mean weight?"},
		{"weight = \"5 kg\"", "repeats = 3", "study.toml:8:1: level.repeats: unknown key; it belongs under [plan]"},
		{"weight = \"5 kg\"", "colour = 3", "study.toml:8:1: level.colour: unknown key; known here: name, weight, clamp, usual"},
		{"weight = \"5 kg\"", "weight = 5", "study.toml:8:10: level[0].weight: unit missing (mass units: kg g lb oz)"},
		{"weight = \"5 kg\"", "weight = \"5 kgs\"", "study.toml:8:10: level[0].weight: unknown unit \"kgs\""},
		{"weight = \"5 kg\"", "weight = \"5 N\"", "study.toml:8:10: level[0].weight: \"N\" is a unit of force"},
		{"weight = \"5 kg\"", "weight = \"-5 kg\"", "level[0].weight: -5 kg is not above zero"},
		{"weight = \"5 kg\"", "weight = \"NaN kg\"", "level[0].weight"},
		{"weight = \"5 kg\"", "weight = \"5 kg\"\n[[level]]\nname = \"more\"", "study.toml:9:3: level[1]: several levels need a size each"},
		{"weight = \"5 kg\"", "weight = \"5 kg\"\n[[level]]\nweight = \"5 kg\"", "level[1].name: \"5 kg\" is named twice"},
		{"[[level]]\nweight = \"5 kg\"", "", "level: no clamp level"},
		{"[[level]]", "unit = \"kfg\"\n[[level]]", "study.toml:7:1: facing.unit: unknown key"},
		{"[[level]]", "[plan]\nblocks = 0\n[[level]]", "study.toml:8:10: plan.blocks: 0 is not a count"},
		{"[[level]]", "[pull]\nhow = \"twisted\"\n[[level]]", "study.toml:8:7: pull.how: \"twisted\" is not one of straight, twist, offset; did you mean \"twist\"?"},
		{"[[level]]", "[pull]\nhow = \"twist\"\n[[level]]", "study.toml:7:2: pull.arm: a pull that is \"twist\" needs its arm"},
		{"[[level]]", "[pull]\nfaces = 3\n[[level]]", "pull.faces: 3 faces cannot rub"},
		{"[[level]]", "[screw]\npitch_diameter = \"18 mm\"\n[[level]]", "screw.lead: missing"},
		{"[[level]]", "[screw]\nthread_friction = \"0.2..0.1\"\n[[level]]", "study.toml:8:19: screw.thread_friction: 0.2..0.1 must rise"},
		{"[[level]]", "[screw]\nthread_friction = \"some\"\n[[level]]", "neither a number nor a range"},
		{"[[level]]", "[screw]\ncollar_friction = 0.1\n[[level]]", "belong together"},
		{"[[level]]", "[handle]\nlatitude = \"95 deg\"\n[[level]]", "handle.latitude: 95 deg is outside"},
		{"[[level]]", "[handle]\ntilt = \"90 deg\"\n[[level]]", "handle.tilt"},
		{"[[level]]", "[handle]\naltitude = \"9 m\"\n[[level]]", "says nothing without latitude"},
		{"[[level]]", "[scale]\ncalibration = \"../cell.csv\"\n[[level]]", "without a path"},
		{"[[level]]", "[scale]\nuncertainty = 5\n[[level]]", "scale.uncertainty: 5 is outside"},
		{"[[level]]", "[[claim]]\nkind = \"ratio\"\nfacing = \"cork\"\n[[level]]", "claim[0].ratio: missing"},
		{"[[level]]", "[[claim]]\nfacing = \"corc\"\nratio = 2\n[[level]]", "claim[0].facing: \"corc\" is not a facing of this study; did you mean \"cork\"?"},
		{"[[level]]", "[[claim]]\nfacing = \"ground steel\"\nratio = 2\n[[level]]", "it cannot be compared with itself"},
		{"[[level]]", "[[claim]]\nfacing = \"cork\"\nratio = nan\n[[level]]", "claim[0].ratio: NaN is not above 0"},
		{"[[level]]", "[[claim]]\nfacing = \"cork\"\nratio = 2\nexpect = 1.5\n[[level]]", "expect must be greater"},
		{"[[level]]", "[[claim]]\nkind = \"force\"\nfacing = \"cork\"\nforce = \"9 N\"\nlevel = \"6 kg\"\n[[level]]", "claim[0].level: \"6 kg\" is not a level of this study"},
		{"[[level]]", "[[part]]\nring_radius = \"9 mm\"\nring_wall = \"2 mm\"\nfloor_wide = \"9 mm\"\n[[level]]", "study.toml:10:14: part[0].floor_wide: belongs to a block"},
		{"[[level]]", "[[cut]]\nforce = \"9 N\"\n[[level]]", "study.toml:8:1: cut.force: unknown key; known here: stage, kc11, mc, "},
		{"[[level]]", "[cut]\nfeed = \"0.1 mm\"\n[[level]]", "cut.feed: unknown key; did you mean feed_tooth?"},
		{"[[level]]", "[cut]\nmass = \"1 kg\"\n[[level]]", "cut.mass: unknown key; known here: stage, "},
		{"[[level]]", "[part]\nteeth = 2\n[[level]]", "part.teeth: unknown key; it belongs under [cut]"},
		{"[[level]]", "[cut]\nteeth = 0\n[[level]]", "cut[0].teeth: 0 teeth cut nothing"},
		{"[[level]]", "[cut]\nmc = 0.2\n[cut]\nmc = 0.3\n[[level]]", "study.toml:9:"},
		{"[[level]]", "[[level]", "study.toml:7:"},
		{"\"cork\"", "\"cork", "study.toml:6:"},
		{"\"cork\"", "3", "study.toml:6:8: facing.name: takes text in quotes, and this is an integer"},
	} {
		doc := strings.Replace(least, c.from, c.to, 1)
		require.NotEqual(t, least, doc, c.to)
		_, err := ParseSetup("study.toml", []byte(doc))
		assert.ErrorContains(t, err, c.want, c.to)
	}
	_, err := ParseSetup("study.toml", []byte(least))
	assert.NoError(t, err)
	_, err = ParseSetup("study.toml", []byte("\ufeff"+strings.ReplaceAll(least, "\n", "\r\n")))
	assert.NoError(t, err)
	_, err = ParseSetup("study.toml", nil)
	assert.ErrorContains(t, err, "study.toml:1:1: the file is empty")
}

func TestSetupTellsAllMistakes(t *testing.T) {
	doc := strings.Replace(strings.Replace(least, "5 kg", "5", 1), "control = true", "control = false", 1)
	_, err := ParseSetup("study.toml", []byte(doc))
	assert.ErrorContains(t, err, "facing[0].control")
	assert.ErrorContains(t, err, "level[0].weight")
}

func FuzzParseSetup(f *testing.F) {
	f.Add([]byte(least))
	f.Add([]byte(fullSetup))
	f.Fuzz(func(t *testing.T, doc []byte) {
		s, err := ParseSetup("study.toml", doc)
		if err != nil {
			return
		}
		// What can be read can be written and read again.
		_, err = ParseSetup("study.toml", WriteSetup(s))
		require.NoError(t, err)
	})
}
