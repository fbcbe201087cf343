// Package datapackage describes the tables of a trial in the open Data Package
// form (specs.frictionlessdata.io, version 1), so that R, Python or a
// spreadsheet reads them with their types and units.
//
// The form has no place for units: each field carries a property "unit" of its
// own, which the form allows, and its name keeps the unit in brackets, as the
// column heads of the files do.
package datapackage

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"
)

// Field is one column of a table.
type Field struct {
	Name        string // as the column head, with its unit in brackets
	Type        string // "string", "number" or "integer"
	Description string
	Enum        []string // the only values; nil: any
}

// Resource is one file of the package.
type Resource struct {
	Name    string // small letters, digits and dashes
	Path    string // below the package's folder, with slashes
	Title   string
	Fields  []Field // columns of a CSV file; nil: another kind of file
	Content []byte
}

// Package is what datapackage.json says.
type Package struct {
	Name      string // any text; made fit for a name
	Title     string
	Made      time.Time // zero: not recorded
	Resources []Resource
}

type document struct {
	Profile   string     `json:"profile"`
	Name      string     `json:"name"`
	Title     string     `json:"title"`
	Created   string     `json:"created,omitempty"`
	Resources []resource `json:"resources"`
}

type resource struct {
	Profile   string  `json:"profile"`
	Name      string  `json:"name"`
	Path      string  `json:"path"`
	Title     string  `json:"title"`
	Format    string  `json:"format"`
	MediaType string  `json:"mediatype"`
	Encoding  string  `json:"encoding"`
	Bytes     int     `json:"bytes"`
	Hash      string  `json:"hash"`
	Schema    *schema `json:"schema,omitempty"`
}

type schema struct {
	Fields        []field  `json:"fields"`
	MissingValues []string `json:"missingValues"`
}

type field struct {
	Name        string       `json:"name"`
	Type        string       `json:"type"`
	Unit        string       `json:"unit,omitempty"`
	Description string       `json:"description,omitempty"`
	Constraints *constraints `json:"constraints,omitempty"`
}

type constraints struct {
	Enum []string `json:"enum"`
}

var mediaTypes = map[string]string{"csv": "text/csv", "json": "application/json", "toml": "application/toml"}

// Write writes datapackage.json. The same package gives the same bytes.
func Write(w io.Writer, p Package) error {
	d := document{Profile: "data-package", Name: Slug(p.Name), Title: p.Title}
	if !p.Made.IsZero() {
		d.Created = p.Made.UTC().Format(time.RFC3339)
	}
	for _, r := range p.Resources {
		sum := sha256.Sum256(r.Content)
		format := r.Path[strings.LastIndexByte(r.Path, '.')+1:]
		out := resource{
			Profile: "data-resource", Name: r.Name, Path: r.Path, Title: r.Title, Format: format, MediaType: mediaTypes[format],
			Encoding: "utf-8", Bytes: len(r.Content), Hash: "sha256:" + hex.EncodeToString(sum[:]),
		}
		if out.MediaType == "" {
			return fmt.Errorf("data package: no media type is known for %s", r.Path)
		}
		if r.Fields != nil {
			out.Profile, out.Schema = "tabular-data-resource", &schema{MissingValues: []string{""}}
			for _, f := range r.Fields {
				out.Schema.Fields = append(out.Schema.Fields, describe(f))
			}
		}
		d.Resources = append(d.Resources, out)
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	if err := enc.Encode(d); err != nil {
		return fmt.Errorf("write datapackage.json: %w", err)
	}
	return nil
}

func describe(f Field) field {
	out := field{Name: f.Name, Type: f.Type, Description: f.Description}
	if open := strings.LastIndexByte(f.Name, '['); open >= 0 && strings.HasSuffix(f.Name, "]") {
		out.Unit = f.Name[open+1 : len(f.Name)-1]
	}
	if f.Enum != nil {
		out.Constraints = &constraints{f.Enum}
	}
	return out
}

// Slug makes a package name of any text: small Latin letters, digits and
// dashes; "trial" where nothing of the text is left.
func Slug(text string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(text) {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	if s := strings.Trim(b.String(), "-"); s != "" {
		return s
	}
	return "trial"
}
