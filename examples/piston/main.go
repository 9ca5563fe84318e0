// Command piston asks whether a lighter piston comes home sooner, as is said. With
// nothing before it, it does: the time grows nearly with the root of the mass, a third
// of the spring's with it, though the waves that run along the spring hold a heavy
// piston back a little more. With air to push through nozzle and barrel, a light piston
// gives its speed to the air at once and creeps on the cushion until the air is out,
// while a heavy one rides through: then a lighter piston can come home later. All data
// are invented: the demo gun of a club's woodland weekend.
package main

import (
	"context"
	"fmt"
	"log"
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/buildfile"
	"example.org/ampstroke/drivetrain/chart"
	"example.org/ampstroke/drivetrain/flight"
)

func fly(b drivetrain.Build, mass float64) *flight.Result {
	b.Piston.Mass = mass
	r, err := flight.Simulate(context.Background(), &b, flight.Settings{ReleaseSpeed: 1.4, Trace: true})
	if err != nil {
		log.Fatal(err)
	}
	return r
}

func main() {
	cushion := *buildfile.Demo()
	open := cushion
	open.Cylinder.SealLeak = 300e-6 // [m2]: the air leaves by a hole of 20 mm
	spring := cushion.Spring.Mass / 3

	fmt.Println("         with the air cushion                     without")
	fmt.Println("piston   home      slowest at  muzzle energy      home      home/root(mass)")
	var with, without []*flight.Result
	for _, grams := range []float64{8, 14, 20, 26, 35, 50} {
		c, o := fly(cushion, grams/1e3), fly(open, grams/1e3)
		with, without = append(with, c), append(without, o)
		fmt.Printf("%2.0f g     %5.2f ms  %4.1f m/s    %.2f J             %5.2f ms  %.3f\n", grams,
			1e3*c.Summary.TimeToHome, slowest(c), c.Summary.MuzzleEnergy, 1e3*o.Summary.TimeToHome,
			o.Summary.TimeToHome/math.Sqrt(grams/1e3+spring)/(without[0].Summary.TimeToHome/math.Sqrt(8e-3+spring)))
	}
	change := func(of []*flight.Result, i, j int) string {
		ms := 1e3 * (of[i].Summary.TimeToHome - of[j].Summary.TimeToHome)
		if ms < 0 {
			return fmt.Sprintf("%.2f ms sooner", -ms)
		}
		return fmt.Sprintf("%.2f ms later", ms)
	}
	fmt.Println()
	fmt.Println("26 g in place of 35 g comes home, with the cushion:", change(with, 3, 4))
	fmt.Println("26 g in place of 35 g comes home, without:         ", change(without, 3, 4))
	fmt.Println("35 g in place of 50 g comes home, with the cushion:", change(with, 4, 5))

	picture, err := chart.Flights("Light and heavy piston",
		chart.NamedFlight{Name: "26 g on the air cushion", Result: with[3]},
		chart.NamedFlight{Name: "35 g on the air cushion", Result: with[4]},
		chart.NamedFlight{Name: "26 g without", Result: without[3]},
		chart.NamedFlight{Name: "35 g without", Result: without[4]})
	if err != nil {
		log.Fatal(err)
	}
	if err := picture.Save("piston.png"); err != nil {
		log.Fatal(err)
	}
}

// slowest is the least speed homewards between the peak of the pressure and home
// [m/s]: near 0, the piston waits on the air.
func slowest(r *flight.Result) float64 {
	least, peak, at := math.Inf(1), 0., 0.
	const steps = 2000
	for i := range steps {
		p := r.Trace.At(r.Summary.TimeToHome * float64(i) / steps)
		if p.Pressure > peak {
			peak, at = p.Pressure, p.Time
		}
	}
	for i := range steps {
		p := r.Trace.At(at + (r.Summary.TimeToHome-at)*float64(i)/steps)
		least = min(least, -p.Speed)
	}
	return least
}
