package levers_test

import (
	"context"
	"fmt"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/figure"
	"example.org/ampstroke/drivetrain/levers"
)

// The demo is to fire 23 rounds a second: which value alone does it, and nothing else
// is missed?
func ExampleFind() {
	d, err := buildfile.DemoDocument()
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := levers.Find(context.Background(), d, levers.Question{
		Wants: figure.Target{{Figure: "rate_of_fire", Min: figure.At(23)}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range r.Singles[:3] {
		fmt.Printf("%s %s -> %.3g (%+.0f %%) %v\n", s.Key, s.Text(s.From), s.Value, 100*s.Change(), s.Clean)
	}
	for _, e := range r.Effects {
		if e.Key == "gears.ratio" {
			fmt.Printf("%s more of %s: %.2f rounds a second\n", e.StepText(), e.Key, e.Changes[0])
		}
	}
	// Output:
	// gears.ratio 11.3 -> 10.7 (-6 %) true
	// motor.armature.stack_length 22 mm -> 0.0207 (-6 %) true
	// motor.armature.tooth_width 4.4 mm -> 0.00413 (-6 %) true
	// 1 % more of gears.ratio: -0.17 rounds a second
}
