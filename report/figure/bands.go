package figure

import (
	"fmt"
	"math"

	"griptrial/analysis/window"
	"griptrial/report"
)

// Bands draws for each facing the band from the least clamp that holds the cut
// to the greatest that the part bears: in weight on the handle where that is
// known, in force otherwise. The control stands first. A foot with a full bar
// is the end that holds, a double stroke the end that spares; a closed window
// is dashed and says so. usual is today's weight in kg, NaN or 0 where there is
// none. ok is false where no facing has a band.
func Bands(bands []window.Band, control string, usual float64) (f Figure, ok bool) {
	rows := make([]bandRow, 0, len(bands))
	weights := false
	for _, b := range bands {
		weights = weights || !math.IsNaN(b.LeastWeight)
	}
	most := 0.0
	for i, b := range bands {
		r := bandRow{index: i, name: report.Plain(b.Facing), least: b.Least, most: b.Most, open: b.Open}
		if weights {
			r.least, r.most = b.LeastWeight, b.MostWeight
		}
		if !math.IsNaN(r.least) {
			ok = true
			most = math.Max(most, r.least)
		}
		if !math.IsNaN(r.most) {
			most = math.Max(most, r.most)
		}
		if b.Facing == control {
			rows = append([]bandRow{r}, rows...)
			continue
		}
		rows = append(rows, r)
	}
	if !ok {
		return Figure{}, false
	}
	if !weights || !(usual > 0) {
		usual = 0
	}
	most = math.Max(most, usual)
	f = Figure{Name: "window", Width: fullWidth, Height: rowsTop + float64(len(rows))*rowHeight + 74}
	f.Title, f.Desc = bandWords(rows, weights)
	f.draw = func(p *pen) { drawBands(p, rows, most, weights, usual) }
	return f, true
}

type bandRow struct {
	index       int
	name        string
	least, most float64
	open        bool
}

func (r bandRow) known() bool { return !math.IsNaN(r.least) && !math.IsNaN(r.most) }

func bandUnit(weights bool) (name string, digits int) {
	if weights {
		return "kg", 2
	}
	return "N", 0
}

// bandWords says the picture in words.
func bandWords(rows []bandRow, weights bool) (title, desc string) {
	unit, digits := bandUnit(weights)
	open := 0
	for _, r := range rows {
		state := "closed"
		switch {
		case !r.known():
			desc += fmt.Sprintf("%s: cannot be said. ", r.name)
			continue
		case r.open:
			state = "open"
			open++
		}
		desc += fmt.Sprintf("%s: holds from %.*f %s, the part bears %.*f %s, %s. ", r.name, digits, r.least, unit, digits, r.most, unit, state)
	}
	switch open {
	case 0:
		title = "No facing holds this cut within what the part bears"
	case 1:
		for _, r := range rows {
			if r.open {
				title = fmt.Sprintf("Only %s holds this cut within what the part bears", r.name)
			}
		}
	default:
		title = fmt.Sprintf("%d of %d facings hold this cut within what the part bears", open, len(rows))
	}
	return title, desc + "An estimate for comparing facings, not proof that a part is safely held."
}

func drawBands(p *pen, rows []bandRow, most float64, weights bool, usual float64) {
	unit, digits := bandUnit(weights)
	axis := "clamp force on each face [N]"
	if weights {
		axis = "weight on the handle [kg]"
	}
	sc := fromZero(most, 4, fullWidth-4)
	bottom := rowsTop + float64(len(rows))*rowHeight + 4
	values, decimals := sc.ticks(5)
	for _, v := range values {
		x := sc.at(v)
		p.line(faint, 0.5, nil, pt{x, rowsTop}, pt{x, bottom})
		p.line(ink, 0.7, nil, pt{x, bottom}, pt{x, bottom + 3})
		p.text(mid, small, false, 0.5, math.Max(6, x), bottom+4+small, report.Number(v, decimals))
	}
	p.line(ink, 0.9, nil, pt{sc.from, bottom}, pt{sc.to, bottom})
	p.text(mid, small, false, 1, sc.to, bottom+8+2*small, axis)
	if usual > 0 {
		x := sc.at(usual)
		p.line(mid, 1, []float64{2, 2}, pt{x, rowsTop - 4}, pt{x, bottom})
		p.text(mid, small, false, math.Max(0, math.Min(1, x/fullWidth)), x, rowsTop-7, fmt.Sprintf("usual %.3g kg", usual))
	}
	for i, r := range rows {
		drawBandRow(p, r, sc, rowsTop+float64(i)*rowHeight, unit, digits)
	}
	drawBandKey(p, bottom+34)
	p.text(mid, small, false, 0, 4, bottom+62, "An estimate for comparing facings, not proof that a part is safely held.")
}

func drawBandRow(p *pen, r bandRow, sc scale, top float64, unit string, digits int) {
	value := "cannot be said"
	switch {
	case r.known() && r.open:
		value = fmt.Sprintf("%.*f to %.*f %s", digits, r.least, digits, r.most, unit)
	case r.known():
		value = fmt.Sprintf("closed: needs %.*f, bears %.*f %s", digits, r.least, digits, r.most, unit)
	case !math.IsNaN(r.least):
		value = fmt.Sprintf("needs %.*f %s", digits, r.least, unit)
	}
	room := width(value, body, true) + 8
	name := shorten(r.name, body, true, sc.to-sc.from-room)
	p.rect(paper, sc.from-1, top+1, width(name, body, true)+4, body+5)
	p.rect(paper, sc.to-room+5, top+1, room, body+5)
	p.text(ink, body, true, 0, sc.from, top+body+2, name)
	p.text(ink, body, true, 1, sc.to, top+body+2, value)
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
