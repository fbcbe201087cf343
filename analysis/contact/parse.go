package contact

import (
	"fmt"
	"strconv"
	"strings"

	"griptrial/analysis/unit"
)

// Forms shows how a patch is written, for help and errors.
const Forms = `"rectangle 25 mm x 3 mm", "disc 20 mm", "ring 20 mm x 12 mm", "line 25 mm" or ` +
	`"pads 6 mm x 3 mm at -10 mm,0 mm share 0.5; 6 mm x 3 mm at 10 mm,0 mm share 0.5"`

// pressedAt goes before the centre of pressure in the text of a patch.
const pressedAt = " pressed at "

// Parse reads a patch as Forms shows it: the width of a rectangle is along x,
// discs and rings are given by diameters, outer first. Any but pads may end in
// "pressed at 0 mm,1.05 mm", the centre of pressure.
func Parse(text string) (Patch, error) {
	s := strings.TrimSpace(text)
	body, centre, off := strings.Cut(s, pressedAt)
	name, rest, _ := strings.Cut(strings.TrimSpace(body), " ")
	var p Patch
	var err error
	switch name {
	case "rectangle":
		p, err = two(rest, Rectangle)
	case "ring":
		p, err = two(rest, Ring)
	case "disc":
		p, err = one(rest, Disc)
	case "line":
		p, err = one(rest, Line)
	case "pads":
		p, err = parsePads(rest)
	case "":
		return Patch{}, fmt.Errorf("contact patch: empty; write %s", Forms)
	default:
		return Patch{}, fmt.Errorf("contact patch %q: write %s", text, Forms)
	}
	if err == nil && off {
		var c Point
		if c, err = ParsePoint(centre); err == nil {
			p, err = p.WithPressureCentre(c)
		}
	}
	if err != nil {
		return Patch{}, fmt.Errorf("contact patch %q: %w", text, err)
	}
	return p, nil
}

// ParsePoint reads a place such as "-10 mm,0 mm".
func ParsePoint(text string) (Point, error) {
	xs, ys, ok := strings.Cut(text, ",")
	if !ok {
		return Point{}, fmt.Errorf("place %q: write x and y with a comma between, such as \"-10 mm,0 mm\"", strings.TrimSpace(text))
	}
	x, err := length(xs)
	if err != nil {
		return Point{}, err
	}
	y, err := length(ys)
	return Point{x, y}, err
}

func length(text string) (float64, error) {
	v, _, err := unit.Parse(unit.Length, text)
	return v, err
}

func one(text string, make func(float64) (Patch, error)) (Patch, error) {
	v, err := length(text)
	if err != nil {
		return Patch{}, err
	}
	return make(v)
}

func two(text string, make func(a, b float64) (Patch, error)) (Patch, error) {
	a, b, err := pair(text)
	if err != nil {
		return Patch{}, err
	}
	return make(a, b)
}

// pair reads "25 mm x 3 mm".
func pair(text string) (a, b float64, err error) {
	as, bs, ok := strings.Cut(strings.ReplaceAll(text, "×", "x"), "x")
	if !ok {
		return 0, 0, fmt.Errorf("%q: write two lengths with an x between, such as \"25 mm x 3 mm\"", strings.TrimSpace(text))
	}
	if a, err = length(as); err != nil {
		return 0, 0, err
	}
	b, err = length(bs)
	return a, b, err
}

func parsePads(text string) (Patch, error) {
	var list []Pad
	for i, s := range strings.Split(text, ";") {
		pad, err := parsePad(s)
		if err != nil {
			return Patch{}, fmt.Errorf("pad %d: %w", i+1, err)
		}
		list = append(list, pad)
	}
	return Pads(list)
}

// parsePad reads "6 mm x 3 mm at -10 mm,0 mm share 0.5".
func parsePad(text string) (Pad, error) {
	size, rest, ok := strings.Cut(text, " at ")
	place, share, ok2 := strings.Cut(rest, " share ")
	if !ok || !ok2 {
		return Pad{}, fmt.Errorf("%q: write it as \"6 mm x 3 mm at -10 mm,0 mm share 0.5\"", strings.TrimSpace(text))
	}
	var pad Pad
	var err error
	if pad.Width, pad.Height, err = pair(size); err != nil {
		return Pad{}, err
	}
	if pad.Width == 0 || pad.Height == 0 {
		return Pad{}, fmt.Errorf("%q has no area: both sides must be above 0", strings.TrimSpace(size))
	}
	if pad.At, err = ParsePoint(place); err != nil {
		return Pad{}, err
	}
	if pad.Share, err = strconv.ParseFloat(strings.TrimSpace(share), 64); err != nil {
		return Pad{}, fmt.Errorf("share %q is not a number", strings.TrimSpace(share))
	}
	return pad, nil
}

// String writes the patch as Parse reads it.
func (p Patch) String() string {
	w := func(v float64) string { return strconv.FormatFloat(v*1000, 'g', -1, 64) + " mm" }
	var s string
	switch p.kind {
	case rectangle:
		s = "rectangle " + w(p.a) + " x " + w(p.b)
	case disc:
		s = "disc " + w(p.a)
	case ring:
		s = "ring " + w(p.a) + " x " + w(p.b)
	case line:
		s = "line " + w(p.a)
	case pads:
		parts := make([]string, len(p.pads))
		for i, q := range p.pads {
			parts[i] = w(q.Width) + " x " + w(q.Height) + " at " + w(q.At.X) + "," + w(q.At.Y) +
				" share " + strconv.FormatFloat(q.Share, 'g', -1, 64)
		}
		return "pads " + strings.Join(parts, "; ")
	default:
		return "no patch"
	}
	if p.centre != (Point{}) {
		s += pressedAt + w(p.centre.X) + "," + w(p.centre.Y)
	}
	return s
}
