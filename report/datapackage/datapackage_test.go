package datapackage

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"griptrial/report/internal/golden"
)

func example() Package {
	return Package{
		Name: "Acrylic blanks: 2nd try", Title: "Acrylic blanks", Made: time.Date(2026, 3, 14, 15, 26, 0, 0, time.UTC),
		Resources: []Resource{
			{Name: "readings", Path: "readings.csv", Title: "Every pull", Content: []byte("pull,facing,force [kgf]\n1,ground steel,10\n"), Table: &Table{Key: "pull", Fields: []Field{
				{Name: "pull", Type: "integer"},
				{Name: "facing", Type: "string", Description: "what faced the jaws", Required: true, Of: "facings"},
				{Name: "force [kgf]", Type: "number"},
				{Name: "outcome", Type: "string", Enum: []string{"slipped", "held", "void"}},
			}}},
			{Name: "setup", Path: "study.toml", Title: "Set-up", Content: []byte("format = 1\n")},
		},
	}
}

func TestGolden(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, Write(&b, example()))
	golden.Equal(t, "datapackage.json", b.Bytes())
}

func TestSlug(t *testing.T) {
	for in, want := range map[string]string{
		"Acrylic blanks: 2nd try": "acrylic-blanks-2nd-try", "": "trial", "مطاط": "trial", "--x--": "x", "<b>": "b", strings.Repeat("long ", 99): strings.Repeat("long-", 11) + "long",
	} {
		assert.Equal(t, want, Slug(in), "%q", in)
	}
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestErrors(t *testing.T) {
	assert.ErrorContains(t, Write(broken{}, example()), "disk full")
	p := example()
	p.Resources[1].Path = "study.exe"
	assert.ErrorContains(t, Write(&bytes.Buffer{}, p), "study.exe")
}
