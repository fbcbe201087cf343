package figure

import (
	"fmt"
	"image/color"
	"strings"
	"sync"
	"unicode"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	stdfont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// The typeface carries Latin, Greek and Cyrillic. Its widths are those of the
// sans-serif faces that browsers fall back on.
var (
	regularFace = sync.OnceValue(func() *opentype.Font { return parseFace(liberationsansregular.TTF) })
	boldFace    = sync.OnceValue(func() *opentype.Font { return parseFace(liberationsansbold.TTF) })
)

func parseFace(ttf []byte) *opentype.Font {
	f, err := opentype.Parse(ttf)
	if err != nil {
		panic("figure: the built-in typeface cannot be read: " + err.Error())
	}
	return f
}

// face is the typeface in a size.
func face(size float64, bold bool) font.Face {
	if bold {
		return font.Face{Font: font.Font{Typeface: "Liberation", Variant: "Sans", Weight: stdfont.WeightBold, Size: vg.Length(size)}, Face: boldFace()}
	}
	return font.Face{Font: font.Font{Typeface: "Liberation", Variant: "Sans", Size: vg.Length(size)}, Face: regularFace()}
}

// width measures a text in points.
func width(s string, size float64, bold bool) float64 {
	f := face(size, bold)
	return f.Width(s).Points()
}

// text writes s with its baseline at y; anchor 0 starts at x, 0.5 centres on
// it, 1 ends there.
func (p *pen) text(col color.Color, size float64, bold bool, anchor, x, y float64, s string) {
	if p.plain {
		s = Spell(s)
	}
	f := face(size, bold)
	if anchor != 0 {
		x -= anchor * f.Width(s).Points()
	}
	p.c.SetColor(col)
	if !p.outline {
		p.c.FillString(f, p.point(x, y), s)
		return
	}
	if path := p.glyphs(f, x, y, s); len(path) > 0 {
		p.c.Fill(path)
	}
}

// glyphs outlines a text, so that no reader needs the font.
func (p *pen) glyphs(f font.Face, x, y float64, s string) vg.Path {
	var buf sfnt.Buffer
	em := fixed.Int26_6(f.Face.UnitsPerEm())
	scale := f.Font.Size.Points() / float64(em)
	at := func(q fixed.Point26_6) vg.Point {
		return p.point(x+float64(q.X)*scale, y+float64(q.Y)*scale)
	}
	var path vg.Path
	var before sfnt.GlyphIndex
	for i, r := range s {
		g, err := f.Face.GlyphIndex(&buf, r)
		if err != nil {
			continue
		}
		if i > 0 {
			if k, err := f.Face.Kern(&buf, before, g, em, stdfont.HintingNone); err == nil {
				x += float64(k) * scale
			}
		}
		segments, err := f.Face.LoadGlyph(&buf, g, em, nil)
		if err != nil {
			continue
		}
		for j, seg := range segments {
			switch seg.Op {
			case sfnt.SegmentOpMoveTo:
				if j > 0 {
					path.Close()
				}
				path.Move(at(seg.Args[0]))
			case sfnt.SegmentOpLineTo:
				path.Line(at(seg.Args[0]))
			case sfnt.SegmentOpQuadTo:
				path.QuadTo(at(seg.Args[0]), at(seg.Args[1]))
			case sfnt.SegmentOpCubeTo:
				path.CubeTo(at(seg.Args[0]), at(seg.Args[1]), at(seg.Args[2]))
			}
		}
		if len(segments) > 0 {
			path.Close()
		}
		if a, err := f.Face.GlyphAdvance(&buf, g, em, stdfont.HintingNone); err == nil {
			x += float64(a) * scale
		}
		before = g
	}
	return path
}

// Spell writes the letters that the typeface does not carry by their code
// points, so that a name is never a row of blank boxes: "[U+0645 U+0637 …]".
func Spell(s string) string {
	var buf sfnt.Buffer
	var b strings.Builder
	var missing []rune
	flush := func() {
		if len(missing) == 0 {
			return
		}
		b.WriteByte('[')
		for i, r := range missing {
			if i == 3 {
				b.WriteString(" …")
				break
			}
			if i > 0 {
				b.WriteByte(' ')
			}
			fmt.Fprintf(&b, "U+%04X", r)
		}
		b.WriteByte(']')
		missing = nil
	}
	for _, r := range s {
		g, err := regularFace().GlyphIndex(&buf, r)
		switch {
		case err != nil || g == 0:
			missing = append(missing, r)
			continue
		case unicode.Is(unicode.Cf, r):
			continue
		}
		flush()
		b.WriteRune(r)
	}
	flush()
	return b.String()
}

// wrap breaks a text into lines no wider than w; a word that is wider is
// broken. More than most lines end in an ellipsis.
func wrap(s string, size float64, bold bool, w float64, most int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		for word != "" {
			try := word
			if line != "" {
				try = line + " " + word
			}
			if width(try, size, bold) <= w {
				line = try
				break
			}
			if line != "" {
				lines, line = append(lines, line), ""
				continue
			}
			head := fit(word, size, bold, w)
			lines, word = append(lines, head), word[len(head):]
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	if len(lines) > most {
		lines = lines[:most]
		lines[most-1] = shorten(lines[most-1]+"…", size, bold, w)
	}
	return lines
}

// shorten cuts a text to a width, with an ellipsis where it was cut.
func shorten(s string, size float64, bold bool, w float64) string {
	if width(s, size, bold) <= w {
		return s
	}
	return strings.TrimRight(fit(strings.TrimRight(s, "…"), size, bold, w-width("…", size, bold)), " ") + "…"
}

// fit is the longest start of s no wider than w, of at least one letter.
func fit(s string, size float64, bold bool, w float64) string {
	end := 0
	for i, r := range s {
		next := i + len(string(r))
		if end > 0 && width(s[:next], size, bold) > w {
			break
		}
		end = next
	}
	return s[:end]
}
