// Command importer uses the module as any other program does: from outside, by its
// exported names alone. A test copies it into a module of its own and runs it.
package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/drivetrain/heat"
	"example.org/ampstroke/drivetrain/quantity"
	"example.org/ampstroke/drivetrain/study"
)

func main() {
	ctx := context.Background()
	for _, step := range []func(context.Context) error{picture, sweep, plan, faults, ownCell} {
		if err := step(ctx); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}

// picture draws the demo's cycle.
func picture(ctx context.Context) error {
	r, err := cycle.Simulate(ctx, buildfile.Demo(), cycle.Settings{})
	if err != nil {
		return err
	}
	p, err := chart.Cycle(r)
	if err != nil {
		return err
	}
	return p.Save("cycle.png")
}

// sweep varies a key and asks for figures of several rooms by name.
func sweep(ctx context.Context) error {
	d, err := buildfile.DemoDocument()
	if err != nil {
		return err
	}
	v, err := d.Vary("spring.rate")
	if err != nil {
		return err
	}
	e, err := study.NewEvaluator(study.Question{Figures: []string{"rate_of_fire", "muzzle_energy", "ke", "contact_angle"}, Target: d.Target})
	if err != nil {
		return err
	}
	for _, rate := range []float64{600, 700, 800} {
		b, err := v.Put([]float64{rate})
		if err != nil {
			return err
		}
		a, err := e.Evaluate(ctx, b)
		if err != nil {
			return err
		}
		fmt.Print(quantity.SpringRate.Format(rate))
		for i, f := range e.Figures()[:4] {
			fmt.Printf(", %s %s", f.Label, f.Text(a.Values[i]))
		}
		fmt.Println(", target met:", a.Met())
	}
	return nil
}

// plan fires by a file and tells how warm the parts get.
func plan(ctx context.Context) error {
	p, err := buildfile.LoadPlan("day.yaml")
	if err != nil {
		return err
	}
	r, err := heat.Simulate(ctx, buildfile.Demo(), p, heat.Settings{})
	if err != nil {
		return err
	}
	w := r.Part(heat.Winding)
	fmt.Printf("%s: %d rounds, %s, winding up to %.0f °C\n", p.Name, r.Rounds, r.Status, w.Peak-quantity.Celsius)
	return nil
}

// faults handles what is wrong with a file and with a build by one type.
func faults(context.Context) error {
	_, err := buildfile.Load("nowhere.yaml")
	fmt.Println("no file:", errors.Is(err, fs.ErrNotExist))
	_, err = buildfile.Parse("odd.yaml", []byte(buildfile.DemoText()), "piston.mass=-1 g")
	var f *quantity.Fault
	if !errors.As(err, &f) {
		return fmt.Errorf("no fault: %w", err)
	}
	fmt.Println("a fault:", f.Field, "at", f.Place)
	b := buildfile.Demo()
	b.Spring.Rate, b.Piston.Mass = -1, 0
	for _, f := range quantity.Faults(b.Validate()) {
		fmt.Println("and in code:", f.Field)
	}
	return nil
}

// sodium is a cell that the module doesn't know.
type sodium struct{ battery.ChenRinconMora }

func (sodium) OCV(s float64) float64   { return 2.2 + 1.2*s }
func (sodium) Slope(s float64) float64 { return 1.2 }

// ownCell fires the demo with a cell of one's own.
func ownCell(ctx context.Context) error {
	b := buildfile.Demo()
	b.Battery.Model, b.Battery.Series = sodium{}, 3
	r, err := cycle.Simulate(ctx, b, cycle.Settings{})
	if err != nil {
		return err
	}
	fmt.Printf("three cells of one's own: %.1f rounds a second\n", r.Summary.RateOfFire)
	return nil
}
