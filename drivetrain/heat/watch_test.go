package heat

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A part that comes to its limit exactly has reached it: inside a step, at its end, and
// before it begins; one that stays a rounding below has not.
func TestAtTheLimitExactly(t *testing.T) {
	const limit = 100. // [K], a rise here
	step := func(before, after float64) *stretch {
		s := &stretch{from: 2, to: 6, before: []float64{before}, after: []float64{after}}
		slope := []float64{(after - before) / 4}
		s.slope0, s.slope1 = slope, slope
		s.at = func(time float64) []float64 { return []float64{before + (after-before)*(time-2)/4} }
		return s
	}
	hill := &stretch{from: 2, to: 6, before: []float64{50}, after: []float64{50}, slope0: []float64{50}, slope1: []float64{-50}}
	hill.at = func(time float64) []float64 { return []float64{limit - 50*math.Pow((time-4)/2, 2)} }
	below := math.Nextafter(limit, 0)
	for _, c := range []struct {
		name string
		step *stretch
		at   float64 // of the limit; NaN: never [s]
	}{
		{"at the end", step(20, limit), 16},
		{"a rounding below at the end", step(20, below), math.NaN()},
		{"inside", step(60, 140), 14},
		{"from the begin", step(limit, 40), 12},
		{"a rounding below from the begin", step(below, 40), math.NaN()},
		{"standing there", step(limit, limit), 12},
		{"at the top of a hill", hill, 14},
	} {
		p := newPart(Winding, 0, limit)
		p.watch(10, c.step, 0, func(rise []float64) float64 { return rise[0] }, 7)
		if math.IsNaN(c.at) {
			assert.True(t, math.IsNaN(p.LimitAt) && math.IsNaN(p.RoundsToLimit), c.name)
			continue
		}
		assert.InDelta(t, c.at, p.LimitAt, 1e-6, c.name)
		assert.Equal(t, 7., p.RoundsToLimit, c.name)
	}
	unknown := newPart(Pack, 0, math.NaN())
	unknown.watch(10, step(20, 1e9), 0, func(rise []float64) float64 { return rise[0] }, 7)
	assert.True(t, math.IsNaN(unknown.LimitAt), "a limit that nobody knows")
}
