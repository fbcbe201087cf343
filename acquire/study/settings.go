package study

import (
	"bytes"
	"fmt"
	"slices"
	"sort"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// Setting is one key of study.toml with its value as it is written there.
type Setting struct{ Key, Value string }

// Settings lists the keys of a study.toml in the order of their names. An
// element of a table of which there may be several goes by its name, stage or
// weight, so that inserting one does not rename the others:
// `facing "P240 cloth".samples`. The document has been read before, so it is
// sound; file stands for it in messages.
func Settings(file string, doc []byte) ([]Setting, error) {
	doc = pluralTables(bytes.TrimPrefix(doc, []byte("\ufeff")))
	var all map[string]any
	if err := toml.Unmarshal(doc, &all); err != nil {
		return nil, decodeErrors(file, err)
	}
	var out []Setting
	flatten(&out, "", all)
	sort.Slice(out, func(i, j int) bool { return out[i].Key < out[j].Key })
	return out, nil
}

// flatten appends what stands under a key.
func flatten(to *[]Setting, key string, value any) {
	switch v := value.(type) {
	case map[string]any:
		for name, inner := range v {
			flatten(to, strings.TrimPrefix(key+"."+name, "."), inner)
		}
	case []any:
		if !slices.ContainsFunc(v, func(e any) bool { _, isTable := e.(map[string]any); return isTable }) {
			*to = append(*to, Setting{key, fmt.Sprint(v)})
			return
		}
		seen := map[string]int{}
		for i, e := range v {
			label := ""
			if table, ok := e.(map[string]any); ok {
				label = labelOf(table)
			}
			if label == "" {
				label = fmt.Sprint(i + 1)
			}
			if seen[label]++; seen[label] > 1 {
				label += fmt.Sprintf(" (%d)", seen[label])
			}
			flatten(to, key+" "+label, e)
		}
	default:
		*to = append(*to, Setting{key, fmt.Sprint(v)})
	}
}

// labelOf is the key by which a person knows an element of a table.
func labelOf(table map[string]any) string {
	for _, key := range []string{"name", "stage", "weight"} {
		if v, ok := table[key]; ok {
			return fmt.Sprintf("%q", fmt.Sprint(v))
		}
	}
	return ""
}
