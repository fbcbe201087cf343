package report

import (
	"cmp"
	"fmt"
	"slices"

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
	Change string // when to change the facing
	Rows   []CardRow
	More   int // facings for which the card has no room
}

// CardRow is one facing on the card.
type CardRow struct {
	Index         int // place in the results, for its mark
	Facing        string
	Control       bool
	Holds         string // "3.3 ×", "at least 3.5 ×"
	Hang          string // squeeze that surely does what the control does today: "3.4 kg", "34 %"
	Unsure        string // why Hang is a dash; "": it is not, or nothing is known
	Slipped, Held int
	order         float64 // how much it holds, for sorting; 0: not known
}

// Card puts the verdict on one card.
func (in Input) Card() Card {
	v := in.Verdict()
	c := Card{Say: Sentence(v.Headline), Sure: v.Sure, Facing: v.Best}
	if word := in.usualCaution(); word != "" {
		c.Notes = append(c.Notes, word)
	}
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
	for _, s := range in.Results.LessSqueeze {
		if word := in.windowWord(s); c.Big != "" && s.Facing == v.Best && word != "" {
			c.Notes = append(c.Notes, word)
		}
	}
	if in.doubts() {
		c.Notes = append(c.Notes, "The remarks on the data make this less sure: read them.")
	}
	c.Notes = append(c.Notes, "This is the everyday clamping. A careless one grips less: leave room.")
	if f := in.Results.Facings; len(f) == 1 {
		c.Change = in.change(f[0].Facing) // and no table of one row
		return c
	}
	c.Change = in.change(v.Best)
	c.Rows, c.More = few(in.CardRows())
	return c
}

// few keeps what fits on a card: the control and the best of the others.
func few(rows []CardRow) (kept []CardRow, more int) {
	const most = 8
	if len(rows) <= most {
		return rows, 0
	}
	best := slices.Clone(rows)
	slices.SortStableFunc(best, func(a, b CardRow) int {
		if a.Control != b.Control {
			return cmp.Compare(truth(b.Control), truth(a.Control))
		}
		return cmp.Compare(b.order, a.order)
	})
	return best[:most], len(rows) - most
}

func truth(b bool) int {
	if b {
		return 1
	}
	return 0
}

// confidence is that of the intervals; results without one have 95 %.
func (in Input) confidence() float64 {
	if in.Results.Confidence > 0 {
		return in.Results.Confidence
	}
	return 0.95
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

// Hang words the squeeze of a facing to work with, for tables: on the safe side,
// as the verdict has it. A dash with a reason stands where it is not surely less
// than today's.
func (in Input) Hang(s analysis.Squeeze) (text, unsure string) {
	text = in.SafeWeight(s)
	if text == "" {
		text = in.SafeShare(s)
	}
	switch {
	case text == "":
		return Dash, ""
	case !in.less(s):
		return Dash, "not surely less"
	case s.Bound:
		return "≤ " + text, ""
	case !s.Share.Upper.Known():
		return "about " + text, ""
	}
	return text, ""
}

// less tells whether a squeeze is less than today's as far as anybody can
// tell: its upper end is, and the whole interval of the ratio lies above 1.
// Where neither is known the estimate decides.
func (in Input) less(s analysis.Squeeze) bool {
	for _, x := range in.Results.AgainstControl {
		if x.Facing == s.Facing && x.Lower.Known() && x.Lower <= 1 {
			return false
		}
	}
	if s.Share.Upper.Known() {
		return s.Share.Upper < 1
	}
	return s.Share.Estimate < 1
}

// CardRows makes a row of every facing, in the order of the results.
func (in Input) CardRows() []CardRow {
	var rows []CardRow
	for i, f := range in.Results.Facings {
		row := CardRow{Index: i, Facing: Brief(f.Facing, 120), Control: f.Facing == in.Results.Control, Slipped: f.Slipped, Held: f.Held, Holds: Dash, Hang: Dash}
		for _, b := range in.Results.Bounds {
			if b.A == in.Results.Control && b.B == f.Facing && b.AtLeast.Known() {
				row.Holds, row.order = "at least "+Short(float64(b.AtLeast), 2)+" ×", float64(b.AtLeast)
			}
		}
		for _, x := range in.Results.AgainstControl {
			if x.Facing == f.Facing && x.Ratio.Known() {
				row.Holds, row.order = Short(float64(x.Ratio), 2)+" ×", float64(x.Ratio)
			}
		}
		for _, s := range in.Results.LessSqueeze {
			if s.Facing != f.Facing {
				continue
			}
			row.Hang, row.Unsure = in.Hang(s)
			if row.Control && s.Usual.Known() {
				row.Hang, row.Unsure = in.usual(s), ""
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
