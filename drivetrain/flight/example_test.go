package flight_test

import (
	"context"
	"fmt"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/flight"
)

func ExampleSimulate() {
	b := buildfile.Demo()
	r, err := flight.Simulate(context.Background(), b, flight.Settings{ReleaseSpeed: 1.5})
	if err != nil {
		fmt.Println(err)
		return
	}
	s, l := &r.Summary, &r.Ledger
	fmt.Println("end:", r.Status)
	fmt.Printf("pellet out after %.1f ms at %.1f m/s, piston home after %.1f ms\n", 1e3*s.TimeToMuzzle, s.MuzzleVelocity, 1e3*s.TimeToHome)
	fmt.Printf("spring gives %.2f J:", l.Spring)
	for _, row := range l.Rows() {
		fmt.Printf(" %s %.2f", row.Name, row.Energy)
	}
	fmt.Println()
	// Output:
	// end: done
	// pellet out after 11.6 ms at 119.9 m/s, piston home after 11.6 ms
	// spring gives 2.74 J: piston_drag 0.21 impact 0.11 air 0.28 walls 0.49 surge 0.23 barrel 0.02 pellet 1.44 stored 0.00
}

// The course of a flight at any times, from one run.
func ExampleTrace() {
	b := buildfile.Demo()
	r, err := flight.Simulate(context.Background(), b, flight.Settings{Trace: true})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, ms := range []float64{0, 2, 4, 6, 8} {
		p := r.Trace.At(ms * 1e-3)
		fmt.Printf("%.0f ms: piston %4.1f mm, %.2f bar, pellet %3.0f mm\n", ms, 1e3*p.Travel, p.Pressure/1e5, 1e3*p.PelletTravel)
	}
	// Output:
	// 0 ms: piston 53.1 mm, 1.01 bar, pellet   0 mm
	// 2 ms: piston 48.4 mm, 1.06 bar, pellet   0 mm
	// 4 ms: piston 36.0 mm, 1.18 bar, pellet   0 mm
	// 6 ms: piston 19.4 mm, 2.45 bar, pellet   4 mm
	// 8 ms: piston  7.5 mm, 4.01 bar, pellet  76 mm
}
