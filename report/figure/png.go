package figure

import (
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// dots is the resolution of PNG files, per inch: twice that of a screen.
// A sheet of very many traces gets less, so that it has no more than mostDots.
const (
	dots     = 192
	mostDots = 6e6
)

// PNG writes the figure with its title as a picture of dots.
func (f Figure) PNG(w io.Writer) error {
	width, height, title := f.alone()
	dpi := int(math.Max(48, math.Min(dots, math.Sqrt(mostDots*72*72/(width*height)))))
	c := vgimg.NewWith(vgimg.UseWH(vg.Length(width), vg.Length(height)), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(paper))
	f.drawAlone(&pen{c: c, outline: true, plain: true, grounded: true}, width, height, title)
	if err := png.Encode(w, few(c.Image())); err != nil {
		return fmt.Errorf("write figure %s as PNG: %w", f.Name, err)
	}
	return nil
}

// few gives the picture with at most 256 colours, which makes its file smaller
// and three times quicker to write: the inks as they are, and what lies
// between an ink and its ground in sixteen steps. Where that is not enough, the
// rarer mixtures take the nearest colour there is.
func few(im image.Image) image.Image {
	full, ok := im.(*image.RGBA)
	if !ok {
		return im
	}
	var index [1 << 12]int16 // of the colours, by the upper four bits of each channel
	palette := color.Palette{}
	add := func(c color.RGBA) int16 {
		palette = append(palette, c)
		return int16(len(palette))
	}
	for _, c := range append([]color.RGBA{paper, ink, mid, faint, wash}, shades...) {
		if k := bin(c.R, c.G, c.B); index[k] == 0 {
			index[k] = add(c)
		}
	}
	out := image.NewPaletted(full.Bounds(), nil)
	for i := range out.Pix {
		p := full.Pix[4*i : 4*i+4 : 4*i+4]
		k := bin(p[0], p[1], p[2])
		if index[k] == 0 {
			c := color.RGBA{p[0] >> 4 * 17, p[1] >> 4 * 17, p[2] >> 4 * 17, 0xff}
			if len(palette) < 256 {
				index[k] = add(c)
			} else {
				index[k] = int16(palette.Index(c)) + 1
			}
		}
		out.Pix[i] = uint8(index[k] - 1)
	}
	out.Palette = palette
	return out
}

func bin(r, g, b uint8) int { return int(r>>4)<<8 | int(g>>4)<<4 | int(b>>4) }
