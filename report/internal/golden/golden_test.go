package golden

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestDiffer(t *testing.T) {
	for _, c := range []struct {
		want, got string
		line      int
		differ    bool
	}{
		{"a\nb\n", "a\nb\n", 0, false},
		{"a\nb\n", "a\nc\n", 2, true},
		{"a\nb", "a\nb\nc", 3, true},
		{"", "x", 1, true},
	} {
		line, ok := differ([]byte(c.want), []byte(c.got))
		assert.Equal(t, c.line, line, "%q %q", c.want, c.got)
		assert.Equal(t, c.differ, ok, "%q %q", c.want, c.got)
	}
}
