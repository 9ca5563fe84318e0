package cycle_test

import (
	"context"
	"fmt"
	"slices"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/cycle"
)

// An Evaluator overwrites its result with the next; what is to stay is cloned.
func ExampleEvaluator() {
	var e cycle.Evaluator
	b := buildfile.Demo()
	for _, turns := range []int{20, 25, 30} {
		b.Motor.Armature.Turns = turns
		r, err := e.Evaluate(context.Background(), b, cycle.Settings{})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%d turns: %.1f rounds a second, %.0f A RMS\n", turns, r.Summary.RateOfFire, r.Summary.CurrentRMS)
	}
	// Output:
	// 20 turns: 26.9 rounds a second, 20 A RMS
	// 25 turns: 22.0 rounds a second, 16 A RMS
	// 30 turns: 18.6 rounds a second, 14 A RMS

}

func ExampleBatch() {
	two, three := buildfile.Demo(), buildfile.Demo()
	three.Battery.Series = 3
	for r, err := range cycle.Batch(context.Background(), slices.Values([]*drivetrain.Build{two, three}), cycle.Settings{}) {
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Printf("%d cells: %.1f rounds a second\n", r.Build.Battery.Series, r.Summary.RateOfFire)
	}
	// Output:
	// 2 cells: 22.0 rounds a second
	// 3 cells: 35.1 rounds a second

}

// A trace is sampled after the run, as finely as one likes.
func ExampleTrace() {
	r, err := cycle.Simulate(context.Background(), buildfile.Demo(), cycle.Settings{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, e := range r.First.Events[:3] {
		p := r.First.Before(e.Time)
		fmt.Printf("%s after %.0f ms, %.0f A\n", e.Kind, 1e3*e.Time, p.Current)
	}
	// Output:
	// switch closes after 0 ms, 0 A
	// release after 41 ms, 24 A
	// muzzle after 53 ms, 7 A

}

// One round of a pull, from conditions of one's own.
func ExampleFire() {
	b := buildfile.Demo()
	r, err := cycle.Fire(context.Background(), b, cycle.RoundStart{Kind: cycle.Lone}, 1e-6)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("a lone round takes %.2f C\n", r.Charge)
	// Output:
	// a lone round takes 1.24 C

}
