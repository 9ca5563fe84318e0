package study_test

import (
	"context"
	"fmt"
	"slices"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

// Figures of several rooms, by name, of one build after the other.
func ExampleEvaluator() {
	d, err := buildfile.DemoDocument()
	if err != nil {
		fmt.Println(err)
		return
	}
	v, err := d.Vary("motor.armature.turns")
	if err != nil {
		fmt.Println(err)
		return
	}
	e, err := study.NewEvaluator(study.Question{Figures: []string{"ke", "rate_of_fire", "depth_of_contact"}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, turns := range []float64{20, 25} {
		b, err := v.Put([]float64{turns})
		if err != nil {
			fmt.Println(err)
			return
		}
		a, err := e.Evaluate(context.Background(), b)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Print(turns, " turns")
		for i, f := range e.Figures() {
			fmt.Printf("; %s %s", f.Label, f.Text(a.Values[i]))
		}
		fmt.Println()
	}
	// Output:
	// 20 turns; Ke = Kt 3.154 mV s; rate of fire 26.92 /s; depth of contact 16.4 %
	// 25 turns; Ke = Kt 3.942 mV s; rate of fire 22.02 /s; depth of contact 16.4 %

}

// Thousands of builds go over all cores: each has a Variant and an Evaluator of its own.
func ExampleMap() {
	d, err := buildfile.DemoDocument()
	if err != nil {
		fmt.Println(err)
		return
	}
	v, err := d.Vary("spring.rate")
	if err != nil {
		fmt.Println(err)
		return
	}
	worker := func() func(context.Context, float64) (float64, error) {
		own := v.Clone()
		e, err := study.NewEvaluator(study.Question{Figures: []string{"muzzle_energy"}})
		return func(ctx context.Context, rate float64) (float64, error) {
			if err != nil {
				return 0, err
			}
			b, err := own.Put([]float64{rate})
			if err != nil {
				return 0, err
			}
			a, err := e.Evaluate(ctx, b)
			if err != nil {
				return 0, err
			}
			return a.Values[0], nil
		}
	}
	for m, err := range study.Map(context.Background(), slices.Values([]float64{600, 700, 800, -1}), worker) {
		if err != nil {
			fmt.Println(quantity.Faults(err)[0].Field, "can't be", m.Item)
			continue
		}
		fmt.Printf("%.0f N/m: %.2f J\n", m.Item, m.Result)
	}
	// Output:
	// 600 N/m: 1.16 J
	// 700 N/m: 1.39 J
	// 800 N/m: 1.62 J
	// spring.rate can't be -1

}
