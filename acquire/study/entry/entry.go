// Package entry reads what a person types for one pull at the vise.
//
//	10                  slipped at 10, in the study's unit
//	10.5 kgf            slipped at 10.5 kgf, whatever the study's unit
//	35+                 held at 35: it carried 35 and did not slip
//	x tie let go        void: the pull says nothing, and why
//	10 @P240#2          with facing and sample, where there is no plan
//	10 @P240#2/5 kg     with the clamp level too, where there are several
//	10 ; crept first    what stands after the semicolon is a note
//
// A decimal comma is taken where it can mean nothing else: 10,5 is 10.5. A
// comma before exactly three digits (1,250) is refused, because it may have
// been meant for thousands; 0,125 is taken.
package entry

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// Entry is one typed pull.
type Entry struct {
	Outcome trial.Outcome
	Force   float64 // N; 0 for a void pull
	Digits  string  // the number as typed, with a decimal point; "" if another unit was typed
	Unit    string  // the other unit that was typed; "": none
	Facing  string  // as typed after @; "": none
	Sample  string  // as typed after #; "": none
	Level   string  // as typed after /; "": none
	Note    string  // after the semicolon, or the reason of a void pull
}

// Error is a mistake in an entry.
type Error struct {
	Column int // of the first letter at fault, from 1
	What   string
}

func (e *Error) Error() string { return fmt.Sprintf("column %d: %s", e.Column, e.What) }

const forms = "type 10 (slipped at 10), 35+ (held at 35) or x and a reason (void)"

// Parse reads one entry. Numbers without a unit are in u.
func Parse(text string, u unit.Unit) (Entry, error) {
	p := &parser{text: text}
	if !utf8.ValidString(text) {
		return Entry{}, &Error{1, "not UTF-8 text; " + forms}
	}
	for i, r := range text {
		if unicode.IsControl(r) && r != '\t' {
			return Entry{}, p.fail(i, "a control character; "+forms)
		}
	}
	p.blanks()
	if p.pos == len(text) {
		return Entry{}, p.fail(p.pos, "nothing typed; "+forms)
	}
	if first := text[p.pos]; (first == 'x' || first == 'X') && !letterAt(text, p.pos+1) {
		return p.void()
	}
	return p.pull(u)
}

type parser struct {
	text string
	pos  int
}

// letterAt reports whether a word goes on at i.
func letterAt(s string, i int) bool {
	r, _ := utf8.DecodeRuneInString(s[i:])
	return i < len(s) && (unicode.IsLetter(r) || unicode.IsDigit(r))
}

// fail counts columns in letters, as a person does.
func (p *parser) fail(at int, what string) *Error {
	return &Error{utf8.RuneCountInString(p.text[:at]) + 1, what}
}

func (p *parser) blanks() {
	for p.pos < len(p.text) && (p.text[p.pos] == ' ' || p.text[p.pos] == '\t') {
		p.pos++
	}
}

func (p *parser) void() (Entry, error) {
	p.pos++
	rest := p.text[p.pos:]
	reason, where := rest, ""
	if i := strings.IndexByte(rest, '@'); i >= 0 {
		reason, where = rest[:i], rest[i:]
	}
	e := Entry{Outcome: trial.Void, Note: tidy(reason)}
	if e.Note == "" {
		return Entry{}, p.fail(p.pos, "a void pull needs its reason: x tie let go")
	}
	if where != "" {
		p.pos = len(p.text) - len(where)
		if err := p.where(&e); err != nil {
			return Entry{}, err
		}
	}
	return e, nil
}

func tidy(s string) string { return strings.Join(strings.Fields(s), " ") }

func (p *parser) pull(u unit.Unit) (Entry, error) {
	e := Entry{Outcome: trial.Slipped}
	start := p.pos
	for p.pos < len(p.text) && strings.IndexByte("0123456789.,", p.text[p.pos]) >= 0 {
		p.pos++
	}
	digits := p.text[start:p.pos]
	if digits == "" {
		if r := p.text[p.pos]; r == '-' {
			return Entry{}, p.fail(p.pos, "a force is not negative; "+forms)
		}
		return Entry{}, p.fail(p.pos, "not a number; "+forms)
	}
	v, plain, err := p.number(start, digits)
	if err != nil {
		return Entry{}, err
	}
	e.Digits = plain
	p.held(&e)
	if err := p.unit(&e, u, v, start); err != nil {
		return Entry{}, err
	}
	p.held(&e)
	if v == 0 && e.Outcome == trial.Held {
		return Entry{}, p.fail(start, "held at zero says nothing about the grip; void the pull: x and a reason")
	}
	p.blanks()
	if p.pos < len(p.text) && p.text[p.pos] == '@' {
		if err := p.where(&e); err != nil {
			return Entry{}, err
		}
	}
	if p.pos < len(p.text) && p.text[p.pos] == ';' {
		e.Note = tidy(p.text[p.pos+1:])
		p.pos = len(p.text)
	}
	if p.pos < len(p.text) {
		return Entry{}, p.fail(p.pos, fmt.Sprintf("%q does not belong here; a note goes after a semicolon: 10 ; note", p.text[p.pos:]))
	}
	return e, nil
}

// number reads digits with a point, or with a comma that can only be decimal.
func (p *parser) number(start int, digits string) (v float64, plain string, err error) {
	plain = digits
	if comma := strings.IndexByte(digits, ','); comma >= 0 {
		whole, part := digits[:comma], digits[comma+1:]
		switch {
		case strings.ContainsAny(part, ",.") || strings.Contains(whole, "."):
			return 0, "", p.fail(start, fmt.Sprintf("%q: write one decimal point, and no marks between thousands", digits))
		case len(part) == 3 && strings.Trim(whole, "0") != "":
			return 0, "", p.fail(start, fmt.Sprintf("%q may mean %s%s or %s.%s; write it with a point or without the comma", digits, whole, part, whole, part))
		}
		plain = whole + "." + part
	}
	if strings.HasPrefix(plain, ".") || strings.HasSuffix(plain, ".") || strings.Count(plain, ".") > 1 {
		return 0, "", p.fail(start, fmt.Sprintf("%q is not a number; write digits on both sides of one decimal point", digits))
	}
	v, err = strconv.ParseFloat(plain, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, "", p.fail(start, fmt.Sprintf("%q is not a number", digits))
	}
	return v, plain, nil
}

// held takes the plus sign that marks a lower bound.
func (p *parser) held(e *Entry) {
	p.blanks()
	if e.Outcome == trial.Slipped && p.pos < len(p.text) && p.text[p.pos] == '+' {
		e.Outcome = trial.Held
		p.pos++
	}
}

// unit takes the unit, if one is there. The number starts at from.
func (p *parser) unit(e *Entry, u unit.Unit, v float64, from int) error {
	p.blanks()
	start := p.pos
	for letterAt(p.text, p.pos) {
		_, n := utf8.DecodeRuneInString(p.text[p.pos:])
		p.pos += n
	}
	name := p.text[start:p.pos]
	if name != "" && name != u.Name {
		other, err := unit.Lookup(unit.Force, name)
		if err != nil {
			if word := p.word(from); len(word) > start-from && misspelt(word[start-from:]) {
				return p.fail(from, fmt.Sprintf("%q is not a number; %s", word, forms))
			}
			return p.fail(start, err.Error())
		}
		u, e.Digits, e.Unit = other, "", name
	}
	e.Force = u.ToSI(v)
	if math.IsInf(e.Force, 0) {
		return p.fail(start, "the force is too large to be true")
	}
	return nil
}

// word is the text from a place up to the next blank or mark.
func (p *parser) word(from int) string {
	s := p.text[from:]
	if i := strings.IndexAny(s, " \t+@;"); i >= 0 {
		s = s[:i]
	}
	return s
}

// misspelt reports whether what follows digits without a blank is a slip within
// the number, as in 1o.5 or 1O, and not a unit.
func misspelt(rest string) bool {
	return strings.ContainsAny(rest, "0123456789.,") || strings.Trim(rest, "oOlI") == ""
}

// where reads @facing#sample/level up to a semicolon or the end. A sample and a
// level may stand in either order.
func (p *parser) where(e *Entry) error {
	p.pos++
	field := &e.Facing
	from := p.pos
	seen := map[byte]bool{}
	take := func() error {
		*field = tidy(p.text[from:p.pos])
		if *field == "" {
			return p.fail(from-1, fmt.Sprintf("a name is missing after %q; write it as 10 @P240#2", p.text[from-1:from]))
		}
		return nil
	}
	for ; p.pos < len(p.text) && p.text[p.pos] != ';'; p.pos++ {
		mark := p.text[p.pos]
		if mark != '#' && mark != '/' && mark != '@' {
			continue
		}
		if err := take(); err != nil {
			return err
		}
		if mark == '@' || seen[mark] {
			return p.fail(p.pos, fmt.Sprintf("a second %q; write @facing#sample/level once", string(mark)))
		}
		seen[mark] = true
		field = map[byte]*string{'#': &e.Sample, '/': &e.Level}[mark]
		from = p.pos + 1
	}
	if err := take(); err != nil {
		return err
	}
	if e.Outcome == trial.Void && p.pos < len(p.text) {
		return p.fail(p.pos, "the reason of a void pull goes before the @")
	}
	return nil
}
