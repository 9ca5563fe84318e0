package quantity

import (
	"fmt"
	"math"
	"slices"
)

// Check gathers faults, so that all of them are reported at once. The zero
// value is ready.
type Check struct{ faults []*Fault }

// Range notes a fault unless lo ≤ v ≤ hi, all in SI units of the kind.
// NaN is outside of every range.
func (c *Check) Range(field string, v float64, k Kind, lo, hi float64) {
	if within(v, lo, hi) {
		return
	}
	c.outside(field, lo, hi, "%s is out of range; wanted %s to %s", k.Format(v), k.Format(lo), k.Format(hi))
}

// within allows for the roundings between a bound and the same in another unit.
func within(v, lo, hi float64) bool {
	const off = 4e-16
	return v >= lo-off*math.Abs(lo) && v <= hi+off*math.Abs(hi)
}

// Whole notes a fault unless lo ≤ n ≤ hi.
func (c *Check) Whole(field string, n, lo, hi int) {
	if n < lo || n > hi {
		c.outside(field, float64(lo), float64(hi), "%d is out of range; wanted a whole number from %d to %d", n, lo, hi)
	}
}

// RangeOf is Range for a field of the list's member i: its name is prefix, number and
// suffix, put together only for a fault.
func (c *Check) RangeOf(prefix string, i int, suffix string, v float64, k Kind, lo, hi float64) {
	if !within(v, lo, hi) {
		c.Range(fmt.Sprint(prefix, i, suffix), v, k, lo, hi)
	}
}

// Add notes a fault in words.
func (c *Check) Add(field, format string, args ...any) {
	c.faults = append(c.faults, &Fault{Field: field, Text: fmt.Sprintf(format, args...)})
}

// outside notes a value out of its range.
func (c *Check) outside(field string, lo, hi float64, format string, args ...any) {
	c.faults = append(c.faults, &Fault{Field: field, Text: fmt.Sprintf(format, args...), bounds: &[2]float64{lo, hi}})
}

// Part notes the faults of a part, whose fields stand below prefix.
func (c *Check) Part(prefix string, err error) {
	for _, f := range Faults(err) {
		c.faults = append(c.faults, f.At(f.Place, join(prefix, f.Field)))
	}
}

// OK tells whether none of the fields was found at fault so far.
func (c *Check) OK(fields ...string) bool {
	return !slices.ContainsFunc(c.faults, func(f *Fault) bool { return slices.Contains(fields, f.Field) })
}

// Err returns the faults joined, or nil.
func (c *Check) Err() error { return Join(c.faults...) }

func join(prefix, field string) string {
	switch {
	case prefix == "":
		return field
	case field == "":
		return prefix
	}
	return prefix + "." + field
}

// Finite tells whether v is a number, neither NaN nor infinite.
func Finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
