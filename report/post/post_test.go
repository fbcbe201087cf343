package post

import (
	"bytes"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/report"
	"griptrial/report/internal/example"
	"griptrial/report/internal/golden"
)

func write(t *testing.T, in report.Input) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(&b, in, "figures"))
	return b.String()
}

func TestGolden(t *testing.T) {
	golden.Equal(t, "post.md", []byte(write(t, example.Input())))
}

func TestHostileNames(t *testing.T) {
	s := write(t, example.Renamed([4]string{example.Hostile[0], example.Hostile[4], "a|b", "``x`"}))
	assert.NotRegexp(t, `(^|[^\\])<script`, s)
	assert.Contains(t, s, `\<script\>`)
	assert.Contains(t, s, `\*\*bold\*\* \[a\](b)`)
	assert.Contains(t, s, `a\|b`)
	assert.Contains(t, s, "griptrial report '``x`' --format post")
}

func TestNothing(t *testing.T) {
	s := write(t, report.Input{Force: example.Input().Force})
	assert.Contains(t, s, "Nothing was pulled yet.")
	assert.Contains(t, s, "Before you try this")
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriteError(t *testing.T) {
	assert.ErrorContains(t, Write(broken{}, example.Input(), "figures"), "disk full")
}
