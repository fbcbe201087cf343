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

// Resource is one file of the package.
type Resource struct {
	Name    string // small letters, digits and dashes
	Path    string // below the package's folder, with slashes
	Title   string
	Table   *Table // what a CSV file holds; nil: another kind of file
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
	Fields        []field      `json:"fields"`
	MissingValues []string     `json:"missingValues"`
	PrimaryKey    string       `json:"primaryKey,omitempty"`
	ForeignKeys   []foreignKey `json:"foreignKeys,omitempty"`
}

type foreignKey struct {
	Fields    string    `json:"fields"`
	Reference reference `json:"reference"`
}

type reference struct {
	Resource string `json:"resource"`
	Fields   string `json:"fields"`
}

type field struct {
	Name        string       `json:"name"`
	Type        string       `json:"type"`
	Unit        string       `json:"unit,omitempty"`
	Description string       `json:"description,omitempty"`
	Constraints *constraints `json:"constraints,omitempty"`
}

type constraints struct {
	Required bool     `json:"required,omitempty"`
	Unique   bool     `json:"unique,omitempty"`
	Enum     []string `json:"enum,omitempty"`
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
		if r.Table != nil {
			out.Profile, out.Schema = "tabular-data-resource", describe(*r.Table)
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

// describe is the schema of a table.
func describe(t Table) *schema {
	out := &schema{MissingValues: []string{""}, PrimaryKey: t.Key}
	for _, f := range t.Fields {
		d := field{Name: f.Name, Type: f.Type, Unit: f.Unit(), Description: f.Description}
		if f.Enum != nil || f.Required || f.Name == t.Key {
			d.Constraints = &constraints{f.Required || f.Name == t.Key, f.Name == t.Key, f.Enum}
		}
		out.Fields = append(out.Fields, d)
		if f.Of != "" {
			out.ForeignKeys = append(out.ForeignKeys, foreignKey{f.Name, reference{f.Of, f.Name}})
		}
	}
	return out
}

// Slug makes a package name of any text: at most 60 small Latin letters, digits
// and dashes; "trial" where nothing of the text is left.
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
	const most = 60
	s := b.String()
	if s = strings.Trim(s[:min(len(s), most)], "-"); s != "" {
		return s
	}
	return "trial"
}
