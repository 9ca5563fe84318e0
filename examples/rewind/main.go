// Command rewind asks what the demo's armature does when it is wound anew: fewer
// turns of thicker wire, as thick as the slot takes by hand. All data are
// invented: the winding bench of a club's woodland weekend.
package main

import (
	"context"
	"fmt"
	"log"
	"math"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
)

func main() {
	base := buildfile.Demo()
	var drawn []*cycle.Result
	fmt.Println("turns  wire     fill    room             Ke         R        rate     current  motor heat  demag. margin")
	for _, turns := range []int{34, 28, 24, 20, 16} {
		armature := base.Motor.Armature.Rewind(turns, base.Motor.Armature.Wire, 1)
		thickest, err := armature.LargestWire(0.5) // an easy winding
		if err != nil {
			log.Fatal(err)
		}
		wire := math.Floor(thickest/0.05e-3) * 0.05e-3 // as it is sold
		b := *base
		b.Motor.Armature = armature.Rewind(turns, wire, 1)
		b.Name = fmt.Sprintf("%d turns of %.2f mm", turns, 1e3*wire)
		r, err := cycle.Simulate(context.Background(), &b, cycle.Settings{})
		if err != nil {
			log.Fatal(err)
		}
		s, k := &r.Summary, &r.Motor
		fmt.Printf("%-5d  %.2f mm  %.1f %%  %-15s  %.2f mV s  %.0f mohm  %.1f /s  %.1f A   %.0f W        %.0f %%\n",
			turns, 1e3*wire, 100*k.SlotFill, b.Motor.Armature.Room(), 1e3*k.Ke, 1e3*k.Resistance,
			s.RateOfFire, s.CurrentRMS, s.MotorHeat, 100*s.DemagnetisationMargin)
		if turns == 28 || turns == 20 || turns == 16 {
			drawn = append(drawn, r)
		}
	}

	tight := base.Motor.Armature.Rewind(34, 0.80e-3, 1)
	full := base.Motor.Armature.Rewind(34, 0.95e-3, 1)
	fmt.Printf("\n34 turns of 0.80 mm: %s (%.0f %%); of 0.95 mm: %s (%.0f %%)\n",
		tight.Room(), 100*tight.SlotFill(), full.Room(), 100*full.SlotFill())
	picture, err := chart.Compare(drawn)
	if err != nil {
		log.Fatal(err)
	}
	if err := picture.Save("rewind.png"); err != nil {
		log.Fatal(err)
	}
}
