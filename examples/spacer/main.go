// Command spacer asks what each pad behind the piston is worth on a rack as it comes
// from the mould: how square the sector meets the pickup tooth, which rack teeth
// then stand in the way and how far they come down, what the pickup tooth bears,
// and what the shot loses. All data are invented: the demo gun of a club's woodland
// weekend.
package main

import (
	"context"
	"fmt"
	"log"
	"math"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/pickup"
)

func main() {
	rack := *buildfile.Demo().Rack
	rack.TakenDown = nil
	fmt.Println("spacer  contact          depth  to take down                  pickup tooth  velocity")
	for _, mm := range []float64{0, 0.5, 1, 1.5, 2, 2.5} {
		b := *buildfile.Demo()
		b.Rack = &rack
		b.Pads = []float64{10e-3} // none thin enough: the spacer stays as it is tried here
		b.Piston.Spacer = mm / 1e3
		r, err := pickup.Analyse(context.Background(), &b, pickup.Settings{})
		if err != nil {
			log.Fatal(err)
		}
		s := &r.After
		down := ""
		for _, t := range r.TakeDown {
			down += fmt.Sprintf("%d by %.2f mm  ", t.Tooth, 1e3*t.Depth)
		}
		fmt.Printf("%.1f mm  %4.1f° ahead  %6.0f %%  %-28s  %4.0f MPa      %.1f m/s\n", mm,
			s.Contact.Angle*180/math.Pi, 100*s.Depth, down, s.PickupStress/1e6, s.Cycle.Summary.MuzzleVelocity)
	}
	b := *buildfile.Demo()
	b.Rack = &rack
	r, err := pickup.Analyse(context.Background(), &b, pickup.Settings{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("\nthe pads in stock give %.1f mm; as it stands rack tooth %d is met first\n", 1e3*r.Added(), r.Before.FirstTooth)
	picture, err := chart.Pickup(r)
	if err != nil {
		log.Fatal(err)
	}
	if err := picture.Save("spacer.png"); err != nil {
		log.Fatal(err)
	}
}
