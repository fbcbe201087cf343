// Package practice makes a simulated shop of a study, so that a session can be
// practised at the vise's desk: the study's facings, samples and clamp levels,
// with invented grips, on a load cell that the same code reads as a real one.
// Nothing about real facings can be learnt from it.
package practice

import (
	"bytes"
	"context"
	"time"

	"griptrial/acquire/loadcell"
	"griptrial/acquire/simrig"
	"griptrial/acquire/wire"
	"griptrial/analysis/calibration"
	"griptrial/analysis/trial"
)

// Shop is the simulated shop with the facings, samples and levels of a study.
// The control grips like ground steel and the others like the other facings of
// the demo in turn, unless they bear their names.
func Shop(s trial.Study) simrig.Shop {
	shop := simrig.DefaultShop()
	known := shop.Facings
	shop.Facings = nil
	for i, f := range s.Facings {
		grip := known[0]
		if !f.Control {
			grip = known[1+i%(len(known)-1)]
		}
		for _, k := range known {
			if k.Name == f.Name {
				grip = k
			}
		}
		grip.Name, grip.Samples = f.Name, f.Samples
		if len(grip.Samples) == 0 {
			grip.Samples = []string{""}
		}
		shop.Facings = append(shop.Facings, grip)
	}
	usual := shop.Levels[1]
	shop.Levels = nil
	for _, l := range s.Levels {
		clamp := l.Clamp
		switch {
		case clamp > 0:
		case l.Weight > 0:
			clamp = usual.Clamp * l.Weight / usual.Weight
		default:
			clamp = usual.Clamp
		}
		shop.Levels = append(shop.Levels, simrig.ShopLevel{Name: l.Name, Weight: l.Weight, Clamp: clamp})
	}
	return shop
}

// Calibration is what hanging weights on the shop's cell gives: up to most of
// its capacity and down again.
func Calibration(shop simrig.Shop) loadcell.Calibration {
	c := loadcell.Calibration{Rated: shop.Cell.Capacity}
	boot, _ := simrig.NewDevice(shop, 0).Next(nil)
	said := wire.NewReader(bytes.NewReader(boot), wire.ReaderOptions{})
	for {
		if _, err := said.Next(); err != nil {
			break // the end of what it said
		}
	}
	c.Identify(said.Account().Facts)
	const steps, g = 5, 9.80665
	for i := range 2*steps + 1 {
		step, direction := i, calibration.Up
		if i > steps {
			step, direction = 2*steps-i, calibration.Down
		}
		mass := float64(step) / steps * 0.8 * shop.Cell.Capacity / g
		force, err := calibration.HangingForce(mass, g, 0)
		if err != nil {
			continue // a mass of zero and more hangs with a force
		}
		c.Rows = append(c.Rows, loadcell.Row{Mass: mass, Force: force, Run: 1, Direction: direction,
			Counts: float64(shop.Hang(force, uint64(i)))})
	}
	return c
}

// Clock runs faster than life by a factor.
func Clock(now func() time.Time, factor float64) simrig.Clock {
	return fast{now, now(), factor}
}

type fast struct {
	now    func() time.Time
	start  time.Time
	factor float64
}

func (f fast) Now() time.Time {
	return f.start.Add(time.Duration(float64(f.now().Sub(f.start)) * f.factor))
}

func (f fast) Sleep(ctx context.Context, d time.Duration) error {
	return simrig.SystemClock(f.now).Sleep(ctx, time.Duration(float64(d)/f.factor))
}
