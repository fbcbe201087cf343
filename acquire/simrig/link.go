package simrig

// piece is a straight piece of a link's characteristic.
type piece struct{ stretch, force, stiffness float64 }

// spring is the static characteristic of link and part: tension against
// stretch, never negative.
type spring struct {
	toe, stiffness float64
	bends          []piece // beyond the toe, in the order of stretch
}

// newSpring puts the link and the bends of the part in series. A bend within
// the toe begins at the end of the toe.
func newSpring(l Link, flex []Bend) spring {
	s := spring{toe: l.Toe, stiffness: l.Stiffness}
	at := piece{l.Toe, l.Stiffness * l.Toe / 2, l.Stiffness}
	for _, b := range flex {
		force := max(b.Force, at.force)
		at = piece{at.stretch + (force-at.force)/at.stiffness, force, b.Ratio * l.Stiffness}
		s.bends = append(s.bends, at)
	}
	return s
}

// tension is the force in N at a stretch in m:
//
//	0 below zero; K·u²/(2·toe) within the toe; K·(u − toe/2) beyond it,
//	and straight pieces of other stiffness beyond each bend.
func (s *spring) tension(u float64) float64 {
	switch {
	case u <= 0:
		return 0
	case u < s.toe:
		return s.stiffness * u * u / (2 * s.toe)
	}
	for i := len(s.bends) - 1; i >= 0; i-- {
		if b := s.bends[i]; u > b.stretch {
			return b.force + b.stiffness*(u-b.stretch)
		}
	}
	return s.stiffness * (u - s.toe/2)
}
