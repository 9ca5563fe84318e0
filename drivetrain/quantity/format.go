package quantity

import (
	"math"
	"strconv"
)

// Celsius is 0 °C [K].
const Celsius = 273.15

const degree = math.Pi / 180 // [rad]

// Format shows an SI value of the kind in its usual unit, with at most six
// digits: Length.Format(0.35) is "350 mm".
func (k Kind) Format(v float64) string {
	t := &table[k]
	n := strconv.FormatFloat((v-t.offset)/t.scale, 'g', 6, 64)
	if t.unit == "" {
		return n
	}
	return n + " " + t.unit
}

// String names the kind, with its article: "a length".
func (k Kind) String() string { return table[k].name }

// Example is a value of the kind as it stands in a file: "350 mm".
func (k Kind) Example() string { return table[k].example }
