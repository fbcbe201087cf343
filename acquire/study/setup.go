package study

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"griptrial/analysis/trial"
)

// SetupError is one mistake in study.toml.
type SetupError struct {
	File         string
	Line, Column int    // from 1
	Key          string // as "facing[1].name"; "" where it is the syntax
	What         string // what is wrong and what to do
}

func (e *SetupError) Error() string {
	if e.Key == "" {
		return fmt.Sprintf("%s:%d:%d: %s", e.File, e.Line, e.Column, e.What)
	}
	return fmt.Sprintf("%s:%d:%d: %s: %s", e.File, e.Line, e.Column, e.Key, e.What)
}

// ParseSetup reads study.toml into SI. Every mistake found is in the error (a
// join of SetupErrors), each with its place and what to do about it.
func ParseSetup(file string, doc []byte) (trial.Study, error) {
	doc = bytes.TrimPrefix(doc, []byte("\ufeff"))
	if len(bytes.TrimSpace(doc)) == 0 {
		return trial.Study{}, &SetupError{File: file, Line: 1, Column: 1, What: "the file is empty; `griptrial new` writes one to start from"}
	}
	doc = pluralTables(doc)
	if err := refuseNewer(file, doc); err != nil {
		return trial.Study{}, err
	}
	var f setupFile
	dec := toml.NewDecoder(bytes.NewReader(doc))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&f); err != nil {
		return trial.Study{}, decodeErrors(file, err)
	}
	c := &checker{file: file, places: findKeys(doc), typed: map[string]string{}}
	s := c.study(&f)
	if len(c.errs) > 0 {
		return trial.Study{}, errors.Join(c.errs...)
	}
	return s, nil
}

// singleTable is the header of a table of which there may be several.
var singleTable = regexp.MustCompile(`(?m)^([ \t]*)\[(facing|level|claim|part|cut)\]([ \t]*(?:#.*)?\r?)$`)

// pluralTables lets a person write [cut] where there is only one: it is read as
// [[cut]]. Where there are several, TOML's own rule stands.
func pluralTables(doc []byte) []byte {
	heads := map[string]int{}
	for _, m := range singleTable.FindAllSubmatch(doc, -1) {
		heads[string(m[2])]++
	}
	return singleTable.ReplaceAllFunc(doc, func(line []byte) []byte {
		m := singleTable.FindSubmatch(line)
		name := string(m[2])
		if heads[name] != 1 || bytes.Contains(doc, []byte("[["+name+"]]")) {
			return line
		}
		return []byte(string(m[1]) + "[[" + name + "]]" + string(m[3]))
	})
}

// refuseNewer looks at the layout version before anything else, because a
// newer file may hold keys that this version cannot know.
func refuseNewer(file string, doc []byte) error {
	var v struct {
		Format any `toml:"format"`
	}
	if err := toml.Unmarshal(doc, &v); err != nil {
		return decodeErrors(file, err)
	}
	at := findKeys(doc)["format"]
	switch n := v.Format.(type) {
	case nil:
		return &SetupError{File: file, Line: 1, Column: 1, Key: "format", What: fmt.Sprintf("missing; write format = %d at the top", Format)}
	case int64:
		if n > Format {
			return &SetupError{File: file, Line: at.line, Column: at.column, Key: "format",
				What: fmt.Sprintf("the study is in layout %d, from a newer griptrial; this one reads up to %d: update griptrial to open it (nothing was changed)", n, Format)}
		}
		if n < 1 {
			return &SetupError{File: file, Line: at.line, Column: at.column, Key: "format", What: fmt.Sprintf("there is no layout %d; write format = %d", n, Format)}
		}
	}
	return nil
}

// decodeErrors words what the TOML reader found.
func decodeErrors(file string, err error) error {
	var missing *toml.StrictMissingError
	if errors.As(err, &missing) {
		var errs []error
		for i := range missing.Errors {
			e := &missing.Errors[i]
			line, column := e.Position()
			errs = append(errs, &SetupError{File: file, Line: line, Column: column, Key: strings.Join(e.Key(), "."), What: "unknown key" + suggest(e.Key())})
		}
		return errors.Join(errs...)
	}
	var d *toml.DecodeError
	if errors.As(err, &d) {
		line, column := d.Position()
		return &SetupError{File: file, Line: line, Column: column, Key: strings.Join(d.Key(), "."), What: inPlainWords(d.Error())}
	}
	return fmt.Errorf("%s: %w", file, err)
}

// inPlainWords says what kind of value a key takes, where the reader names the
// type that it would fill.
func inPlainWords(message string) string {
	message = strings.TrimPrefix(message, "toml: ")
	found, wanted, ok := strings.Cut(message, " into struct field ")
	if !ok {
		return message
	}
	found = strings.TrimPrefix(found, "cannot decode TOML ")
	kind := wanted[strings.LastIndexByte(wanted, ' ')+1:]
	for prefix, words := range map[string]string{
		"string": "text in quotes", "[]string": "a list of texts", "int": "a whole number", "uint": "a whole number from 0 on",
		"float": "a number", "bool": "true or false",
	} {
		if strings.HasPrefix(kind, prefix) { // no prefix here begins another, so the order does not matter
			return fmt.Sprintf("takes %s, and this is %s %s", words, article(found), found)
		}
	}
	return fmt.Sprintf("does not take %s %s", article(found), found)
}

func article(word string) string {
	if word != "" && strings.ContainsRune("aeiou", rune(word[0])) {
		return "an"
	}
	return "a"
}
