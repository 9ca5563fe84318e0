package quantity_test

import (
	"errors"
	"fmt"

	"example.org/ampstroke/drivetrain/quantity"
)

// A part checks its fields, and whoever holds the part adds its name.
func ExampleCheck() {
	var spring, build quantity.Check
	spring.Range("rate", -5, quantity.SpringRate, 10, 20000)
	spring.Whole("coils", 0, 1, 100)
	build.Part("spring", spring.Err())
	fmt.Println(build.Err())
	// Output:
	// spring.rate: -5 N/m is out of range; wanted 10 N/m to 20000 N/m
	// spring.coils: 0 is out of range; wanted a whole number from 1 to 100
}

// Faults are found in any error, however it is wrapped.
func ExampleFaults() {
	var c quantity.Check
	c.Range("spring.rate", -5, quantity.SpringRate, 10, 20000)
	err := errors.Join(fmt.Errorf("build 7: %w", c.Err()), errors.New("and the lamp is out"))
	for _, f := range quantity.Faults(err) {
		lo, hi, ok := f.Range()
		fmt.Println(f.Field, ok, lo, hi)
	}
	// Output:
	// spring.rate true 10 20000
	//  false NaN NaN
}
