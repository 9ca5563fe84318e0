// Command hybrid swaps armatures between two cans: which of them fit, and what
// each pair does in the demo gun. All data are invented: what lies on the bench of
// a club's woodland weekend.
package main

import (
	"context"
	"errors"
	"fmt"
	"log"
	"math"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
	"example.org/ampstroke/motor"
)

type can struct {
	name string
	motor.Stator
}

type rotor struct {
	name string
	motor.Armature
}

// bench returns two cans and three armatures. A can is given by its bore, so that
// each armature gets the gap it will have.
func bench() ([]can, []rotor) {
	ferrite := motor.HardFerrite()
	ferrite.Thickness, ferrite.Arc, ferrite.Coercivity = 3.6e-3, 2.2, 320e3
	neodymium := motor.BondedNdFeB()
	neodymium.Remanence, neodymium.Thickness, neodymium.Arc, neodymium.Coercivity = 0.62, 2e-3, 2.1, 700e3

	cans := []can{{"ferrite", motor.NewStator(ferrite, 0)}, {"neodymium", motor.NewStator(neodymium, 0)}}
	cans[0].Bore, cans[0].Length = 16e-3, 23e-3
	cans[1].Bore, cans[1].Length = 15.9e-3, 26e-3

	stock := buildfile.Demo().Motor.Armature
	wound := stock.Rewind(20, 0.75e-3, 1)
	large := stock
	large.RotorDiameter, large.StackLength = 15.94e-3, 25e-3
	return cans, []rotor{{"28 turns", stock}, {"20 turns", wound}, {"large", large}}
}

func main() {
	cans, rotors := bench()
	base := buildfile.Demo()
	var pictured []chart.Named
	results := map[string]*cycle.Result{}
	fmt.Println("can        armature   gap      Ke       R        rate     current  motor heat  spring/battery")
	for _, c := range cans {
		for _, r := range rotors {
			m, err := motor.Assemble(c.Stator, r.Armature)
			if errors.Is(err, motor.ErrMisfit) {
				fmt.Printf("%-10s %-10s refused: %v\n", c.name, r.name, err)
				continue
			} else if err != nil {
				log.Fatal(err)
			}
			m.Drag, m.Heat = base.Motor.Drag, base.Motor.Heat
			b := *base
			b.Name, b.Motor = c.name+" can, "+r.name, m
			result, err := cycle.Simulate(context.Background(), &b, cycle.Settings{})
			if err != nil {
				log.Fatal(err)
			}
			results[b.Name] = result
			s, k := &result.Summary, &result.Motor
			fmt.Printf("%-10s %-10s %.2f mm  %.2f mV s  %.0f mohm  %.1f /s  %.1f A   %.0f W        %.1f %%\n",
				c.name, r.name, 1e3*c.Gap(r.RotorDiameter), 1e3*k.Ke, 1e3*k.Resistance,
				s.RateOfFire, s.CurrentRMS, s.MotorHeat, 100*s.SpringEnergy/result.Ledger.Battery)
			pictured = append(pictured, chart.Named{Name: b.Name, Characteristic: k.Characteristic(7.4)})
		}
	}
	fmt.Println()
	for _, r := range rotors[:2] {
		f, n := results["ferrite can, "+r.name], results["neodymium can, "+r.name]
		against := func(what string, of func(*cycle.Result) float64, more, less string) {
			change := of(f)/of(n) - 1
			word := more
			if change < 0 {
				word = less
			}
			fmt.Printf("  %s: %.0f %% %s\n", what, 100*math.Abs(change), word)
		}
		fmt.Printf("%s: the ferrite can against the neodymium one\n", r.name)
		against("rate of fire", func(r *cycle.Result) float64 { return r.Summary.RateOfFire }, "faster", "slower")
		against("motor heat", func(r *cycle.Result) float64 { return r.Summary.MotorHeat }, "hotter", "cooler")
		against("spring energy from the battery's", func(r *cycle.Result) float64 { return r.Summary.SpringEnergy / r.Ledger.Battery }, "more", "less")
	}
	picture, err := chart.Motor(pictured...)
	if err != nil {
		log.Fatal(err)
	}
	if err := picture.Save("hybrid.png"); err != nil {
		log.Fatal(err)
	}
}
