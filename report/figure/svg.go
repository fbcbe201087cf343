package figure

import (
	"bytes"
	"fmt"
	"html"
	"io"
	"regexp"
	"strings"

	"gonum.org/v1/plot/vg/vgsvg"
)

// fallback names the typeface of the widths and those that share them.
const fallback = `'Liberation Sans',Arial,Helvetica,sans-serif`

var (
	svgHead  = regexp.MustCompile(`(?s)^.*?<svg[^>]*>\s*`)
	svgFont  = regexp.MustCompile(`font-family:Liberation Sans;font-variant:normal;font-weight:(normal|bold);font-style:normal;`)
	svgInk   = regexp.MustCompile(`#[0-9A-F]{6}`)
	svgBreak = strings.NewReplacer("\n\tstyle", " style")
)

// finish writes what the SVG canvas holds with what it leaves out: a role, a
// title and a description for screen readers, and typefaces to fall back on.
func (f Figure) finish(w io.Writer, c *vgsvg.Canvas, width, height float64, inline bool) error {
	var buf bytes.Buffer
	if _, err := c.WriteTo(&buf); err != nil {
		return fmt.Errorf("write figure %s as SVG: %w", f.Name, err)
	}
	s := svgBreak.Replace(svgHead.ReplaceAllString(buf.String(), ""))
	s = svgFont.ReplaceAllStringFunc(s, func(m string) string {
		if strings.Contains(m, "bold") {
			return "font-weight:bold;"
		}
		return ""
	})
	if inline {
		names := themed()
		s = svgInk.ReplaceAllStringFunc(s, func(m string) string {
			if name, ok := names[m]; ok {
				return "var(" + name + ")"
			}
			return m
		})
	}
	size := ""
	if !inline {
		size = fmt.Sprintf(` width="%gpt" height="%gpt"`, round(width), round(height))
	}
	_, err := fmt.Fprintf(w, `<svg xmlns="http://www.w3.org/2000/svg"%s viewBox="0 0 %g %g" role="img" aria-labelledby="%s-title %s-desc" font-family="%s">
<title id="%s-title">%s</title>
<desc id="%s-desc">%s</desc>
%s`, size, round(width), round(height), f.Name, f.Name, fallback,
		f.Name, html.EscapeString(f.Title), f.Name, html.EscapeString(f.Desc), s)
	if err != nil {
		return fmt.Errorf("write figure %s as SVG: %w", f.Name, err)
	}
	return nil
}

// round keeps two decimals of a length.
func round(v float64) float64 { return float64(int(v*100+0.5)) / 100 }

// Marker is the marker of the facing at a place in the results, alone, to
// stand before its name in a page. It says nothing to a screen reader.
func Marker(index int) string {
	c := vgsvg.New(10, 10)
	p := &pen{c: c, height: 10}
	p.mark(index, shade(index), false, 5, 5, 3.4)
	var buf bytes.Buffer
	if _, err := c.WriteTo(&buf); err != nil {
		panic("figure: a marker cannot be drawn: " + err.Error()) // memory does not fail
	}
	s := svgHead.ReplaceAllString(buf.String(), "")
	s = strings.ReplaceAll(s, hex(shade(index)), "var("+themed()[hex(shade(index))]+")")
	return `<svg xmlns="http://www.w3.org/2000/svg" class="mark" viewBox="0 0 10 10" aria-hidden="true">` + s
}
