package page

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Each example of the contract is a message of its type: no field more, and,
// but for commands, whose fields may be left out, no field less.
func TestExamplesAreTheContract(t *testing.T) {
	for prefix, message := range map[string]func() any{
		"hello": func() any { return new(Hello) }, "role": func() any { return new(RoleChange) }, "state": func() any { return new(State) },
		"live": func() any { return new(Live) }, "trace": func() any { return new(Record) }, "command": func() any { return new(Command) },
		"answer": func() any { return new(Answer) }, "refusal": func() any { return new(Refusal) }, "results": func() any { return new(Results) },
	} {
		files, err := filepath.Glob(filepath.Join("testdata", prefix+"*.json"))
		require.NoError(t, err)
		require.NotEmpty(t, files, prefix)
		for _, name := range files {
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			m := message()
			d := json.NewDecoder(bytes.NewReader(text))
			d.DisallowUnknownFields()
			require.NoError(t, d.Decode(m), name)
			again, err := json.Marshal(m)
			require.NoError(t, err)
			assert.JSONEq(t, string(text), string(again), strings.TrimSuffix(filepath.Base(name), ".json"))
		}
	}
}
