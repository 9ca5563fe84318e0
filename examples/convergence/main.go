// Command convergence shows how the error of headline figures follows the
// tolerance that is asked for: a table and a picture, on the embedded demo (its
// data are invented) and on the build of the argument, if one is given.
package main

import (
	"context"
	"fmt"
	"log"
	"math"
	"os"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
)

var figures = []struct {
	name   string
	flight bool // its accuracy is that of Settings.Flight
	of     func(*cycle.Result) float64
}{
	{"rate of fire", false, func(r *cycle.Result) float64 { return r.Summary.RateOfFire }},
	{"first release", false, func(r *cycle.Result) float64 { return r.Summary.ReleaseTime }},
	{"RMS current", false, func(r *cycle.Result) float64 { return r.Summary.CurrentRMS }},
	{"inrush", false, func(r *cycle.Result) float64 { return r.Summary.Inrush }},
	{"muzzle velocity", true, func(r *cycle.Result) float64 { return r.Summary.MuzzleVelocity }},
	{"time to home", true, func(r *cycle.Result) float64 { return r.Summary.TimeToHome }},
}

func main() {
	b := buildfile.Demo()
	if len(os.Args) > 1 {
		var err error
		if b, err = buildfile.Load(os.Args[1]); err != nil {
			log.Fatal(err)
		}
	}
	exact := simulate(b, 1e-12)
	tolerances := []float64{1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8, 1e-9}
	errors := make([][]float64, len(figures))
	names := make([]string, len(figures))
	kept := true
	fmt.Print("tolerance")
	for i, f := range figures {
		names[i] = f.name
		fmt.Printf("  %15s", f.name)
	}
	fmt.Println("  of the ledger left")
	for _, tolerance := range tolerances {
		r := simulate(b, tolerance)
		fmt.Printf("%9.0e", tolerance)
		for i, f := range figures {
			e := math.Abs(f.of(r)/f.of(exact) - 1)
			errors[i] = append(errors[i], e)
			kept = kept && e <= tolerance
			fmt.Printf("  %15s", decade(e))
		}
		fmt.Printf("  %s\n", decade(math.Abs(r.Ledger.Residual/r.Ledger.Battery)))
	}
	fmt.Printf("\nevery figure keeps its tolerance: %v\n", kept)
	picture, err := chart.Convergence(b.Name, tolerances, names, errors)
	if err != nil {
		log.Fatal(err)
	}
	if err := picture.Save("convergence.png"); err != nil {
		log.Fatal(err)
	}
}

func simulate(b *drivetrain.Build, tolerance float64) *cycle.Result {
	r, err := cycle.Simulate(context.Background(), b, cycle.Settings{Tolerance: tolerance, Flight: max(tolerance, 1e-10)})
	if err != nil {
		log.Fatal(err)
	}
	return r
}

// decade is the next power of ten above an error: the digits of an error mean
// little, and differ from machine to machine.
func decade(e float64) string {
	if e < 1e-12 {
		return "< 1e-12"
	}
	return fmt.Sprintf("< %.0e", math.Pow(10, math.Ceil(math.Log10(e))))
}
