package figure

import (
	"fmt"
	"math"

	"griptrial/analysis/slip"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
	"griptrial/report"
)

// mostEvents is how many considered events an evidence figure lists.
const mostEvents = 7

// listed is one event of the list under an evidence figure.
type listed struct {
	slip.Event
	letter string
	chosen bool
}

// Evidence draws one record large, with the drops that the slip detector
// considered, what it took each for, and the one that it chose, with its 95 %
// interval. Forces are above rest, in u; name is the file's.
func Evidence(tr trial.Trace, r slip.Result, u unit.Unit, name string) Figure {
	events := list(r.Evidence)
	f := Figure{Name: "evidence", Title: evidenceTitle(r, u), Width: fullWidth, Height: 236 + float64(len(events))*small*1.5}
	f.Desc = fmt.Sprintf("Force against time of %s, with %d drops that were considered.", report.Plain(name), len(r.Evidence.Events))
	f.draw = func(p *pen) {
		fr := frame{left: yMargin, right: fullWidth - 8, top: 22, bottom: 196, xName: "time [s]", yName: "force above rest [" + u.Name + "]", xTicks: 6, yTicks: 5}
		sign := 1.0
		if r.Evidence.Reverse {
			sign = -1
		}
		t, force := decimate(tr.T, tr.Force, 340)
		if len(t) < 2 {
			p.text(mid, small, false, 0, fr.left+4, fr.bottom-8, "no samples")
			return
		}
		line := make([]pt, len(t))
		least, most := 0.0, 0.0
		for i := range t {
			force[i] = u.FromSI(sign*force[i] - sign*r.Evidence.Rest)
			least, most = math.Min(least, force[i]), math.Max(most, force[i])
		}
		if !math.IsNaN(r.High) {
			most = math.Max(most, u.FromSI(r.High))
		}
		if most == least {
			most = least + 1
		}
		fr.x = scale{lo: t[0], hi: t[len(t)-1], from: fr.left, to: fr.right}
		fr.y = scale{lo: least, hi: most + 0.06*(most-least), from: fr.bottom, to: fr.top}
		if r.Outcome == trial.Slipped {
			low, high := fr.y.clip(u.FromSI(r.Low)), fr.y.clip(u.FromSI(r.High))
			p.rect(wash, fr.left, high, fr.right-fr.left, math.Max(low-high, 0.8))
		}
		fr.draw(p)
		for i := range t {
			line[i] = pt{fr.x.at(t[i]), fr.y.at(force[i])}
		}
		p.line(shade(1), 0.9, nil, line...)
		for i, e := range events {
			x, y := fr.x.clip(e.Time), fr.y.clip(u.FromSI(e.Force))
			p.mark(0, ink, !e.chosen, x, y, 2.8)
			p.text(ink, small, e.chosen, 0.5, x, y-5, e.letter)
			p.text(ink, small, e.chosen, 0, fr.left-yMargin, fr.bottom+40+float64(i)*small*1.5, e.words(u))
		}
	}
	return f
}

// list takes the chosen event and those before it that count.
func list(e slip.Evidence) []listed {
	var out []listed
	for i, v := range e.Events {
		if i == e.Chosen || v.Meaning != slip.MeansAfter && len(out) < mostEvents-1 {
			out = append(out, listed{Event: v, letter: string(rune('a' + len(out))), chosen: i == e.Chosen})
		}
	}
	return out
}

// words tells one event in a line.
func (e listed) words(u unit.Unit) string {
	meaning := map[slip.Meaning]string{
		slip.MeansSlip: "slip", slip.MeansSeat: "the tie settling", slip.MeansHand: "the hand",
		slip.MeansVanish: "load gone at once", slip.MeansFaint: "too faint to tell", slip.MeansSlide: "eased or slid", slip.MeansCreep: "gives way gradually",
		slip.MeansAfter: "afterwards",
	}[e.Meaning]
	s := fmt.Sprintf("%s  %.2f s, %s: ", e.letter, e.Time, u.Format(e.Force, 3))
	if e.Drop > 0 {
		s += fmt.Sprintf("falls %s in %.0f ms, ", u.Format(e.Drop, 2), 1000*e.Fall)
	}
	s += meaning
	if e.chosen {
		s += " (chosen)"
	}
	return s
}

func evidenceTitle(r slip.Result, u unit.Unit) string {
	switch r.Outcome {
	case trial.Slipped:
		s := "Slipped at " + u.Format(r.SlipForce, 3)
		if r.Kind != slip.Sharp {
			s += ", " + string(r.Kind)
		}
		return s
	case trial.Held:
		return "Held: at least " + u.Format(r.PeakForce, 3)
	}
	return "Unclear: the record alone cannot tell"
}
