package flight_test

import (
	"context"
	"fmt"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/flight"
)

// A Flyer flies one build after the other without allocating.
func ExampleFlyer() {
	var f flight.Flyer
	b := buildfile.Demo()
	for _, mass := range []float64{0.20e-3, 0.25e-3} {
		b.Pellet.Mass = mass
		r, err := f.Fly(context.Background(), b, flight.Settings{ReleaseSpeed: 1.4})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%.2f g: %.0f m/s\n", 1e3*mass, r.Summary.MuzzleVelocity)
	}
	// Output:
	// 0.20 g: 120 m/s
	// 0.25 g: 107 m/s

}

func ExampleFindMatch() {
	b := buildfile.Demo()
	m, err := flight.FindMatch(context.Background(), b, flight.Settings{ReleaseSpeed: 1.4})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("most energy with a barrel of %.0f mm, in place of %.0f mm\n", 1e3*m.BestLength.Value, 1e3*b.Barrel.Length)
	// Output:
	// most energy with a barrel of 396 mm, in place of 370 mm

}
