package changes

import "griptrial/report"

// Headline says in a line what to know first. Where another facing holds best
// than did, it says whether that one is new here, and whether those pulled in
// both changed more than chance explains.
func (c Change) Headline() string {
	what := "Two trials"
	if c.SameStudy {
		what = "Two states of one study"
	}
	was, now := report.Brief(c.Old.Best, 60), report.Brief(c.New.Best, 60)
	isNew := c.New.Best != "" && !c.was[c.New.Best]
	switch {
	case c.Old.Best == "" && c.New.Best == "":
		return what + "; no facing stands out in either."
	case c.Old.Best == c.New.Best:
		return what + "; " + now + " holds best in both."
	case c.Old.Best == "" && isNew:
		return what + "; no facing stood out, and now " + now + " does, which is new here."
	case c.Old.Best == "":
		return what + "; no facing stood out, and now " + now + " does."
	case c.New.Best == "":
		return what + "; " + was + " held best, and now no facing stands out" + c.fates(c.Old.Best) + "."
	case !c.stayed[c.Old.Best]:
		return what + "; " + was + " held best and was not pulled again; now " + now + " holds best" + c.fates(c.New.Best) + "."
	case isNew:
		return what + "; " + now + " is new here and holds best" + c.fates(c.Old.Best) + "."
	}
	return what + "; " + was + " held best, and now " + now + " does" + c.fates(c.Old.Best, c.New.Best) + "."
}

// fates says of facings pulled in both, as further parts of a sentence, whether
// their ratio to the control changed; nothing where that cannot be told.
func (c Change) fates(facings ...string) string {
	text, alike := "", 0
	for _, name := range facings {
		for _, r := range c.Ratios {
			if r.Facing != name {
				continue
			}
			switch judge(r) {
			case higher:
				text += "; " + report.Brief(name, 60) + " holds more than it did, beyond chance"
			case lower:
				text += "; " + report.Brief(name, 60) + " holds less than it did, beyond chance"
			case chance:
				text += "; " + report.Brief(name, 60) + " has not changed beyond chance"
				alike++
			}
		}
	}
	if alike == 2 {
		return "; neither has changed beyond chance"
	}
	return text
}
