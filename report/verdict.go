package report

import (
	"fmt"
	"math"
	"strings"

	"griptrial/analysis"
)

// Verdict is the answer of the trial in plain words.
type Verdict struct {
	Best     string // facing that grips best; "": none is surely better than the control
	Headline string // one sentence, for a title
	Squeeze  string // one sentence: how much less squeeze does; "": not known
	Mind     string // what to mind before that squeeze is trusted; "": nothing
	Sure     string // how sure that is, without the words of statistics
	Rivals   string // facings that the best is not told apart from; "": none
}

// Lines gives the verdict line by line, in the order in which every report says
// it: less squeeze for the same hold leads where it is known.
func (v Verdict) Lines() []string {
	var out []string
	lead := v.Squeeze
	if v.Mind != "" {
		lead += " " + v.Mind
	}
	for _, s := range []string{lead, v.Headline, v.Sure, v.Rivals} {
		if s != "" {
			out = append(out, Sentence(s))
		}
	}
	return out
}

// Verdict words the results. It chooses the facing with the greatest hold
// against the control, and calls it better only where the whole adjusted
// interval lies above 1.
func (in Input) Verdict() Verdict {
	r := in.Results
	control := Brief(r.Control, 60)
	switch pulls := in.told(); {
	case len(r.Facings) == 0 || pulls == 0 && in.voids() == 0:
		return Verdict{Headline: "Nothing was pulled yet.", Sure: "There are no readings to report."}
	case pulls == 0:
		return Verdict{Headline: "Every pull is void.", Sure: fmt.Sprintf("None of %s says anything about the grip.", count(in.voids(), "pull"))}
	case len(r.Facings) == 1:
		return in.alone(r.Facings[0])
	}
	best := -1
	for i, x := range r.AgainstControl {
		if x.Ratio.Known() && (best < 0 || x.Ratio > r.AgainstControl[best].Ratio) {
			best = i
		}
	}
	if best < 0 {
		return in.bounded()
	}
	x := r.AgainstControl[best]
	name := Brief(x.Facing, 60)
	iv := Write(analysis.Estimate{Estimate: x.Ratio, Lower: x.Lower, Upper: x.Upper}, Same)
	v := Verdict{Sure: in.sure(x.Facing, iv)}
	switch {
	case !x.Lower.Known():
		v.Headline = fmt.Sprintf("%s held %s times what %s held, but how sure that is cannot be said.", name, iv.Value, control)
		return v
	case x.Lower > 1:
		v.Best = x.Facing
		v.Headline = fmt.Sprintf("%s holds %s times what %s holds.", name, Short(float64(x.Ratio), 2), control)
	case x.Upper < 1:
		v.Best = r.Control
		v.Headline = fmt.Sprintf("%s holds better than anything tried against it.", control)
		v.Sure = in.whose(x.Facing, iv)
		return v
	default:
		v.Headline = fmt.Sprintf("Nothing tried is surely better than %s.", control)
		v.Sure = in.whose(x.Facing, iv)
		return v
	}
	v.Squeeze, v.Mind = in.squeeze(x.Facing)
	v.Rivals = in.rivals(x.Facing)
	return v
}

// alone is the verdict on a single facing.
func (in Input) alone(f analysis.FacingResult) Verdict {
	name, unitName, scale := in.Grip()
	iv := Write(f.Grip, scale)
	v := Verdict{Sure: fmt.Sprintf("%s, and nothing to compare with.", count(f.Slipped+f.Held, "pull"))}
	if !f.Grip.Estimate.Known() {
		v.Headline = fmt.Sprintf("%s was pulled alone, and its grip cannot be told from these pulls.", Brief(f.Facing, 60))
		return v
	}
	v.Headline = fmt.Sprintf("%s: %s %s%s.", Brief(f.Facing, 60), name, iv, space(unitName))
	return v
}

// bounded is the verdict where held pulls give bounds and no ratio is known.
func (in Input) bounded() Verdict {
	var best *analysis.BoundRatio
	for i, b := range in.Results.Bounds {
		if b.A == in.Results.Control && b.AtLeast.Known() && (best == nil || b.AtLeast > best.AtLeast) {
			best = &in.Results.Bounds[i]
		}
	}
	if best == nil {
		return Verdict{Headline: "These pulls cannot say which facing holds better.", Sure: "The remarks below say what is missing."}
	}
	v := Verdict{
		Headline: fmt.Sprintf("%s holds at least about %s times what %s holds.", Brief(best.B, 60), Short(float64(best.AtLeast), 2), Brief(best.A, 60)),
		Sure:     fmt.Sprintf("From %s. That is a lower bound: the part was not moved. How sure that is cannot be said.", both(best.PullsB, best.PullsA)),
	}
	v.Squeeze, v.Mind = in.squeeze(best.B)
	if best.AtLeast > 1 {
		v.Best = best.B
	}
	if best.PullsFor > 0 {
		v.Sure += fmt.Sprintf(" %s that slip, of each facing, would earn a range.", count(best.PullsFor, "pull"))
	}
	return v
}

// both counts the pulls of two facings.
func both(b, a int) string {
	switch {
	case a == 1 && b == 1:
		return "one pull each"
	case a == b:
		return fmt.Sprintf("%d pulls each", a)
	}
	return fmt.Sprintf("%s and %s of the control", count(b, "pull"), count(a, "pull"))
}

// sure says how far the ratio of a facing may be trusted.
func (in Input) sure(facing string, iv Interval) string {
	from := in.from(facing)
	if !iv.Known {
		return "From " + from + "."
	}
	return fmt.Sprintf("Between %s and %s times, from %s. Such a range is right %s.", iv.Lower, iv.Upper, from, Odds(in.Results.Confidence))
}

// whose is sure where the headline does not name the facing.
func (in Input) whose(facing string, iv Interval) string {
	name, control, from := Brief(facing, 60), Brief(in.Results.Control, 60), in.from(facing)
	if !iv.Known {
		return fmt.Sprintf("%s holds about %s times what %s holds, from %s.", name, iv.Value, control, from)
	}
	return fmt.Sprintf("%s holds between %s and %s times what %s holds, from %s. Such a range is right %s.", name, iv.Lower, iv.Upper, control, from, Odds(in.Results.Confidence))
}

// from counts the pulls of a facing.
func (in Input) from(facing string) string {
	var from string
	for _, f := range in.Results.Facings {
		if f.Facing == facing {
			from = count(f.Slipped+f.Held, "pull")
			if f.Samples > 0 {
				from += " on " + count(f.Samples, "sample")
			}
		}
	}
	return from
}

// squeeze says how much squeeze of the facing does what the control does.
func (in Input) squeeze(facing string) (text, mind string) {
	for _, s := range in.Results.LessSqueeze {
		if s.Facing != facing {
			continue
		}
		if text = in.squeezeText(s); text == "" {
			return "", ""
		}
		if s.Beyond {
			mind = "That is outside what was tried: try it before you trust it."
		}
		return text, strings.TrimSpace(mind + " " + in.windowWord(s))
	}
	return "", ""
}

func (in Input) squeezeText(s analysis.Squeeze) string {
	if !in.less(s) {
		return ""
	}
	control, name := Brief(in.Results.Control, 60), Brief(s.Facing, 60)
	safe, usual := in.SafeWeight(s), in.usual(s)
	switch {
	case safe != "" && s.Bound:
		return fmt.Sprintf("With %s at most %s on the handle hold what %s hold with %s.", name, safe, usual, control)
	case safe != "" && s.Weight.Upper.Known():
		return fmt.Sprintf("With %s hang %s on the handle where %s hangs with %s today, for the same hold.", name, safe, usual, control)
	case safe != "":
		return fmt.Sprintf("With %s about %s on the handle hold what %s hold with %s.", name, safe, usual, control)
	case s.Share.Upper.Known():
		return fmt.Sprintf("With %s %s of today's squeeze holds what %s holds.", name, Percent(float64(s.Share.Upper)), control)
	case s.Share.Estimate.Known() && s.Bound:
		return fmt.Sprintf("With %s at most %s of today's squeeze holds what %s holds.", name, Percent(float64(s.Share.Estimate)), control)
	}
	return ""
}

// SafeWeight is the handle weight on the safe side: the upper end where it is
// known, rounded up to two digits, otherwise the estimate; "" when neither is.
func (in Input) SafeWeight(s analysis.Squeeze) string {
	w := float64(s.Weight.Upper)
	if !s.Weight.Upper.Known() {
		w = float64(s.Weight.Estimate)
	}
	if math.IsNaN(w) || math.IsInf(w, 0) || w <= 0 {
		return ""
	}
	u := in.WeightUnit()
	return RoundUp(u.FromSI(w)) + " " + u.Name
}

func (in Input) usual(s analysis.Squeeze) string {
	u := in.WeightUnit()
	if !s.Usual.Known() {
		return Dash
	}
	return Given(u.FromSI(float64(s.Usual))) + " " + u.Name
}

// RoundUp writes a positive number with two digits, rounded up.
func RoundUp(v float64) string {
	d := clampInt(1-exponent(v), 0, 12)
	p := math.Pow(10, float64(d))
	v = math.Ceil(v*p*(1-1e-12)) / p
	return Number(v, clampInt(1-exponent(v), 0, 12)) // 9.97 became 10
}

// Percent writes a share in whole percent, rounded up.
func Percent(share float64) string { return Number(math.Ceil(share*100-1e-9), 0) + " %" }

// rivals names the facings that the best is not told apart from.
func (in Input) rivals(best string) string {
	var names []string
	for _, p := range in.Results.Pairs {
		other := p.A
		if p.A == best {
			other = p.B
		} else if p.B != best {
			continue
		}
		if other != in.Results.Control && p.Lower.Known() && p.Upper.Known() && p.Lower <= 1 && p.Upper >= 1 {
			names = append(names, Brief(other, 60))
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "These pulls do not tell it apart from " + List(names) + "."
}

// told counts the pulls that say something; voids those that do not.
func (in Input) told() (n int) {
	for _, f := range in.Results.Facings {
		n += f.Slipped + f.Held
	}
	return n
}

func (in Input) voids() (n int) {
	for _, f := range in.Results.Facings {
		n += f.Void
	}
	return n
}

// Odds words a confidence: "19 times in 20".
func Odds(confidence float64) string {
	switch confidence {
	case 0.95, 0:
		return "19 times in 20"
	case 0.9:
		return "9 times in 10"
	case 0.99:
		return "99 times in 100"
	}
	return Given(confidence*1000) + " times in 1000"
}

// List joins names: "a, b and c".
func List(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

// count writes a number with its noun: "1 pull", "12 pulls".
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func space(unitName string) string {
	if unitName == "" {
		return ""
	}
	return " " + unitName
}
