package simrig_test

import (
	"fmt"
	"strings"

	"griptrial/acquire/simrig"
)

// A cast-acrylic blank between ground steel jaws, pulled straight by a motor
// through a strap.
func Example() {
	rig := simrig.Rig{
		Drive: simrig.Drive{Idle: 1, Speed: 2e-3, AfterSlip: 3e-3, Hold: 0.5, Release: 0.02, Rest: 1},
		Link:  simrig.Link{Stiffness: 50e3, Toe: 1e-3, Damping: 1e-3},
		Part:  simrig.Part{Mass: 0.3},
		Jaws:  simrig.Jaws{Clamp: 1300, Static: 0.15, Kinetic: 0.11, RateEffect: 0.0003, Contact: 2e6},
		Cell:  simrig.Cell{Rate: 80, Filter: 1, Noise: 0.1},
	}
	trace, truth := rig.Pull(1)
	fmt.Printf("%d readings, %s %s at %.0f N\n", len(trace.T), truth.Outcome, truth.Kind, truth.SlipForce)
	// Output: 687 readings, slipped sharp at 387 N
}

// A pull of every kind has its truth, and what a careful reader could say of
// its record.
func ExamplePull() {
	c := simrig.Pull("tie-lost-before", 7)
	fmt.Println(c.Truth.Outcome, c.Accept, c.TieSuspect)
	// Output: unclear [unclear] true
}

// The shop of the demo: one pull on bonded abrasive cloth.
func ExampleShop_Pull() {
	shop := simrig.DefaultShop()
	pull, err := shop.Pull("P240 cloth", "1", "usual", 0, 7)
	if err != nil {
		fmt.Println(err)
		return
	}
	mu := pull.Truth.SlipForce / (2 * pull.Clamp * shop.GripFactor())
	fmt.Printf("%s at %.0f N, friction %.2f\n", pull.Truth.Outcome, pull.Truth.SlipForce, mu)
	// Output: slipped at 150 N, friction 0.39
}

// A device sends its facts at boot and then one line a conversion.
func ExampleDevice() {
	device := simrig.NewDevice(simrig.DefaultShop(), 1)
	sent, due := device.Next(nil)
	first, _, _ := strings.Cut(string(sent), "\n")
	fmt.Println(first)
	fmt.Println("first conversion after", due)
	// Output:
	// #proto=1*DEDE
	// first conversion after 50ms
}
