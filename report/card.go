package report

import (
	"fmt"

	"griptrial/analysis"
)

// Card is what hangs at the vise: no words of statistics.
type Card struct {
	Facing string // which facing; "": none stands out
	Big    string // the number to work with: "3.4 kg"
	Unit   string // what that number is: "on the handle"
	Note   string // what it stands for
	Say    string // the verdict in one sentence
	Sure   string
	Notes  []string
	Rows   []CardRow
}

// CardRow is one facing on the card.
type CardRow struct {
	Index         int // place in the results, for its mark
	Facing        string
	Control       bool
	Holds         string // "3.3 ×", "at least 3.5 ×"
	Hang          string // "3.4 kg", "34 %"
	Slipped, Held int
}

// Card puts the verdict on one card.
func (in Input) Card() Card {
	v := in.Verdict()
	c := Card{Say: Sentence(v.Headline), Sure: v.Sure, Facing: v.Best}
	if v.Rivals != "" {
		c.Notes = append(c.Notes, v.Rivals)
	}
	for _, s := range in.Results.LessSqueeze {
		if s.Facing != v.Best || v.Best == "" {
			continue
		}
		control := Brief(in.Results.Control, 60)
		switch w := in.SafeWeight(s); {
		case w != "":
			c.Big, c.Unit = w, "on the handle"
			c.Note = fmt.Sprintf("holds what %s on %s holds today", in.usual(s), control)
		case in.SafeShare(s) != "":
			c.Big, c.Unit = in.SafeShare(s), "of today's squeeze"
			c.Note = fmt.Sprintf("holds what %s holds at full squeeze", control)
		}
		if c.Big != "" && s.Bound {
			c.Big = "≤ " + c.Big
		}
		if c.Big != "" && s.Beyond {
			c.Notes = append(c.Notes, "So little squeeze was not tried here: pull once at that weight before you trust it.")
		}
	}
	if in.doubts() {
		c.Notes = append(c.Notes, "The remarks on the data make this less sure: read them.")
	}
	c.Notes = append(c.Notes, "This is the everyday clamping. A careless one grips less: leave room.")
	c.Rows = in.cardRows()
	return c
}

// SafeShare is the share of the usual squeeze on the safe side; "" when it is
// not known.
func (in Input) SafeShare(s analysis.Squeeze) string {
	switch {
	case s.Share.Upper.Known():
		return Percent(float64(s.Share.Upper))
	case s.Share.Estimate.Known():
		return Percent(float64(s.Share.Estimate))
	}
	return ""
}

func (in Input) cardRows() []CardRow {
	var rows []CardRow
	for i, f := range in.Results.Facings {
		row := CardRow{Index: i, Facing: Brief(f.Facing, 120), Control: f.Facing == in.Results.Control, Slipped: f.Slipped, Held: f.Held, Holds: Dash, Hang: Dash}
		for _, b := range in.Results.Bounds {
			if b.A == in.Results.Control && b.B == f.Facing && b.AtLeast.Known() {
				row.Holds = "at least " + Short(float64(b.AtLeast), 2) + " ×"
			}
		}
		for _, x := range in.Results.AgainstControl {
			if x.Facing == f.Facing && x.Ratio.Known() {
				row.Holds = Short(float64(x.Ratio), 2) + " ×"
			}
		}
		for _, s := range in.Results.LessSqueeze {
			if s.Facing != f.Facing {
				continue
			}
			if w := in.SafeWeight(s); w != "" {
				row.Hang = w
			} else if w := in.SafeShare(s); w != "" {
				row.Hang = w
			}
			if row.Hang != Dash && s.Bound {
				row.Hang = "≤ " + row.Hang
			}
			if row.Control && s.Usual.Known() {
				row.Hang = in.usual(s)
			}
		}
		if row.Control {
			row.Holds = "1"
			if row.Hang == Dash && len(in.Results.LessSqueeze) > 0 {
				row.Hang = in.usual(in.Results.LessSqueeze[0])
				if row.Hang == Dash {
					row.Hang = "100 %"
				}
			}
		}
		rows = append(rows, row)
	}
	return rows
}
