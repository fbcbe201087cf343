package wire

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Pattern describes the lines of an instrument that prints a number and a unit:
// a line as the instrument prints it, with parts in braces.
//
//	{number}         the value, with a sign before it, apart from it, or behind it
//	{unit}           its unit
//	{stable:ST,US}   a word: ST while the reading stands still, US while it moves
//	{unstable:?}     a mark that is there only while the reading moves
//	{skip}           any word
//
// Blanks match any number of blanks, none included; all else stands for
// itself. So "{stable:ST,US},GS,{number} {unit}" reads "ST,GS,+  12.50 kg".
type Pattern struct {
	text   string
	match  *regexp.Regexp
	unit   bool
	stable string // word of a reading that stands still
	mark   bool   // an unstable mark is looked for
	comma  bool
}

// numberText is a number with the signs that instruments print.
const numberText = `[+-]?\s*(?:\d+(?:\.\d*)?|\.\d+)-?`

// ParsePattern reads a pattern. With comma the decimal mark of the instrument
// is a comma, and only that.
func ParsePattern(text string, comma bool) (*Pattern, error) {
	p := &Pattern{text: text, comma: comma}
	var b strings.Builder
	b.WriteString(`^\s*`)
	seen := map[string]bool{}
	for rest := text; rest != ""; {
		literal, part, found := strings.Cut(rest, "{")
		for i, word := range strings.Fields(literal) {
			if i > 0 {
				b.WriteString(`\s*`)
			}
			b.WriteString(regexp.QuoteMeta(word))
		}
		b.WriteString(`\s*`)
		if !found {
			break
		}
		var ok bool
		if part, rest, ok = strings.Cut(part, "}"); !ok {
			return nil, fmt.Errorf("%s: a brace is not closed", brief(text))
		}
		name, words, _ := strings.Cut(part, ":")
		if seen[name] && name != "skip" {
			return nil, fmt.Errorf("%s: {%s} stands twice", brief(text), name)
		}
		seen[name] = true
		expression, err := p.part(name, words)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", brief(text), err)
		}
		b.WriteString(expression + `\s*`)
	}
	b.WriteString(`$`)
	if !seen["number"] {
		return nil, fmt.Errorf("%s: it needs {number}", brief(text))
	}
	var err error
	if p.match, err = regexp.Compile(b.String()); err != nil {
		return nil, fmt.Errorf("%s: %w", brief(text), err)
	}
	p.unit = seen["unit"]
	return p, nil
}

// brief quotes what was typed, its start only where it is long.
func brief(text string) string {
	const most = 60
	if r := []rune(text); len(r) > most {
		return fmt.Sprintf("%q and so on", string(r[:most]))
	}
	return fmt.Sprintf("%q", text)
}

// part is the expression for one part in braces.
func (p *Pattern) part(name, words string) (string, error) {
	switch name {
	case "number":
		if p.comma {
			return `(?P<number>` + strings.ReplaceAll(numberText, `\.`, `,`) + `)`, nil
		}
		return `(?P<number>` + numberText + `)`, nil
	case "unit":
		return `(?P<unit>[A-Za-z]+)`, nil
	case "skip":
		return `\S*?`, nil
	case "stable":
		still, moving, ok := strings.Cut(words, ",")
		if !ok || still == "" || moving == "" {
			return "", errors.New("write the two words like {stable:ST,US}")
		}
		p.stable = still
		return `(?P<stable>` + regexp.QuoteMeta(still) + `|` + regexp.QuoteMeta(moving) + `)`, nil
	case "unstable":
		if words == "" {
			return "", errors.New("write the mark like {unstable:?}")
		}
		p.mark = true
		return `(?P<unstable>` + regexp.QuoteMeta(words) + `)?`, nil
	}
	return "", fmt.Errorf("unknown part {%s}; the parts are {number} {unit} {stable:ST,US} {unstable:?} {skip}", strings.Trim(brief(name), `"`))
}

// HasUnit tells whether the lines state their unit.
func (p *Pattern) HasUnit() bool { return p.unit }

// String is the pattern as written.
func (p *Pattern) String() string { return p.text }

// read takes one line apart; ok is false for a line of another shape.
func (p *Pattern) read(line string) (value float64, unit string, stable, ok bool) {
	m := p.match.FindStringSubmatch(line)
	if m == nil {
		return 0, "", false, false
	}
	group := func(name string) string {
		if i := p.match.SubexpIndex(name); i >= 0 {
			return m[i]
		}
		return ""
	}
	text := strings.Join(strings.Fields(group("number")), "")
	if p.comma {
		text = strings.Replace(text, ",", ".", 1)
	}
	if digits, trailing := strings.CutSuffix(text, "-"); trailing {
		if strings.ContainsAny(digits, "+-") {
			return 0, "", false, false
		}
		text = "-" + digits
	}
	value, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, "", false, false
	}
	stable = (p.stable == "" || group("stable") == p.stable) && (!p.mark || group("unstable") == "")
	return value, group("unit"), stable, true
}
