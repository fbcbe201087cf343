package study

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// checker lifts study.toml into SI and keeps every mistake with its place.
type checker struct {
	file   string
	places map[string]place
	typed  map[string]string // the unit of each quantity, by its key
	errs   []error
}

// fail notes a mistake at a key, or at the table it is missing from.
func (c *checker) fail(key, format string, args ...any) {
	at, ok := c.places[key]
	for up := key; !ok; at, ok = c.places[up] {
		up = up[:max(0, strings.LastIndexByte(up, '.'))]
	}
	c.errs = append(c.errs, &SetupError{File: c.file, Line: at.line, Column: at.column, Key: key, What: fmt.Sprintf(format, args...)})
}

func (c *checker) has(key string) bool { _, ok := c.places[key]; return ok }

// signed reads a quantity; absent is 0.
func (c *checker) signed(key string, k unit.Kind, q quantity) float64 {
	if !c.has(key) {
		return 0
	}
	v, u, err := unit.Parse(k, string(q))
	if err != nil {
		c.fail(key, "%v", err)
		return 0
	}
	if v != 0 {
		c.typed[key] = u.Name
	}
	return v
}

// positive reads a quantity that must be above zero when it is there.
func (c *checker) positive(key string, k unit.Kind, q quantity) float64 {
	before := len(c.errs)
	v := c.signed(key, k, q)
	if c.has(key) && len(c.errs) == before && v <= 0 {
		c.fail(key, "%s is not above zero; leave the key out where it is not known", q)
	}
	return v
}

// atLeastZero reads a quantity that may be zero and never negative.
func (c *checker) atLeastZero(key string, k unit.Kind, q quantity) float64 {
	v := c.signed(key, k, q)
	if v < 0 {
		c.fail(key, "%s is negative", q)
	}
	return v
}

// within refuses a number outside [lo, hi] when it is there.
func (c *checker) within(key string, v, lo, hi float64) float64 {
	if c.has(key) && !(v >= lo && v <= hi) {
		c.fail(key, "%v is outside %v to %v", v, lo, hi)
	}
	return v
}

// above refuses a number that is not above a limit when it is there.
func (c *checker) above(key string, v, limit float64) float64 {
	if c.has(key) && !(v > limit && !math.IsInf(v, 1)) {
		c.fail(key, "%v is not above %v", v, limit)
	}
	return v
}

// span reads a number or "low..high"; absent is 0, 0.
func (c *checker) span(key string, n numbers, limit float64) (lo, hi float64) {
	if !c.has(key) {
		return 0, 0
	}
	first, second, ranged := strings.Cut(string(n), "..")
	if !ranged {
		second = first
	}
	lo, err := strconv.ParseFloat(strings.TrimSpace(first), 64)
	hi, err2 := strconv.ParseFloat(strings.TrimSpace(second), 64)
	switch {
	case err != nil || err2 != nil || math.IsNaN(lo+hi) || math.IsInf(lo, 0) || math.IsInf(hi, 0):
		c.fail(key, `%q is neither a number nor a range such as "0.10..0.20"`, string(n))
		return 0, 0
	case lo < limit || hi < lo:
		c.fail(key, "%s must rise from %v or more", string(n), limit)
	}
	return lo, hi
}

// oneOf refuses a word that is not in the list; absent gives the first.
func (c *checker) oneOf(key, word string, words ...string) string {
	if !c.has(key) {
		return words[0]
	}
	for _, w := range words {
		if w == word {
			return w
		}
	}
	near := ""
	if n, ok := nearest(word, words); ok {
		near = fmt.Sprintf("; did you mean %q?", n)
	}
	c.fail(key, "%q is not one of %s%s", word, strings.Join(words, ", "), near)
	return words[0]
}

// name refuses what cannot stand as a name in a ledger row or in an entry.
func (c *checker) name(key, name string) string {
	switch {
	case strings.TrimSpace(name) == "":
		c.fail(key, "a name is missing")
	case name != strings.TrimSpace(name):
		c.fail(key, "%q starts or ends with a blank", name)
	case strings.ContainsFunc(name, unicode.IsControl):
		c.fail(key, "%q holds a line break, a tab or another control character", name)
	}
	return name
}

// study lifts the whole file.
func (c *checker) study(f *setupFile) trial.Study {
	s := trial.Study{Format: f.Format, Name: f.Name, Question: f.Question, Unit: "N"}
	if c.has("unit") {
		if _, err := unit.Lookup(unit.Force, f.Unit); err != nil {
			c.fail("unit", "%v", err)
		}
		s.Unit = f.Unit
	}
	c.facings(f, &s)
	c.levels(f, &s)
	s.Plan = trial.Plan{Blocks: c.count("plan.blocks", f.Plan.Blocks), Repeats: c.count("plan.repeats", f.Plan.Repeats), Seed: f.Plan.Seed}
	s.Scale = trial.Scale{
		Kind:        c.oneOf("scale.kind", f.Scale.Kind, "hand", "cell"),
		Division:    c.positive("scale.division", unit.Force, f.Scale.Division),
		Capacity:    c.positive("scale.capacity", unit.Force, f.Scale.Capacity),
		Calibration: f.Scale.Calibration,
		U:           c.within("scale.uncertainty", f.Scale.Uncertainty, 1e-9, 0.5),
	}
	if strings.ContainsAny(s.Scale.Calibration, `/\`) {
		c.fail("scale.calibration", "%q: name a file in the %s folder, without a path", s.Scale.Calibration, CalibrationDir)
	}
	c.rig(f, &s)
	c.claims(f, &s)
	c.parts(f, &s)
	c.cuts(f, &s)
	c.particulars(f, &s)
	s.Typed = c.typed
	return s
}

// count reads a number of times; absent is once.
func (c *checker) count(key string, n int) int {
	if !c.has(key) {
		return 1
	}
	if n < 1 || n > 10000 {
		c.fail(key, "%d is not a count from 1 to 10000", n)
	}
	return n
}

func (c *checker) facings(f *setupFile, s *trial.Study) {
	if len(f.Facings) == 0 {
		c.fail("facing", "no facing is named; add a [[facing]] table for each, one of them with control = true")
	}
	seen := map[string]bool{}
	controls := 0
	for i, x := range f.Facings {
		key := fmt.Sprintf("facing[%d]", i)
		c.name(key+".name", x.Name)
		if fold := strings.ToLower(x.Name); seen[fold] {
			c.fail(key+".name", "%q is named twice; capital letters do not tell facings apart", x.Name)
		} else {
			seen[fold] = true
		}
		if x.Control {
			controls++
			if controls > 1 {
				c.fail(key+".control", "a second control; exactly one facing has control = true")
			}
		}
		samples := map[string]bool{}
		for j, name := range x.Samples {
			k := fmt.Sprintf("%s.samples[%d]", key, j)
			c.name(k, name)
			if samples[name] {
				c.fail(k, "%q is named twice", name)
			}
			samples[name] = true
		}
		s.Facings = append(s.Facings, trial.Facing{Name: x.Name, Control: x.Control, Samples: x.Samples})
	}
	if controls == 0 && len(f.Facings) > 0 {
		c.fail("facing[0].control", "no facing is the control; write control = true under the one that the others are compared with")
	}
}

func (c *checker) levels(f *setupFile, s *trial.Study) {
	if len(f.Levels) == 0 {
		c.fail("level", `no clamp level; add a [[level]] table with weight = "5 kg" (hung on the handle) or clamp = "800 N" (measured)`)
	}
	seen := map[string]bool{}
	usual := 0
	for i, x := range f.Levels {
		key := fmt.Sprintf("level[%d]", i)
		l := trial.Level{
			Name:   x.Name,
			Weight: c.positive(key+".weight", unit.Mass, x.Weight),
			Clamp:  c.positive(key+".clamp", unit.Force, x.Clamp),
			Usual:  x.Usual,
		}
		if !c.has(key+".weight") && !c.has(key+".clamp") && len(f.Levels) > 1 {
			c.fail(key, `several levels need a size each: write weight = "5 kg" or clamp = "800 N"`)
		}
		if !c.has(key + ".name") {
			if l.Name = string(x.Weight); l.Name == "" {
				l.Name = string(x.Clamp)
			}
		}
		c.name(key+".name", l.Name)
		if seen[l.Name] {
			c.fail(key+".name", "%q is named twice", l.Name)
		}
		seen[l.Name] = true
		if l.Usual {
			if usual++; usual > 1 {
				c.fail(key+".usual", "a second usual level; at most one has usual = true")
			}
		}
		s.Levels = append(s.Levels, l)
	}
}
