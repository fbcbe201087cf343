package figure

import (
	"bytes"
	"fmt"
	"io"
	"regexp"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgpdf"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Type sizes and the width that every figure is laid out for, in points. At
// this width a phone shows it at nearly its own size.
const (
	titleSize = 13.0
	body      = 10.6
	small     = 9.6
	fullWidth = 360.0
)

// Figure is one picture, ready to be written in any format, as often as wanted.
type Figure struct {
	Name  string  // file name without its ending
	Title string  // the answer
	Desc  string  // the same picture in words, for those who do not see it
	Width float64 // points
	// Height is that of the drawing, without the title, in points.
	Height float64
	// Breaks are the heights at which a figure too tall for a page may be cut.
	Breaks []float64
	draw   func(*pen)
}

// Formats lists the endings that Write knows.
var Formats = []string{"svg", "png", "pdf"}

// Write writes the figure in the format with the given ending.
func (f Figure) Write(w io.Writer, format string) error {
	switch format {
	case "svg":
		return f.SVG(w)
	case "png":
		return f.PNG(w)
	case "pdf":
		return f.PDF(w)
	}
	return fmt.Errorf("figure format %q is not one of %s", format, strings.Join(Formats, ", "))
}

// margin is the paper around a figure that stands alone.
const margin = 12.0

// alone is the size of the figure with its title and margins.
func (f Figure) alone() (w, h float64, title []string) {
	title = wrap(f.Title, titleSize, true, f.Width, 4)
	return f.Width + 2*margin, f.Height + 2*margin + float64(len(title))*titleSize*1.25 + 8, title
}

// drawAlone draws title and figure on paper.
func (f Figure) drawAlone(p *pen, w, h float64, title []string) {
	p.height = h
	if !p.grounded {
		p.rect(paper, 0, 0, w, h)
	}
	y := margin
	for _, line := range title {
		y += titleSize * 1.25
		p.text(ink, titleSize, true, 0, margin, y-titleSize*0.25, line)
	}
	p.dx, p.dy = margin, y+8
	f.draw(p)
}

// SVG writes the figure with its title, on paper, as a file of its own.
func (f Figure) SVG(w io.Writer) error {
	width, height, title := f.alone()
	c := vgsvg.New(vg.Length(width), vg.Length(height))
	f.drawAlone(&pen{c: c}, width, height, title)
	return f.finish(w, c, width, height, false)
}

// Inline writes the figure for a web page: without drawn title, without
// ground, and with its inks as style variables, so that it follows a dark
// page. Title and description stay inside, for screen readers.
func (f Figure) Inline(w io.Writer) error {
	c := vgsvg.New(vg.Length(f.Width), vg.Length(f.Height))
	f.draw(&pen{c: c, height: f.Height})
	return f.finish(w, c, f.Width, f.Height, true)
}

// creation finds the dates that the PDF writer takes from the clock.
var creation = regexp.MustCompile(`/(CreationDate|ModDate) \(D:(\d{14})\)`)

// PDF writes the figure with its title as one page of vectors. Letters are
// outlines: the canvas knows only Western letters, and orders its fonts anew
// on each run. The date of making, which it takes from the clock, is set to
// zero time, so that the same figure gives the same bytes.
func (f Figure) PDF(w io.Writer) error {
	width, height, title := f.alone()
	c := vgpdf.New(vg.Length(width), vg.Length(height))
	f.drawAlone(&pen{c: c, outline: true, plain: true}, width, height, title)
	var buf bytes.Buffer
	if _, err := c.WriteTo(&buf); err != nil {
		return fmt.Errorf("write figure %s as PDF: %w", f.Name, err)
	}
	out := creation.ReplaceAll(buf.Bytes(), []byte("/$1 (D:20000101000000)"))
	if _, err := w.Write(out); err != nil {
		return fmt.Errorf("write figure %s as PDF: %w", f.Name, err)
	}
	return nil
}
