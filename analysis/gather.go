package analysis

import (
	"fmt"
	"math"

	"griptrial/analysis/clamp"
	"griptrial/analysis/contact"
	"griptrial/analysis/trial"
)

// scale turns forces into the quantity of the results.
type scale struct {
	faces   float64
	phi     float64
	gravity float64 // m/s²
	extra   float64 // kg at the arm's end that the handle's own mass is worth
	band    bool    // some clamp force is computed, and so uncertain
	// computed counts the pulls of each facing whose clamp force is computed from
	// a handle weight; of counts all.
	computed, of []int
}

// share is how much of a facing's mean rests on computed clamp forces.
func (s scale) share(facing int) float64 {
	if s.of[facing] == 0 {
		return 0
	}
	return float64(s.computed[facing]) / float64(s.of[facing])
}

// gather makes rows of the readings and chooses the quantity: mu where every
// pull's clamp force is known, force per handle weight where every weight is,
// and plain force otherwise.
func (w *work) gather() error {
	if err := w.rig(); err != nil {
		return err
	}
	squeezes, err := w.chooseQuantity()
	if err != nil {
		return err
	}
	w.rows = make([]row, 0, len(w.readings))
	for i := range w.readings {
		r := &w.readings[i]
		obs, ok := r.Observe()
		if !ok {
			continue
		}
		switch {
		case math.IsNaN(r.Force) || math.IsInf(r.Force, 0) || r.Force < 0:
			return fmt.Errorf("%s: force %v is not a force", name(*r, i), r.Force)
		case obs.Upper == 0 || (obs.Exact() && obs.Lower == 0):
			return fmt.Errorf("%s: slipped at no force at all; say the scale's division, or call the pull void", name(*r, i))
		}
		f := w.index[r.Facing]
		divide := 1.0
		switch w.res.Quantity {
		case Mu:
			divide = w.scale.faces * w.scale.phi * squeezes[i]
		case PerWeight:
			divide = w.scale.gravity * squeezes[i]
		}
		row := row{at: i, facing: f, lower: math.Log(obs.Lower / divide), upper: math.Log(obs.Upper / divide), squeeze: squeezes[i], block: r.Block}
		if obs.Exact() {
			row.upper = row.lower
			w.exact[f] = append(w.exact[f], row.lower)
		} else {
			w.bounded = true
		}
		if r.Study != "" && r.Block != "" {
			row.block = r.Study + ": " + r.Block
		} else if r.Study != "" {
			row.block = r.Study
		}
		if r.Sample != "" {
			row.sample = r.Facing + "\x00" + r.Sample
		}
		if row.held() {
			w.held[f]++
		} else {
			w.slipped[f]++
		}
		w.rows = append(w.rows, row)
	}
	return nil
}

// name is how a message calls a reading.
func name(r trial.Reading, i int) string {
	if r.Pull > 0 {
		return fmt.Sprintf("pull %d (%s)", r.Pull, r.Facing)
	}
	return fmt.Sprintf("pull in row %d (%s)", i+1, r.Facing)
}

// rig reads faces, grip factor, gravity and handle from options and study.
func (w *work) rig() error {
	w.scale = scale{faces: 2, phi: 1, computed: make([]int, len(w.facings)), of: make([]int, len(w.facings))}
	switch {
	case w.o.Faces > 0:
		w.scale.faces = float64(w.o.Faces)
	case w.study.Pull.Faces > 0:
		w.scale.faces = float64(w.study.Pull.Faces)
	}
	switch {
	case w.o.GripFactor > 0:
		w.scale.phi = w.o.GripFactor
	case w.study.Pull.How != "":
		phi, err := contact.FactorOf(w.study.Pull)
		if err != nil {
			return fmt.Errorf("grip factor of the pull: %w", err)
		}
		w.scale.phi = phi
	}
	g, err := clamp.GravityAt(w.study.Handle)
	if err != nil {
		return fmt.Errorf("gravity at the place of the handle: %w", err)
	}
	w.scale.gravity = g
	if h := w.study.Handle; h.Arm > 0 {
		w.scale.extra = h.Mass * h.MassArm / h.Arm
	}
	return nil
}

// chooseQuantity gives the squeeze of every reading: clamp force in N or
// handle weight in kg, NaN where neither is known.
func (w *work) chooseQuantity() ([]float64, error) {
	clamps, weights := make([]float64, len(w.readings)), make([]float64, len(w.readings))
	computed := clamp.Known(w.study.Screw) && w.study.Handle.Arm > 0
	cache := map[float64]clamp.Range{}
	var pulls, noClamp, noWeight int
	for i := range w.readings {
		r := &w.readings[i]
		clamps[i], weights[i] = r.Clamp, r.Weight
		if r.Weight > 0 {
			weights[i] += w.scale.extra
		}
		if r.Outcome != trial.Slipped && r.Outcome != trial.Held {
			continue
		}
		if bad := func(v float64) bool { return v < 0 || math.IsNaN(v) || math.IsInf(v, 0) }; bad(r.Clamp) || bad(r.Weight) {
			return nil, fmt.Errorf("%s: clamp force %v N, handle weight %v kg: neither can be below zero", name(*r, i), r.Clamp, r.Weight)
		}
		pulls++
		if clamps[i] == 0 && r.Weight > 0 && computed {
			c, ok := cache[r.Weight]
			if !ok {
				var err error
				if c, err = clamp.Force(w.study.Handle, w.study.Screw, r.Weight); err != nil {
					return nil, fmt.Errorf("%s: clamp force of %g kg on the handle: %w", name(*r, i), r.Weight, err)
				}
				cache[r.Weight] = c
			}
			clamps[i] = c.Value
			w.scale.computed[w.index[r.Facing]]++
			w.scale.band = w.scale.band || c.Low < c.High
		}
		w.scale.of[w.index[r.Facing]]++
		if clamps[i] == 0 {
			noClamp++
		}
		if r.Weight == 0 {
			noWeight++
		}
	}
	switch {
	case noClamp == 0:
		w.res.Quantity = Mu
		return clamps, nil
	case noWeight == 0:
		w.res.Quantity = PerWeight
		w.warn("no-clamp", "the clamp force is not known (%d of %d pulls), so mu is not; forces are compared per weight on the handle. Describe the handle and the screw, or measure the clamp force.", noClamp, pulls)
		return weights, nil
	}
	w.res.Quantity = Force
	w.warn("no-clamp", "the clamp force is not known (%d of %d pulls), so mu is not; forces are compared as they are, which is fair only if every pull was clamped alike.", noClamp, pulls)
	none := make([]float64, len(w.readings))
	for i := range none {
		none[i] = math.NaN()
	}
	return none, nil
}
