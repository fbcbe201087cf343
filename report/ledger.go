package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"griptrial/analysis"
)

// Ledger is the table of every pull, as each report shows it.
type Ledger struct {
	Columns []Column
	Rows    []LedgerRow
}

// Column is one column of the table.
type Column struct {
	Name     string
	Number   bool // set flush right
	FromFile bool // holds names or notes that somebody typed
}

// LedgerRow is one row; Cells has one text for each column.
type LedgerRow struct {
	Cells      []string
	Outcome    string
	Superseded bool
}

// Ledger writes every pull in the order of the data. A row that was superseded
// stands before the one that replaced it. Columns without any entry are left
// out, but for those that a reader looks for.
func (in Input) Ledger() Ledger {
	name, unitName, toUnit := in.Grip()
	if unitName != "" {
		name += " [" + unitName + "]"
	}
	weight := in.WeightUnit()
	all := []Column{
		{"pull", true, false}, {"facing", false, true}, {"sample", false, true}, {"block", false, true}, {"level", false, true},
		{"weight [" + weight.Name + "]", true, false}, {"clamp [" + in.Force.Name + "]", true, false},
		{"outcome", false, false}, {"force [" + in.Force.Name + "]", true, false}, {name, true, false}, {"note", false, true},
	}
	var rows []LedgerRow
	// A superseded row stands before the one that replaced it, a withdrawn one
	// where its pull would be.
	gone := append([]Superseded(nil), in.Superseded...)
	slices.SortStableFunc(gone, func(a, b Superseded) int { return cmp.Compare(a.Pull, b.Pull) })
	for i, p := range in.Results.Pulls {
		n := p.Pull
		if n == 0 {
			n = i + 1
		}
		for len(gone) > 0 && gone[0].Pull <= n {
			rows = append(rows, supersededRow(in, gone[0], len(all)))
			gone = gone[1:]
		}
		value := known(p.Value, toUnit, 3)
		if p.Outcome == "held" && value != "" {
			value = "≥ " + value
		}
		force := in.forceText(p.Force)
		if p.Outcome == "held" && force != "" {
			force = "≥ " + force
		}
		rows = append(rows, LedgerRow{Outcome: p.Outcome, Cells: []string{
			fmt.Sprint(n), Brief(p.Facing, 120), named(p.Sample), named(p.Block), named(p.Level),
			given(p.Weight, weight.FromSI), known(p.Clamp, in.Force.FromSI, 4),
			p.Outcome, force, value, named(p.Note),
		}})
	}
	for _, s := range gone {
		rows = append(rows, supersededRow(in, s, len(all)))
	}
	return prune(Ledger{all, rows})
}

func supersededRow(in Input, s Superseded, columns int) LedgerRow {
	r := LedgerRow{Cells: make([]string, columns), Outcome: s.Outcome, Superseded: true}
	r.Cells[0], r.Cells[1], r.Cells[7] = fmt.Sprint(s.Pull), Brief(s.Facing, 120), s.Outcome
	r.Cells[8] = in.forceText(analysis.Number(s.Force))
	r.Cells[columns-1] = "superseded"
	if s.Why != "" {
		r.Cells[columns-1] += ": " + Plain(s.Why)
	}
	return r
}

// prune takes out columns that no row fills.
func prune(l Ledger) Ledger {
	var out Ledger
	keep := make([]bool, len(l.Columns))
	for i, c := range l.Columns {
		keep[i] = i == 0 || i == 1 || c.Name == "outcome"
		for _, r := range l.Rows {
			keep[i] = keep[i] || r.Cells[i] != ""
		}
		if keep[i] {
			out.Columns = append(out.Columns, c)
		}
	}
	for _, r := range l.Rows {
		var cells []string
		for i, k := range keep {
			if k {
				cells = append(cells, r.Cells[i])
			}
		}
		r.Cells = cells
		out.Rows = append(out.Rows, r)
	}
	return out
}

// forceText writes a force that was read: as typed for a scale that is read by
// eye, to four digits for a recorded one.
func (in Input) forceText(n analysis.Number) string {
	if in.Study.Scale.Kind == "cell" {
		return known(n, in.Force.FromSI, 4)
	}
	return given(n, in.Force.FromSI)
}

func known(n analysis.Number, toUnit func(float64) float64, digits int) string {
	if !n.Known() {
		return ""
	}
	return Short(toUnit(float64(n)), digits)
}

func given(n analysis.Number, toUnit func(float64) float64) string {
	if !n.Known() || n == 0 {
		return ""
	}
	return Given(toUnit(float64(n)))
}

func named(s string) string {
	if s == "" {
		return ""
	}
	return Brief(s, 200)
}

// degrees writes an angle.
func degrees(rad float64) string { return Given(rad*180/math.Pi) + "°" }
