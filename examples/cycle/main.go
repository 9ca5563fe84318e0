// Command cycle is the shortest use of the library: from a build file to the
// rate of fire and a picture.
package main

import (
	"context"
	"fmt"
	"log"
	"os"

	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/cycle"
)

func main() {
	path := "rifle.yaml"
	if len(os.Args) > 1 {
		path = os.Args[1]
	}
	b, err := buildfile.Load(path)
	if err != nil {
		log.Fatal(err)
	}
	r, err := cycle.Simulate(context.Background(), b, cycle.Settings{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%s: %.1f rounds a second, %.1f A mean\n", b.Name, r.Summary.RateOfFire, r.Summary.CurrentMean)
	picture, err := chart.Cycle(r)
	if err != nil {
		log.Fatal(err)
	}
	if err := picture.Save("cycle.png"); err != nil {
		log.Fatal(err)
	}
}
