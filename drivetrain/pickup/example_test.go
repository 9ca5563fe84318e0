package pickup_test

import (
	"context"
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/pickup"
)

func ExampleExamine() {
	p, err := pickup.Examine(buildfile.Demo())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("contact %.1f° ahead, %.0f %% deep\n", p.Now.Contact.Angle*180/math.Pi, 100*p.Now.Depth)
	fmt.Printf("put in %.1f mm\n", 1e3*p.Added())
	for _, t := range p.TakeDown {
		fmt.Printf("take tooth %d down by %.2f mm\n", t.Tooth, 1e3*t.Depth)
	}
	fmt.Printf("then %.1f° ahead, %.0f %% deep\n", p.Then.Contact.Angle*180/math.Pi, 100*p.Then.Depth)
	// Output:
	// contact 11.6° ahead, 16 % deep
	// put in 2.5 mm
	// take tooth 3 down by 1.38 mm
	// then 0.4° ahead, 97 % deep
}

func ExampleAnalyse() {
	r, err := pickup.Analyse(context.Background(), buildfile.Demo(), pickup.Settings{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range []*pickup.State{&r.Before, &r.After} {
		fmt.Printf("pickup tooth %.0f MPa, release tooth %.0f MPa, %.1f m/s\n", s.PickupStress/1e6, s.ReleaseStress/1e6, s.Cycle.Summary.MuzzleVelocity)
	}
	// Output:
	// pickup tooth 144 MPa, release tooth 29 MPa, 119.7 m/s
	// pickup tooth 77 MPa, release tooth 29 MPa, 118.3 m/s
}

// The pull, tooth by tooth.
func ExampleHandOver() {
	p, err := pickup.Examine(buildfile.Demo())
	if err != nil {
		fmt.Println(err)
		return
	}
	h := &p.Then.HandOver
	for _, degrees := range []float64{0, 20, 40, 60} {
		c := h.At(degrees * math.Pi / 180)
		fmt.Printf("%2.0f°: rack at %5.2f mm, tooth %d, %s\n", degrees, 1e3*c.Travel, c.Tooth, c.Kind)
	}
	// Output:
	//  0°: rack at  0.10 mm, tooth 1, flank
	// 20°: rack at  4.22 mm, tooth 1, sector-corner
	// 40°: rack at  8.48 mm, tooth 3, flank
	// 60°: rack at 12.67 mm, tooth 5, flank
}

func ExampleToothLoss() {
	// What three spur pairs lose at a friction of 0.06.
	const friction, angle = 0.06, 20 * math.Pi / 180
	efficiency := 1.0
	for _, mesh := range [][2]int{{10, 18}, {10, 30}, {12, 34}} {
		ratio, factor := pickup.ToothLoss(mesh[0], mesh[1], angle, 1)
		fmt.Printf("%d into %d: %.2f teeth in contact, %.1f %% lost\n", mesh[0], mesh[1], ratio, 100*friction*factor)
		efficiency *= 1 - friction*factor
	}
	fmt.Printf("%.1f %% of all three is left\n", 100*efficiency)
	// Output:
	// 10 into 18: 1.45 teeth in contact, 1.8 % lost
	// 10 into 30: 1.51 teeth in contact, 1.6 % lost
	// 12 into 34: 1.55 teeth in contact, 1.4 % lost
	// 95.3 % of all three is left
}
