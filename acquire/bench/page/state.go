package page

import (
	"math"
	"time"

	"griptrial/acquire/bench"
	"griptrial/analysis/trial"
	"griptrial/analysis/unit"
)

// state words the session for the page.
func (h *hub) state() State {
	v, o := h.view, h.options
	s := State{Step: v.Step, Phase: v.Phase.String(), Mode: "cell", Practice: o.Practice, Study: o.Setup.Name, Question: o.Setup.Question,
		Unit: v.Unit.Name, Places: v.Places, Cautions: trial.Cautions, Notices: h.notices, Over: h.over,
		Cell:     Cell{State: v.Cell.Link.String(), Name: v.Cell.Name, Port: o.Port, Text: v.Cell.Text},
		Progress: Progress{Done: v.Done, Planned: v.Planned, Slipped: v.Summary.Slipped, Held: v.Summary.Held, Void: v.Summary.Void}}
	if v.Typed {
		s.Mode = "typed"
	}
	if s.Notices == nil {
		s.Notices = []Notice{}
	}
	if v.Capacity > 0 {
		s.Capacity = number(shown(v.Capacity, v.Unit))
	}
	if v.Left > 0 {
		s.Progress.MinutesLeft = number(round(v.Left.Minutes(), 1))
	}
	if v.Next.Order > 0 {
		s.Next = next(v)
	}
	if v.Weigh && v.Phase == bench.Mounting {
		s.Reminder = "Hang a weight that you know on the cell and see that it reads true, once in each block."
	}
	s.Checks = make([]Check, len(v.Checks))
	for i, c := range v.Checks {
		s.Checks[i] = Check{Text: c.Text, Done: !c.At.IsZero()}
		if s.Checks[i].Done {
			at := c.At.Format(time.RFC3339)
			s.Checks[i].At = &at
		}
	}
	if v.Proposal != nil && v.Phase == bench.Judging {
		s.Proposal = proposal(v.Proposal, v.Unit)
	}
	if v.Last != nil {
		s.Last = saved(v.Last, v)
	}
	return s
}

// number is a value that is there; NaN stands for one that is not.
func number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// next words the pull at hand.
func next(v bench.View) *Next {
	p, b := v.Next, v.Before
	n := &Next{Order: p.Order, Block: p.Block, NewBlock: b.Order == 0 || b.Block != p.Block, Facing: p.Facing, Sample: p.Sample, Level: p.Level,
		Clampings: v.Clampings, Changes: []string{}, Text: v.Mount(), Again: v.Again}
	if v.Level.Weight > 0 {
		n.WeightKg = number(v.Level.Weight)
	}
	if v.Level.Clamp > 0 {
		n.ClampN = number(v.Level.Clamp)
	}
	fresh := b.Order == 0
	for _, c := range []struct {
		name    string
		changed bool
	}{
		{"facing", fresh || b.Facing != p.Facing},
		{"sample", p.Sample != "" && (fresh || b.Facing != p.Facing || b.Sample != p.Sample)},
		{"weight", p.Level != "" && (fresh || b.Level != p.Level)},
	} {
		if c.changed {
			n.Changes = append(n.Changes, c.name)
		}
	}
	return n
}

// proposal words what the tool makes of a record.
func proposal(p *bench.Proposal, u unit.Unit) *Proposal {
	out := &Proposal{Outcome: p.Outcome.String(), Force: shown(p.Force, u), Kind: string(p.Result.Kind), Flags: []string{},
		Tool: mark(p.Tool, p.Began, u), Person: mark(p.Person, p.Began, u), Why: p.Why, Doubts: p.Doubts,
		Ask: p.Outcome == trial.Unclear && p.Person == nil, Samples: len(p.Trace.T)}
	if v := number(p.Result.PeakForce); v != nil {
		out.Peak = shown(*v, u)
	}
	if p.Outcome == trial.Slipped && p.Result.Low < p.Result.High {
		out.Low, out.High = number(shown(p.Result.Low, u)), number(shown(p.Result.High, u))
	}
	for _, f := range p.Result.Flags {
		out.Flags = append(out.Flags, string(f))
	}
	if out.Why == nil {
		out.Why = []string{}
	}
	if out.Doubts == nil {
		out.Doubts = []string{}
	}
	if n := len(p.Trace.T); n > 0 {
		out.Span = [2]float64{round(p.Trace.T[0]-p.Began, 6), round(p.Trace.T[n-1]-p.Began, 6)}
	}
	return out
}

func mark(m *bench.Mark, began float64, u unit.Unit) *Mark {
	if m == nil {
		return nil
	}
	return &Mark{Index: m.Index, T: round(m.T-began, 6), Force: shown(m.Force, u)}
}

// saved words the pull saved last.
func saved(l *bench.Saved, v bench.View) *Saved {
	s := &Saved{Pull: l.Pull, Order: l.Planned.Order, Facing: l.Planned.Facing, Sample: l.Planned.Sample, Level: l.Planned.Level,
		Outcome: l.Outcome.String(), Note: l.Note, Undone: l.Undone, Skipped: l.Skipped, Text: l.Line(v.Unit)}
	if l.Outcome != trial.Void {
		s.Force = l.Shown(v.Unit)
	}
	return s
}

// live is the force and what is new of the trace for one page.
func (h *hub) live(c *cursor) Live {
	v := h.view
	l := Live{Step: v.Step, Load: v.Load.String(), Motion: motions[v.State.String()], Pull: h.strip.record}
	if v.HasForce {
		l.Force = number(shown(v.Force, v.Unit))
	}
	if v.Phase == bench.Pulling {
		l.Peak, l.Elapsed = number(shown(v.Peak, v.Unit)), number(round(v.Elapsed, 3))
	}
	l.From, l.Trace = h.strip.since(c)
	return l
}

// motions are the contract's words for what a record looks like so far.
var motions = map[string]string{"idle": "idle", "loading": "loading", "slip likely": "slipping", "ended": "ended"}
