package quantity

import (
	"errors"
	"fmt"
	"math"
)

// Fault is one value that can't be used. Whoever knows where the value stands
// (a file and a line) adds the place.
type Fault struct {
	Field string // path in the build file's names, "spring.preload"
	Text  string // what was found and what was wanted, with units

	bounds *[2]float64 // of a value out of its range
}

// Range returns what a value that is out of its range should lie between, in SI
// units; false for a fault of any other sort.
func (f *Fault) Range() (lo, hi float64, ok bool) {
	if f.bounds == nil {
		return math.NaN(), math.NaN(), false
	}
	return f.bounds[0], f.bounds[1], true
}

func (f *Fault) Error() string { return f.Field + ": " + f.Text }

// Check gathers faults, so that all of them are reported at once. The zero
// value is ready.
type Check struct{ faults []error }

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
	c.faults = append(c.faults, &Fault{field, fmt.Sprintf(format, args...), &[2]float64{lo, hi}})
}

// Part notes the faults of a part, whose fields stand below prefix.
func (c *Check) Part(prefix string, err error) {
	for _, f := range Faults(err) {
		c.faults = append(c.faults, &Fault{join(prefix, f.Field), f.Text, f.bounds})
	}
}

// OK tells whether none of the fields was found at fault so far.
func (c *Check) OK(fields ...string) bool {
	for _, e := range c.faults {
		for _, f := range fields {
			if e.(*Fault).Field == f {
				return false
			}
		}
	}
	return true
}

// Err returns the faults joined, or nil.
func (c *Check) Err() error { return errors.Join(c.faults...) }

// Faults lists the faults in an error that Check.Err made, in order; any other
// error becomes one fault without a field.
func Faults(err error) []*Fault {
	if err == nil {
		return nil
	}
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		var all []*Fault
		for _, e := range many.Unwrap() {
			all = append(all, Faults(e)...)
		}
		return all
	}
	if f := new(Fault); errors.As(err, &f) {
		return []*Fault{f}
	}
	return []*Fault{{Text: err.Error()}}
}

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
