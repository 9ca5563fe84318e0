package buildfile_test

import (
	"math"
	"testing"

	"example.org/ampstroke/drivetrain/buildfile"
)

// Whatever the text of a table: it is refused with a place, or its voltage is finite
// and doesn't fall as the charge rises.
func FuzzOCV(f *testing.F) {
	for _, seed := range []string{
		"[[0 %, 3.0 V], [100 %, 4.2 V]]", "[[0 %, 2.6 V], [5 %, 3.1 V], [50 %, 3.28 V], [100 %, 3.45 V]]", "[]", "[[0 %]]", "[[0 %, 3 V], [0 %, 3 V], [100 %, 4 V]]",
		"[[0 %, 3 V], [1e-7, 3.1 V], [100 %, 4 V]]", "[[0, 3 V], [1, 4 V]]", "[[NaN %, 3 V]]", "{0: 3 V}", "[[0 %, 3.0 V ± 2 %], [100 %, 4.2 V]]",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, table string) {
		d, err := buildfile.DemoDocument("battery.chemistry=custom", "battery.ocv="+table)
		if err != nil {
			return
		}
		cell, err := d.Build.Battery.Cell()
		if err != nil {
			t.Fatal(err)
		}
		last := 0.
		for i := range 101 {
			v := cell.OCV(float64(i) / 100)
			if math.IsNaN(v) || math.IsInf(v, 0) || v < last {
				t.Fatalf("%g V after %g V at %d %%", v, last, i)
			}
			if slope := cell.Slope(float64(i) / 100); math.IsNaN(slope) || math.IsInf(slope, 0) {
				t.Fatalf("slope %g", slope)
			}
			last = v
		}
	})
}
