package cutting

import (
	"fmt"
	"strings"

	"griptrial/analysis/trial"
)

// Factors multiply the force of a sharp tool in an even cut.
type Factors struct {
	Dullness [2]float64
	Dynamic  [2]float64
	Safety   float64
	Defaults []string // what was not given, in words, with its origin
}

// Worst is the product of the upper ends.
func (f Factors) Worst() float64 { return f.Dullness[1] * f.Dynamic[1] * f.Safety }

// FactorsOf takes the factors of a cut and fills in what is not given:
// dullness 1.3 to 1.5 (a machining textbook's wear factor, as quoted in a
// public script), dynamic 1.2 to 2 for interrupted cut or chatter (memory),
// safety 2 (a shop formula page: 2 or more).
// Errors: a factor below 1 or a range the wrong way round.
func FactorsOf(c trial.Cut) (Factors, error) {
	f := Factors{Dullness: c.Dullness, Dynamic: c.Dynamic, Safety: c.Safety}
	if f.Dullness == [2]float64{} {
		f.Dullness = [2]float64{1.3, 1.5}
		f.Defaults = append(f.Defaults, "dullness 1.3 to 1.5 (machining textbook)")
	}
	if f.Dynamic == [2]float64{} {
		f.Dynamic = [2]float64{1.2, 2}
		f.Defaults = append(f.Defaults, "dynamic 1.2 to 2 (memory)")
	}
	if f.Safety == 0 {
		f.Safety = 2
		f.Defaults = append(f.Defaults, "safety 2 (shop formula page)")
	}
	if c.Radial == 0 {
		f.Defaults = append(f.Defaults, fmt.Sprintf("radial share %.1f (memory: 0.3 to 0.6 sharp, 1 and more dull)", DefaultRadial))
	}
	for _, r := range [][2]float64{f.Dullness, f.Dynamic, {f.Safety, f.Safety}} {
		if !(r[0] >= 1 && r[1] >= r[0] && r[1] < 1e3) {
			return f, fmt.Errorf("dullness, dynamic and safety factors must be at least 1, lower end first, got %.4g..%.4g", r[0], r[1])
		}
	}
	return f, nil
}

// Material is a row of specific cutting forces: starting points, good to a
// third at best.
type Material struct {
	Name   string
	Kc11   float64 // Pa
	Mc     float64
	Source string
}

// Materials lists what has a source. There is no row for plastics: no published
// value was found.
var Materials = []Material{
	{"mild steel S235", 1780e6, 0.17, "Dietrich, Tschätsch: Praxis der Zerspanungstechnik, as quoted in a public script"},
	{"free-cutting steel 11SMn30", 1200e6, 0.18, "memory"},
	{"steel C45", 1450e6, 0.27, "memory; another family of tables has 2220 N/mm² and 0.14"},
	{"wrought aluminium", 700e6, 0.18, "Dietrich, Tschätsch: Praxis der Zerspanungstechnik, as quoted in a public script"},
	{"soft wrought aluminium", 470e6, 0.27, "Tabellenbuch Zerspantechnik, 5th ed. 2022, p. 215, as quoted on a public material card; base rake 12°, uncorrected"},
	{"hard cast aluminium", 680e6, 0.27, "Tabellenbuch Zerspantechnik, 5th ed. 2022, p. 215, as quoted on a public material card; base rake 12°, uncorrected"},
	{"brass", 780e6, 0.18, "memory"},
}

// Lookup finds a material by its name, whatever its capital letters.
func Lookup(name string) (Material, bool) {
	for _, m := range Materials {
		if strings.EqualFold(m.Name, strings.TrimSpace(name)) {
			return m, true
		}
	}
	return Material{}, false
}
