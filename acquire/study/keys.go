package study

import (
	"fmt"
	"reflect"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// place is where a key stands in study.toml; both count from 1.
type place struct{ line, column int }

// findKeys notes where every key of a TOML document stands, by paths such as
// "facing[0].name", so that a mistake in meaning is named at its line just as
// one in spelling is. The document has been decoded before, so it is sound.
func findKeys(doc []byte) map[string]place {
	k := keyFinder{places: map[string]place{"": {1, 1}}, count: map[string]int{}}
	k.p.Reset(doc)
	table := ""
	for k.p.NextExpression() {
		switch e := k.p.Expression(); e.Kind {
		case unstable.Table:
			table = k.key("", e)
		case unstable.ArrayTable:
			path := k.key("", e)
			table = fmt.Sprintf("%s[%d]", path, k.count[path])
			k.count[path]++
			k.places[table] = k.places[path]
		case unstable.KeyValue:
			k.value(k.key(table, e), e.Value())
		}
	}
	return k.places
}

type keyFinder struct {
	p      unstable.Parser
	places map[string]place
	count  map[string]int // elements of each array of tables so far
}

// key notes the parts of a key under a table and returns the whole path.
func (k *keyFinder) key(table string, e *unstable.Node) string {
	path := table
	for it := e.Key(); it.Next(); {
		n := it.Node()
		path = strings.TrimPrefix(path+"."+string(n.Data), ".")
		at := k.p.Shape(n.Raw).Start
		k.places[path] = place{at.Line, at.Column}
		// A table below an array of tables belongs to its last element.
		if c := k.count[path]; c > 0 && !it.IsLast() {
			path = fmt.Sprintf("%s[%d]", path, c-1)
		}
	}
	return path
}

// value notes where the value itself stands, which is where the eye should go.
func (k *keyFinder) value(path string, v *unstable.Node) {
	if v.Raw.Length > 0 {
		at := k.p.Shape(v.Raw).Start
		k.places[path] = place{at.Line, at.Column}
	}
	switch v.Kind {
	case unstable.InlineTable:
		for it := v.Children(); it.Next(); {
			k.value(k.key(path, it.Node()), it.Node().Value())
		}
	case unstable.Array:
		i := 0
		for it := v.Children(); it.Next(); i++ {
			element := fmt.Sprintf("%s[%d]", path, i)
			k.value(element, it.Node())
		}
	}
}

// siblings lists the keys that may stand beside an unknown one, and whether
// the unknown key's own table is known.
func siblings(key []string) []string {
	t := reflect.TypeFor[setupFile]()
	for _, part := range key[:len(key)-1] {
		f, ok := fieldOf(t, part)
		if !ok {
			return nil
		}
		t = f.Type
		if t.Kind() == reflect.Slice {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct {
			return nil
		}
	}
	return keysOf(t)
}

func keysOf(t reflect.Type) []string {
	var names []string
	for i := range t.NumField() {
		names = append(names, t.Field(i).Tag.Get("toml"))
	}
	return names
}

func fieldOf(t reflect.Type, key string) (reflect.StructField, bool) {
	for i := range t.NumField() {
		if t.Field(i).Tag.Get("toml") == key {
			return t.Field(i), true
		}
	}
	return reflect.StructField{}, false
}

// suggest words what an unknown key may have been meant to be.
func suggest(key []string) string {
	name := key[len(key)-1]
	known := siblings(key)
	if near, ok := nearest(name, known); ok {
		return fmt.Sprintf("; did you mean %s?", near)
	}
	// A part and a cut say what the window is for, and share no key with the
	// trial: a name typed there is not meant for a table of the trial.
	ofWindow := func(table string) bool { return table == "part" || table == "cut" }
	top := reflect.TypeFor[setupFile]()
	for i := range top.NumField() {
		if len(key) > 1 && ofWindow(key[0]) && !ofWindow(top.Field(i).Tag.Get("toml")) {
			continue
		}
		t := top.Field(i).Type
		if t.Kind() == reflect.Slice {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct {
			continue
		}
		if _, ok := fieldOf(t, name); ok {
			return fmt.Sprintf("; it belongs under [%s]", top.Field(i).Tag.Get("toml"))
		}
	}
	if len(known) == 0 {
		return ""
	}
	return "; known here: " + strings.Join(known, ", ")
}

// nearest finds the known word at the least edit distance, if it is near
// enough to be a slip of the pen: at most a third of the word. Failing that, it
// takes the one word that starts with what was typed, as feed for feed_tooth.
func nearest(word string, known []string) (string, bool) {
	best, least := "", len([]rune(word))/3+1
	for _, k := range known {
		if d := distance(strings.ToLower(word), strings.ToLower(k)); d < least {
			best, least = k, d
		}
	}
	if best != "" || word == "" {
		return best, best != ""
	}
	longer := 0
	for _, k := range known {
		if strings.HasPrefix(k, word+"_") {
			best = k
			longer++
		}
	}
	return best, longer == 1
}

// distance is the number of letters to insert, drop, change, or swap with
// their neighbour (Damerau-Levenshtein, restricted).
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	d := make([][]int, len(x)+1)
	for i := range d {
		d[i] = make([]int, len(y)+1)
		d[i][0] = i
	}
	for j := range d[0] {
		d[0][j] = j
	}
	for i := 1; i <= len(x); i++ {
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			d[i][j] = min(d[i-1][j]+1, d[i][j-1]+1, d[i-1][j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				d[i][j] = min(d[i][j], d[i-2][j-2]+1)
			}
		}
	}
	return d[len(x)][len(y)]
}
