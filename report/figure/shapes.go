package figure

import (
	"image"
	"image/color"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// Shape is one thing that a figure draws, for a document that draws it itself.
// Positions are in points from the top left. A shape is a text where Text is
// not empty, otherwise a path.
type Shape struct {
	Text  string
	X, Y  float64 // start of the text's baseline
	Size  float64
	Bold  bool
	Path  []Step
	Fill  bool // fill the path; otherwise stroke it
	Width float64
	Dash  []float64
	Color color.RGBA
}

// Step is one step of a path: 'M' move to (X, Y), 'L' line to it, 'C' curve to
// it with two control points, 'Z' close.
type Step struct {
	Op                   byte
	X1, Y1, X2, Y2, X, Y float64
}

// Shapes gives the figure without its title, for a document that sets text in
// the same typeface. Letters that the typeface lacks are spelled out.
func (f Figure) Shapes() []Shape {
	r := &recorder{height: f.Height}
	f.draw(&pen{c: r, height: f.Height, plain: true})
	return r.shapes
}

// recorder is a canvas that keeps what is drawn on it. The figures move, turn
// and scale nothing and draw no images, so it does not know how.
type recorder struct {
	height float64
	color  color.RGBA
	width  float64
	dash   []float64
	shapes []Shape
}

func (r *recorder) SetLineWidth(w vg.Length) { r.width = w.Points() }

func (r *recorder) SetLineDash(pattern []vg.Length, _ vg.Length) {
	r.dash = nil
	for _, d := range pattern {
		r.dash = append(r.dash, d.Points())
	}
}

func (r *recorder) SetColor(c color.Color) { r.color = color.RGBAModel.Convert(c).(color.RGBA) }

func (r *recorder) Stroke(p vg.Path) {
	r.shapes = append(r.shapes, Shape{Path: r.steps(p), Width: r.width, Dash: r.dash, Color: r.color})
}

func (r *recorder) Fill(p vg.Path) {
	r.shapes = append(r.shapes, Shape{Path: r.steps(p), Fill: true, Color: r.color})
}

func (r *recorder) FillString(f font.Face, at vg.Point, text string) {
	if text == "" {
		return
	}
	r.shapes = append(r.shapes, Shape{
		Text: text, X: at.X.Points(), Y: r.height - at.Y.Points(),
		Size: f.Font.Size.Points(), Bold: f.Font.Weight > 0, Color: r.color,
	})
}

func (r *recorder) Push() {}
func (r *recorder) Pop()  {}

func (r *recorder) Rotate(float64)                      { panic(plainOnly) }
func (r *recorder) Translate(vg.Point)                  { panic(plainOnly) }
func (r *recorder) Scale(x, y float64)                  { panic(plainOnly) }
func (r *recorder) DrawImage(vg.Rectangle, image.Image) { panic(plainOnly) }

const plainOnly = "figure: only paths and upright text can be recorded"

func (r *recorder) steps(p vg.Path) []Step {
	var out []Step
	for _, c := range p {
		x, y := c.Pos.X.Points(), r.height-c.Pos.Y.Points()
		switch c.Type {
		case vg.MoveComp:
			out = append(out, Step{Op: 'M', X: x, Y: y})
		case vg.LineComp:
			out = append(out, Step{Op: 'L', X: x, Y: y})
		case vg.ArcComp:
			out = append(out, circle(x, y, c.Radius.Points())...)
		case vg.CloseComp:
			out = append(out, Step{Op: 'Z'})
		case vg.CurveComp:
			panic(plainOnly) // only letters have curves, and they stay text
		}
	}
	return out
}

// circle draws the only arcs there are, whole circles that start at the
// right, with four curves. The factor puts a curve's middle on the circle.
func circle(x, y, r float64) []Step {
	const k = 0.5522847498307936 // 4/3 (sqrt 2 - 1)
	q := k * r
	return []Step{
		{'C', x + r, y - q, x + q, y - r, x, y - r},
		{'C', x - q, y - r, x - r, y - q, x - r, y},
		{'C', x - r, y + q, x - q, y + r, x, y + r},
		{'C', x + q, y + r, x + r, y + q, x + r, y},
	}
}
