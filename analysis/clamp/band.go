package clamp

import (
	"fmt"

	"griptrial/analysis/trial"
)

// Band is a quantity known only to lie between two ends.
type Band struct{ Low, High float64 }

// Exactly is the band of a known quantity.
func Exactly(v float64) Band { return Band{v, v} }

// Middle is the middle of the band.
func (b Band) Middle() float64 { return b.Low + (b.High-b.Low)/2 }

// frictions reads the friction ranges of a screw; an upper end of zero means
// the single value of the lower end.
func frictions(s trial.Screw) (thread, collar Band, err error) {
	thread, collar = Band{s.ThreadLow, s.ThreadHigh}, Band{s.CollarLow, s.CollarHigh}
	for _, r := range []struct {
		name string
		b    *Band
	}{{"thread friction", &thread}, {"collar friction", &collar}} {
		if r.b.High == 0 {
			r.b.High = r.b.Low
		}
		if r.b.High < r.b.Low {
			return thread, collar, fmt.Errorf("%s %.4g..%.4g: write the lower end first", r.name, r.b.Low, r.b.High)
		}
	}
	return thread, collar, nil
}
