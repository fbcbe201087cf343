package figure

import (
	"fmt"
	"image/color"
)

// The inks. In a page they become style variables, so that the figure follows
// a dark page; see themed.
var (
	ink   = color.RGBA{0x1d, 0x25, 0x2b, 0xff} // text and main lines
	mid   = color.RGBA{0x56, 0x62, 0x6b, 0xff} // second rank: axis names, counts
	faint = color.RGBA{0xc6, 0xce, 0xd2, 0xff} // grid
	wash  = color.RGBA{0xe9, 0xee, 0xf0, 0xff} // areas behind data
	paper = color.RGBA{0xfe, 0xfe, 0xfe, 0xff} // ground
)

// shades tell facings apart together with the marker shape. They differ in
// lightness too, so that a grey print keeps them apart, and no two of them
// need red against green.
var shades = []color.RGBA{
	{0x3c, 0x46, 0x4d, 0xff}, // the first facing, mostly the control: graphite
	{0x00, 0x6a, 0x8e, 0xff}, // lake
	{0xb8, 0x50, 0x12, 0xff}, // rust
	{0x6f, 0x4f, 0xa3, 0xff}, // plum
	{0x5e, 0x7a, 0x14, 0xff}, // moss
	{0xa8, 0x2f, 0x63, 0xff}, // madder
	{0x2f, 0x8f, 0x86, 0xff}, // verdigris
}

func shade(i int) color.RGBA { return shades[i%len(shades)] }

// hex writes a colour as SVG does.
func hex(c color.RGBA) string { return fmt.Sprintf("#%02X%02X%02X", c.R, c.G, c.B) }

// themed pairs every ink with the name of its style variable.
func themed() map[string]string {
	m := map[string]string{
		hex(ink): "--fig-ink", hex(mid): "--fig-mid", hex(faint): "--fig-faint", hex(wash): "--fig-wash", hex(paper): "--fig-paper",
	}
	for i, s := range shades {
		m[hex(s)] = fmt.Sprintf("--fig-%d", i)
	}
	return m
}
