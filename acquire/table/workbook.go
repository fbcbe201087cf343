package table

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// A workbook of a spreadsheet (.xlsx) is a zip of XML parts: ECMA-376, part 1.
// This is a reader of its own, because what a spreadsheet library skips in
// silence (a part that breaks off, a text that is not there) would be pulls
// lost. Anything out of the ordinary is an error.

const (
	maxBook = 32 << 20 // greatest file
	maxPart = 16 << 20 // greatest part of it, unpacked
	maxText = 32 << 20 // greatest text of the cells that are kept
	maxDeep = 64       // deepest nesting of elements
)

// zipMagic starts every workbook, oldMagic those with a password and those of
// before 2007.
const (
	zipMagic = "PK\x03\x04"
	oldMagic = "\xd0\xcf\x11\xe0"
)

// book is an opened workbook.
type book struct {
	name   string
	parts  map[string]*zip.File
	sheets []bookSheet
	texts  []string // shared strings
	styles styles
	y1904  bool // dates count from 1904
}

type bookSheet struct{ name, part string }

// openBook reads what all sheets share. name stands for the file in messages.
func openBook(name string, r io.Reader) (*book, error) {
	b := &book{name: name, parts: map[string]*zip.File{}}
	content, err := io.ReadAll(io.LimitReader(r, maxBook+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, bare(err))
	}
	if len(content) > maxBook {
		return nil, fmt.Errorf("%s: a workbook of more than %d MiB; save the sheet of readings as CSV", name, maxBook>>20)
	}
	z, err := zip.NewReader(bytes.NewReader(content), int64(len(content)))
	if err != nil {
		return nil, b.broken(err)
	}
	for _, f := range z.File {
		b.parts[strings.ToLower(strings.TrimPrefix(f.Name, "/"))] = f
	}
	for _, read := range []func() error{b.readSheets, b.readTexts, b.readStyles} {
		if err := read(); err != nil {
			return nil, err
		}
	}
	return b, nil
}

func (b *book) broken(err error) error {
	return fmt.Errorf("%s: not a whole workbook: %w; save it again, or save the sheet of readings as CSV", b.name, err)
}

// elements calls each for every start of an element in a part. An absent part
// has none. each may read on to the end of its element, and says so.
func (b *book) elements(part string, each func(*xml.Decoder, xml.StartElement) (ended bool, err error)) error {
	f := b.parts[strings.ToLower(part)]
	if f == nil {
		return nil
	}
	r, err := f.Open()
	if err != nil {
		return b.broken(err)
	}
	defer r.Close()
	bounded := &io.LimitedReader{R: r, N: maxPart + 1}
	d := xml.NewDecoder(bounded)
	fail := func(err error) error {
		var p Problem
		switch {
		case bounded.N <= 0:
			return fmt.Errorf("%s: its part %s is more than %d MiB unpacked; save the sheet of readings as CSV", b.name, part, maxPart>>20)
		case errors.As(err, &p), errors.As(err, new(bookError)):
			return err
		}
		return b.broken(fmt.Errorf("%s: %w", part, err))
	}
	for deep := 0; ; {
		token, err := d.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fail(err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			if deep++; deep > maxDeep {
				return fail(errors.New("elements nested too deeply"))
			}
			ended, err := each(d, e)
			if err != nil {
				return fail(err)
			}
			if ended {
				deep--
			}
		case xml.EndElement:
			deep--
		}
	}
}

// bookError is an error that says all there is to say.
type bookError struct{ error }

// readSheets lists the sheets with the parts that hold them.
func (b *book) readSheets() error {
	const main = "xl/workbook.xml"
	if b.parts[main] == nil {
		return fmt.Errorf("%s: a zip file, but not a workbook (it has no %s)", b.name, main)
	}
	targets := map[string]string{}
	err := b.elements("xl/_rels/workbook.xml.rels", func(_ *xml.Decoder, e xml.StartElement) (bool, error) {
		if e.Name.Local == "Relationship" {
			targets[attr(e, "Id")] = attr(e, "Target")
		}
		return false, nil
	})
	if err != nil {
		return err
	}
	return b.elements(main, func(_ *xml.Decoder, e xml.StartElement) (bool, error) {
		switch e.Name.Local {
		case "workbookPr":
			b.y1904 = attr(e, "date1904") == "1" || attr(e, "date1904") == "true"
		case "sheet":
			target := targets[attr(e, "id")]
			if t, ok := strings.CutPrefix(target, "/"); ok {
				target = t
			} else {
				target = path.Join("xl", target)
			}
			b.sheets = append(b.sheets, bookSheet{attr(e, "name"), target})
		}
		return false, nil
	})
}

// attr is an attribute of an element, whatever its name space; "" where there
// is none.
func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// readTexts reads the shared strings.
func (b *book) readTexts() error {
	return b.elements("xl/sharedStrings.xml", func(d *xml.Decoder, e xml.StartElement) (bool, error) {
		if e.Name.Local != "si" {
			return false, nil
		}
		text, err := richText(d)
		b.texts = append(b.texts, text)
		return true, err
	})
}

// richText reads to the end of an element that holds text in runs. What says
// how to pronounce it (rPh) is no part of the text.
func richText(d *xml.Decoder) (string, error) {
	var text strings.Builder
	inText, silent := false, 0
	for deep := 1; deep > 0; {
		token, err := d.Token()
		if err != nil {
			return "", err
		}
		switch e := token.(type) {
		case xml.StartElement:
			if deep++; deep > maxDeep {
				return "", errors.New("elements nested too deeply")
			}
			inText = e.Name.Local == "t"
			if e.Name.Local == "rPh" {
				silent = deep
			}
		case xml.EndElement:
			if silent == deep {
				silent = 0
			}
			inText = false
			deep--
		case xml.CharData:
			if inText && silent == 0 {
				text.Write(e)
			}
		}
	}
	return unescape(text.String()), nil
}

// sheetOfReadings is the sheet called "readings", or the only one.
func (b *book) sheetOfReadings() (bookSheet, error) {
	var names []string
	for _, s := range b.sheets {
		if strings.EqualFold(strings.TrimSpace(s.name), "readings") {
			return s, b.has(s)
		}
		names = append(names, fmt.Sprintf("%q", s.name))
	}
	switch len(names) {
	case 0:
		return bookSheet{}, fmt.Errorf("%s: the workbook has no sheet", b.name)
	case 1:
		return b.sheets[0], b.has(b.sheets[0])
	}
	const most = 20
	if len(names) > most {
		names = append(names[:most], "...")
	}
	return bookSheet{}, fmt.Errorf("%s: no sheet of the workbook is called \"readings\" (there are %s); give that name to the one with the pulls", b.name, strings.Join(names, ", "))
}

func (b *book) has(s bookSheet) error {
	if b.parts[strings.ToLower(s.part)] == nil {
		return b.broken(fmt.Errorf("the sheet %q is not in it", s.name))
	}
	return nil
}
