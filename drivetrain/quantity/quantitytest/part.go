// Package quantitytest holds what a Validate says against the bounds that its fields
// are meant to have.
package quantitytest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/quantity"
)

// Part is a part whose fields have bounds.
type Part[T any] struct {
	T        *testing.T
	New      func() T // a sound one
	Validate func(*T) error
}

// Bounds holds a field, by the name that a fault gives it, against its least and its
// largest value: what lies at them passes, what lies next to them outside is refused,
// and so is what is no number.
func (p Part[T]) Bounds(field string, at func(*T) *float64, least, most float64) {
	p.T.Helper()
	blamed := func(v float64) bool {
		part := p.New()
		*at(&part) = v
		return Blames(p.Validate(&part), field)
	}
	assert.False(p.T, blamed(least), "%s of %g, the least", field, least)
	assert.False(p.T, blamed(most), "%s of %g, the most", field, most)
	// A zero may stand for a value that isn't given, so that a small one is next to it.
	const aside = 1e-9
	below, above := least-aside*max(math.Abs(least), aside), most+aside*max(math.Abs(most), aside)
	for _, v := range []float64{below, above, math.NaN(), math.Inf(1), math.Inf(-1)} {
		assert.True(p.T, blamed(v), "%s of %.10g, bounds %g to %g", field, v, least, most)
	}
}

// Counts is Bounds for a whole number.
func (p Part[T]) Counts(field string, at func(*T) *int, least, most int) {
	p.T.Helper()
	for n, wrong := range map[int]bool{least - 1: true, least: false, most: false, most + 1: true} {
		part := p.New()
		*at(&part) = n
		assert.Equal(p.T, wrong, Blames(p.Validate(&part), field), "%s of %d, bounds %d to %d", field, n, least, most)
	}
}

// Wrong changes a sound part and holds what is said of it: a fault of the field, or
// nothing at all if that is "".
func (p Part[T]) Wrong(field string, change func(*T)) {
	p.T.Helper()
	part := p.New()
	change(&part)
	if err := p.Validate(&part); field == "" {
		assert.NoError(p.T, err)
	} else {
		assert.True(p.T, Blames(err, field), "wanted a fault of %s, got: %v", field, err)
	}
}

// Blames tells whether an error has a fault of a field.
func Blames(err error, field string) bool {
	for _, f := range quantity.Faults(err) {
		if f.Field == field {
			return true
		}
	}
	return false
}
