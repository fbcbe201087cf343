package figure

import (
	"fmt"
	"math"
	"strconv"

	"griptrial/analysis"
	"griptrial/analysis/unit"
	"griptrial/report"
)

// Bands draws for each facing the band from the least clamp that holds the cut
// to the greatest that the part bears: in weight on the handle where that is
// known, in force otherwise. The control stands first. A foot with a full bar
// is the end that holds, a double stroke the end that spares; a closed window
// is dashed and says so. It is laid out so many points wide. ok is false where no
// facing has a band.
func Bands(in report.Input, w analysis.Window, wide float64) (f Figure, ok bool) {
	d := bandDrawing{unit: in.Force, axis: "clamp force on each face", wide: wide}
	for _, b := range w.Facings {
		if b.LeastWeight.Known() {
			d.unit, d.axis = in.WeightUnit(), "weight on the handle"
		}
	}
	weights := d.unit.Kind == unit.Mass
	usual := w.UsualClamp
	if weights {
		usual = w.Usual
	}
	if usual > 0 {
		d.usual = d.unit.FromSI(float64(usual))
		d.most = d.usual
	}
	for i, b := range w.Facings {
		least, most := b.Least, b.Most
		if weights {
			least, most = b.LeastWeight, b.MostWeight
		}
		r := bandRow{index: i, name: report.Plain(b.Facing), least: d.unit.FromSI(float64(least)), most: d.unit.FromSI(float64(most)), open: b.Open != nil && *b.Open}
		ok = ok || !math.IsNaN(r.least)
		for _, v := range []float64{r.least, r.most} {
			if !math.IsNaN(v) {
				d.most = math.Max(d.most, v)
			}
		}
		if b.Facing == w.Control {
			d.rows = append([]bandRow{r}, d.rows...)
			continue
		}
		d.rows = append(d.rows, r)
	}
	if !ok {
		return Figure{}, false
	}
	if d.most > 0 {
		d.digits = max(0, 2-int(math.Floor(math.Log10(d.most))))
	}
	f = Figure{Name: "window", Width: wide, Height: rowsTop + float64(len(d.rows))*rowHeight + 74, Breaks: every(len(d.rows), rowsTop, rowHeight)}
	f.Title, f.Desc = in.WindowText(w).Answer, d.words()
	f.draw = d.draw
	return f, true
}

// bandDrawing is what the figure shows, in one unit.
type bandDrawing struct {
	rows        []bandRow
	unit        unit.Unit
	axis        string
	digits      int
	most, usual float64 // usual 0: none
	wide        float64 // points
}

type bandRow struct {
	index       int
	name        string
	least, most float64
	open        bool
}

func (r bandRow) known() bool { return !math.IsNaN(r.least) && !math.IsNaN(r.most) }

// value writes a number as the figure does.
func (d bandDrawing) value(v float64) string { return strconv.FormatFloat(v, 'f', d.digits, 64) }

// words says the picture in words.
func (d bandDrawing) words() (desc string) {
	for _, r := range d.rows {
		switch {
		case !r.known():
			desc += fmt.Sprintf("%s: %s. ", r.name, d.says(r))
		case r.open:
			desc += fmt.Sprintf("%s: holds from %s %s, the part bears %s %s, open. ", r.name, d.value(r.least), d.unit.Name, d.value(r.most), d.unit.Name)
		default:
			desc += fmt.Sprintf("%s: closed, needs at least %s %s, the part bears at most %s %s. ", r.name, report.Short(r.least, 3), d.unit.Name, report.Short(r.most, 3), d.unit.Name)
		}
	}
	return desc + report.WindowCaution
}

func (d bandDrawing) draw(p *pen) {
	sc := fromZero(d.most, 4, d.wide-4)
	bottom := rowsTop + float64(len(d.rows))*rowHeight + 4
	values, decimals := sc.ticks(5)
	for _, v := range values {
		x := sc.at(v)
		p.line(faint, 0.5, nil, pt{x, rowsTop}, pt{x, bottom})
		p.line(ink, 0.7, nil, pt{x, bottom}, pt{x, bottom + 3})
		p.text(mid, small, false, 0.5, math.Max(6, x), bottom+4+small, report.Number(v, decimals))
	}
	p.line(ink, 0.9, nil, pt{sc.from, bottom}, pt{sc.to, bottom})
	p.text(mid, small, false, 1, sc.to, bottom+8+2*small, d.axis+" ["+d.unit.Name+"]")
	place := headPlace{sc.from, sc.to}
	heads := make([]rowHead, len(d.rows))
	for i, r := range d.rows {
		heads[i] = rowHead{r.name, d.says(r)}
	}
	if d.usual > 0 {
		x := sc.at(d.usual)
		place = besides(sc, x, heads)
		p.line(mid, 1, []float64{2, 2}, pt{x, rowsTop - 4}, pt{x, bottom})
		p.text(mid, small, false, math.Max(0, math.Min(1, x/d.wide)), x, rowsTop-7, fmt.Sprintf("usual %.4g %s", d.usual, d.unit.Name))
	}
	for i, r := range d.rows {
		top := rowsTop + float64(i)*rowHeight
		place.draw(p, heads[i], top)
		d.drawRow(p, r, sc, top)
	}
	drawBandKey(p, bottom+34)
	p.text(mid, small, false, 0, 4, bottom+62, report.WindowCaution)
}

// says writes a band in numbers.
func (d bandDrawing) says(r bandRow) string {
	switch {
	case r.known() && r.open:
		return d.value(r.least) + " to " + d.value(r.most) + " " + d.unit.Name
	case r.known():
		return "closed: needs " + report.Short(r.least, 3) + ", bears " + report.Short(r.most, 3) + " " + d.unit.Name
	case !math.IsNaN(r.least):
		return "needs " + d.value(r.least) + " " + d.unit.Name
	}
	return "cannot be said"
}

func (d bandDrawing) drawRow(p *pen, r bandRow, sc scale, top float64) {
	y, col := top+25, shade(r.index)
	a, b := sc.at(r.least), sc.at(r.most)
	switch {
	case r.known() && r.open:
		p.rect(col, a, y-3, b-a, 6)
	case r.known():
		p.line(col, 1.2, []float64{2, 2}, pt{b, y}, pt{a, y})
	}
	if !math.IsNaN(r.least) {
		holdEnd(p, r.index, a, y)
	}
	if !math.IsNaN(r.most) {
		spareEnd(p, r.index, b, y)
	}
}

// holdEnd is the end that holds: a thick post on a foot.
func holdEnd(p *pen, index int, x, y float64) {
	p.line(shade(index), 2.4, nil, pt{x, y - 6}, pt{x, y + 6})
	p.line(shade(index), 1.2, nil, pt{x - 4, y + 6}, pt{x + 4, y + 6})
}

// spareEnd is the end that spares the part: a double stroke.
func spareEnd(p *pen, index int, x, y float64) {
	p.line(shade(index), 1.1, nil, pt{x, y - 7}, pt{x, y + 7})
	p.line(shade(index), 1.1, nil, pt{x + 3, y - 7}, pt{x + 3, y + 7})
}

func drawBandKey(p *pen, y float64) {
	holdEnd(p, 0, 10, y-2)
	p.text(mid, small, false, 0, 20, y+1, "holds from here")
	spareEnd(p, 0, 118, y-2)
	p.text(mid, small, false, 0, 128, y+1, "the part bears up to here")
}
