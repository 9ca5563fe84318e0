package study_test

import (
	"context"
	"fmt"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/study"
)

// A third cell on the demo: what there is to say of it, faults first.
func ExampleExamine() {
	d, err := buildfile.DemoDocument("battery.series=3", "battery.discharge_rating=")
	if err != nil {
		fmt.Println(err)
		return
	}
	x, err := study.Examine(context.Background(), d.Build, d.Target, cycle.Settings{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range x.Findings {
		fmt.Println(f.Weight, f.Code)
	}
	// Output:
	// fault premature-engagement
	// caution cut-off
	// caution shallow-contact
	// caution pickup-tooth
	// caution target
	// caution held-demagnetisation
	// unchecked pack-unchecked
}
