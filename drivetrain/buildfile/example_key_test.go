package buildfile_test

import (
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain/buildfile"
)

// What there is to know of a key, for a list, a form or a question.
func ExampleKeys() {
	for _, k := range buildfile.Keys() {
		switch k.Path {
		case "motor.armature.turns", "motor.stator.magnet.drift", "spring.rate", "spring.mass", "barrel.air":
		default:
			continue
		}
		fmt.Printf("%s: %s\n", k.Path, k.Meaning)
		if k.Quantity {
			fmt.Printf("  %s from %s to %s", k.Kind, k.Kind.Format(k.Range[0]), k.Kind.Format(k.Range[1]))
		} else {
			fmt.Printf("  one of %v", k.Words)
		}
		switch {
		case k.Required:
			fmt.Print("; required")
		case k.Default != "":
			fmt.Printf("; %s, %s", k.Default, k.Why)
		case k.Why != "":
			fmt.Printf("; %s", k.Why)
		}
		fmt.Printf("\n  measured: %s\n", k.HowMeasured)
	}
	// Output:
	// motor.stator.magnet.drift: relative change of the remanence per kelvin
	//   a drift with temperature from -1 %/K to 1 %/K; by the grade, or by remanence: ferrite or neodymium
	//   measured: no-load speed cold and with the can at 60 degC at the same voltage: the speed rises as the magnets weaken
	// motor.armature.turns: turns on each tooth
	//   a whole number from 1 to 1000; required
	//   measured: count them when unwinding one coil; or from the coil's resistance and the wire's diameter
	// spring.rate: force per travel; or give wire, coil_diameter and coils
	//   a spring rate from 1e-06 N/m to 1e+07 N/m
	//   measured: scale and ruler: press the spring on a kitchen scale, guided by a rod, by 20 and by 60 mm: difference of the forces over that of the travels
	// spring.mass: mass of the spring; 0: none
	//   a mass from 0 g to 10000 g; 18 g, typical of such builds (closure)
	//   measured: scale
	// barrel.air: whether the air in the barrel has mass and friction
	//   one of [moving still]; moving, the air has mass
	//   measured: nothing to measure: still is the simpler model
}

// A thousand springs without a text in between.
func ExampleDocument_Vary() {
	d, err := buildfile.Parse("backup.yaml", []byte(backup))
	if err != nil {
		fmt.Println(err)
		return
	}
	v, err := d.Vary("spring.rate", "sector.removed")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, values := range [][]float64{{560, 0}, {620, 2}, {-5, 1}} {
		b, err := v.Put(values)
		if err != nil {
			fmt.Println(err)
			continue
		}
		// The cut-off is left out of the file: it follows the release.
		fmt.Printf("%g N/m, cut-off at %.0f deg\n", b.Spring.Rate, b.Trigger.Cutoff*180/math.Pi)
	}
	_, err = d.Vary("spring.wire")
	fmt.Println(err)
	// Output:
	// 560 N/m, cut-off at 266 deg
	// 620 N/m, cut-off at 236 deg
	// spring.rate: -5 N/m is out of range; wanted 1e-06 N/m to 1e+07 N/m
	// backup.yaml:21:1: spring.coil_diameter: missing; wanted it beside spring.wire
	// backup.yaml:21:1: spring.coils: missing; wanted it beside spring.wire
}

func ExampleDocument_Get() {
	d, err := buildfile.Parse("backup.yaml", []byte(backup))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, path := range []string{"piston.mass", "piston.drag", "cylinder.port"} {
		value, ok := d.Get(path)
		fmt.Println(path, value, ok)
	}
	fmt.Println(d.Word("barrel.air"))
	// Output:
	// piston.mass 0.026 true
	// piston.drag 5 true
	// cylinder.port NaN false
	// moving true
}
