package quantity_test

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/quantity"
)

func TestKindHolds(t *testing.T) {
	for _, c := range []struct {
		kind quantity.Kind
		v    float64
		want bool
	}{
		{quantity.Length, -1.5, true}, {quantity.Length, math.NaN(), false}, {quantity.Length, math.Inf(-1), false},
		{quantity.Count, 28, true}, {quantity.Count, -3, true}, {quantity.Count, 28.5, false}, {quantity.Count, 1e9, true}, {quantity.Count, 1e9 + 1, false}, {quantity.Count, math.NaN(), false}, {quantity.Count, math.Inf(1), false},
		{quantity.Gauge, -3, true}, {quantity.Gauge, 56, true}, {quantity.Gauge, -4, false}, {quantity.Gauge, 57, false}, {quantity.Gauge, 15.5, false}, {quantity.Gauge, math.NaN(), false},
	} {
		assert.Equal(t, c.want, c.kind.Holds(c.v), "%s of %g", c.kind, c.v)
	}
}

// A fault of a range knows the range, also where a part reports it for another.
func TestFaultKnowsItsRange(t *testing.T) {
	var inner, c quantity.Check
	inner.Range("bore", 2, quantity.Length, 0.1, 1)
	inner.Whole("slots", 1, 3, 99)
	inner.RangeOf("pads.", 2, "", math.NaN(), quantity.Length, 0.5, 0.75)
	inner.Add("wire", "is none")
	c.Part("a", inner.Err())
	want := map[string][2]float64{"a.bore": {0.1, 1}, "a.slots": {3, 99}, "a.pads.2": {0.5, 0.75}}
	faults := quantity.Faults(c.Err())
	require.Len(t, faults, 4)
	for _, f := range faults {
		lo, hi, ok := f.Range()
		if f.Field == "a.wire" {
			assert.False(t, ok)
			assert.True(t, math.IsNaN(lo) && math.IsNaN(hi))
			continue
		}
		assert.True(t, ok, f.Field)
		assert.Equal(t, want[f.Field], [2]float64{lo, hi}, f.Field)
	}
	_, _, ok := quantity.Faults(errors.New("x"))[0].Range()
	assert.False(t, ok)
}
