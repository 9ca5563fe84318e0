package quantity

import (
	"math"
	"strconv"
	"strings"
)

// Celsius is 0 °C [K].
const Celsius = 273.15

const degree = math.Pi / 180 // [rad]

// Format shows an SI value of the kind in its usual unit, with at most six
// digits: Length.Format(0.35) is "350 mm".
func (k Kind) Format(v float64) string {
	t := &table[k]
	if k == Gauge && v <= 0 {
		return strconv.FormatFloat(1-v, 'g', 6, 64) + "/0 AWG" // 2/0 is the gauge −1
	}
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

// Print shows an SI value of the kind so that Parse reads the same value back:
// in the usual unit if that works, else in the SI unit.
func (k Kind) Print(v float64) string {
	t := &table[k]
	if k == Gauge {
		return k.Format(v) // a whole number
	}
	same := func(text string) bool {
		back, err := Parse(text, k)
		return err == nil && back.SI == v
	}
	with := func(number, unit string) string {
		if unit == "" {
			return number
		}
		return number + " " + unit
	}
	for _, digits := range []int{6, 9, 12, 15, 16, 17} {
		if text := with(strconv.FormatFloat((v-t.offset)/t.scale, 'g', digits, 64), t.unit); same(text) {
			return text
		}
	}
	si := t.unit
	if t.si != "" {
		si = t.si
	}
	text := strconv.FormatFloat(v, 'g', -1, 64)
	if p := math.Log10(t.scale); t.si == "" && p != 0 && p == math.Trunc(p) {
		// The usual unit is a power of ten away: shift the decimal exponent.
		mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(v, 'e', -1, 64), "e")
		n, _ := strconv.Atoi(exponent)
		text = mantissa + "e" + strconv.Itoa(n-int(p))
	}
	return with(text, si)
}

// In returns how many of a unit one SI unit of the kind makes, for units that count from
// zero: Time.In("ms") is 1000. A unit that can't measure the kind panics, since it stands
// in a program.
func (k Kind) In(unit string) float64 {
	if unit == "" && k.Bare() {
		return 1
	}
	v, err := Parse("1 "+unit, k)
	if err != nil {
		panic("quantity: " + err.Error())
	}
	return 1 / v.SI
}
