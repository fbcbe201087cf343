package window

import (
	"fmt"
	"math"
	"strings"

	"griptrial/analysis/cutting"
)

// Way is one change that, alone, opens a closed window.
type Way struct {
	Change      string // "facing", "depth", "feed", "grip", "direction" or "measure"
	Text        string
	Value       float64 // the new depth, feed or grip in m, direction in rad; NaN for facing and measure
	Least, Most float64 // N after the change
}

// LightestShare is the least share of the described depth of cut or feed per
// tooth that a lighter cut is offered for. Below a tenth a cut takes ten times
// as long or rubs instead of cutting, and the cutting force, described for
// another chip, is no longer known (common practice, no source).
const LightestShare = 0.1

// ways looks for what would open each closed window: another facing, a lighter
// cut, a deeper grip, another feed direction, a measured clamp force. A lighter
// cut that nobody would make is told as none.
func (b *bander) ways(facings []Facing, bands []Band) error {
	var open []string
	for _, band := range bands {
		if band.Open {
			open = append(open, band.Facing)
		}
	}
	for i := range bands {
		band := &bands[i]
		if band.Open || math.IsNaN(band.Margin) {
			continue
		}
		nan := math.NaN()
		if len(open) > 0 {
			band.Ways = append(band.Ways, Way{"facing", "another facing: " + strings.Join(open, ", "), nan, nan, band.Most})
		}
		if band.Least <= band.Most {
			band.Ways = append(band.Ways, Way{"measure", "a measured clamp force: in force the window is open, only the screw's friction range closes it", nan, band.Least, band.Most})
		}
		for _, look := range []func(Facing, *Band) (*Way, error){b.lighter, b.slower, b.deeper, b.turned} {
			w, err := look(facings[i], band)
			if err != nil {
				return fmt.Errorf("facing %q: %w", band.Facing, err)
			}
			if w != nil {
				band.Ways = append(band.Ways, *w)
			}
		}
	}
	return nil
}

// changed rebuilds the stages with a change; ok is false where one is not valid.
func (b *bander) changed(change func(*Stage)) (stages []Stage, ok bool) {
	for _, s := range b.stages {
		change(&s)
		n, err := NewStage(s.Cut, s.Part)
		if err != nil {
			return nil, false
		}
		n.Name = s.Name
		stages = append(stages, n)
	}
	return stages, true
}

// opens reports whether the changed stages leave the window open, with the
// least and the greatest force in N.
func (b *bander) opens(stages []Stage, f Facing) (least, most float64, open bool, err error) {
	most, _, _ = b.mostOf(stages)
	w := b.need(f)
	for _, s := range stages {
		if s.atLeast(w.hold, w.press) > b.room(most)*(1+1e-9) {
			return 0, most, false, nil
		}
	}
	d, _, err := greatest(stages, w)
	if open = d.Force <= b.room(most)*(1+1e-12); !open || err != nil {
		return 0, most, false, err
	}
	d, _, err = greatest(stages, b.newtons(f))
	return d.Force, most, open, err
}

// lighter cuts the depth of every stage that asks too much. All forces go with
// the depth, so the share is the margin of the stage.
func (b *bander) lighter(f Facing, band *Band) (*Way, error) {
	return b.scaled(f, band, "depth", "depth of cut", func(c *Stage, share float64) (now *float64, before float64) {
		before = c.Cut.Depth
		c.Cut.Depth *= share
		return &c.Cut.Depth, before
	})
}

// slower cuts the feed: forces go with its power 1 − mc.
func (b *bander) slower(f Facing, band *Band) (*Way, error) {
	return b.scaled(f, band, "feed", "feed per tooth", func(c *Stage, share float64) (now *float64, before float64) {
		before = c.Cut.FeedTooth
		c.Cut.FeedTooth *= math.Pow(share, 1/(1-c.Cut.Mc))
		return &c.Cut.FeedTooth, before
	})
}

func (b *bander) scaled(f Facing, band *Band, change, name string, apply func(*Stage, float64) (*float64, float64)) (*Way, error) {
	allowed, w := b.room(band.Most), b.need(f)
	var texts []string
	value := math.NaN()
	var failed error
	light := false
	i := -1
	stages, ok := b.changed(func(s *Stage) {
		i++
		d, err := s.worst(w.hold, w.press)
		if err != nil {
			failed = err
			return
		}
		if d.Force <= allowed {
			return
		}
		v, before := apply(s, allowed/d.Force*(1-1e-9))
		light = light || *v < LightestShare*before
		value = *v
		u := shownIn(b.typed, fmt.Sprintf("cut[%d].%s", i, map[string]string{"depth": "depth", "feed": "feed_tooth"}[change]), "mm")
		texts = append(texts, fmt.Sprintf("%s %.3g %s in stage %q", name, u.FromSI(*v), u.Name, s.Name))
	})
	if failed != nil {
		return nil, failed
	}
	if light {
		band.NoWays = append(band.NoWays, fmt.Sprintf("no lighter cut by the %s opens it: a tenth of what is described is still too much", name))
		return nil, nil
	}
	if !ok {
		return nil, nil
	}
	least, most, open, err := b.opens(stages, f)
	if err != nil || !open {
		return nil, err
	}
	return &Way{change, "a lighter cut: " + strings.Join(texts, ", "), value, least, most}, nil
}

// deeper grips more of the height, in steps of a twentieth of it; the middle of
// the patches moves up by half of what is added.
func (b *bander) deeper(f Facing, _ *Band) (*Way, error) {
	room := math.Inf(1)
	for _, s := range b.stages {
		if s.Part.Height == 0 {
			return nil, nil
		}
		room = math.Min(room, 0.9*s.Part.Height-s.Part.Grip)
	}
	const steps = 20
	for i := 1; i <= steps; i++ {
		more := room * float64(i) / steps
		if more <= 0 {
			return nil, nil
		}
		stages, ok := b.changed(func(s *Stage) {
			s.Part.Grip += more
			s.Cut.Z -= more / 2
		})
		if !ok {
			return nil, nil
		}
		least, most, open, err := b.opens(stages, f)
		if err != nil {
			return nil, err
		}
		if open {
			v := stages[0].Part.Grip
			return &Way{"grip", fmt.Sprintf("a deeper grip: %.3g %s", b.length.FromSI(v), b.length.Name), v, least, most}, nil
		}
	}
	return nil, nil
}

// turned feeds the stage that asks most in another direction, in steps of 15°,
// and names the best.
func (b *bander) turned(f Facing, band *Band) (*Way, error) {
	var best *Way
	for step := 1; step < 24; step++ {
		turn := float64(step) * math.Pi / 12
		direction := 0.0
		stages, ok := b.changed(func(s *Stage) {
			if s.Name == band.LeastStage {
				s.Cut.Direction = math.Remainder(s.Cut.Direction+turn, 2*math.Pi)
				direction = s.Cut.Direction
			}
		})
		if !ok {
			return nil, nil
		}
		least, most, open, err := b.opens(stages, f)
		if err != nil {
			return nil, err
		}
		if open && (best == nil || least < best.Least) {
			best = &Way{"direction", fmt.Sprintf("another feed direction in stage %q: %.0f° from the jaws", band.LeastStage, direction*180/math.Pi), direction, least, most}
		}
	}
	return best, nil
}

// defaults says what of a stage was filled in.
func (s Stage) defaults() []string {
	f, err := cutting.FactorsOf(s.Cut)
	if err != nil {
		return nil // NewStage has refused it before
	}
	list := f.Defaults
	if m, ok := cutting.Lookup(s.Part.Material); ok && m.Kc11 == s.Cut.Kc11 && m.Mc == s.Cut.Mc {
		list = append(list, fmt.Sprintf("kc11 %.0f N/mm², mc %.2f for %s (%s)", m.Kc11/1e6, m.Mc, m.Name, m.Source))
	}
	if s.Part.Yield > 0 && s.Part.Peak == 0 {
		list = append(list, fmt.Sprintf("pressure peak %.1f times the mean", DefaultPeak))
	}
	return list
}
