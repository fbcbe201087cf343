package figure

import "griptrial/report"

// Narrow is the width of a figure that a phone shows, and that stands alone, in
// points.
const Narrow = fullWidth

// maker draws one figure at a width in points; ok is false where the input
// cannot fill it.
type maker = func(in report.Input, wide float64) (f Figure, ok bool)

func drawn(in report.Input, wide float64, makers ...maker) []Figure {
	var out []Figure
	for _, m := range makers {
		if f, ok := m(in, wide); ok {
			out = append(out, f)
		}
	}
	return out
}

// Answers gives the figures that say what the trial found, in the order of a
// report, laid out for a width in points.
func Answers(in report.Input, wide float64) []Figure {
	return drawn(in, wide, Dots, Squeeze, Ratios, Window, Clamp, Wear)
}

// Checks gives the figures that say what the answers rest on.
func Checks(in report.Input, wide float64) []Figure {
	return drawn(in, wide, Overlay, Order, Scatter, Normal, Budget)
}

// All gives every figure that this input can fill, with the sheet of traces last.
func All(in report.Input) []Figure {
	out := append(Answers(in, Narrow), Checks(in, Narrow)...)
	return append(out, drawn(in, Narrow, Traces)...)
}

// Window draws the clamp window of the study's cut. ok is false where the study
// describes none, or no facing has a band.
func Window(in report.Input, wide float64) (f Figure, ok bool) {
	if in.Results.Window == nil {
		return Figure{}, false
	}
	return Bands(in, *in.Results.Window, wide)
}
