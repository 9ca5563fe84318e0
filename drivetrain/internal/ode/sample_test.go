package ode_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/drivetrain/internal/ode"
)

func TestSample(t *testing.T) {
	type point struct {
		time  float64
		after bool
	}
	at := func(t float64) point { return point{t, true} }
	before := func(t float64) point { return point{t, false} }
	when := func(p point) float64 { return p.time }
	assert.Equal(t, []point{{0, true}, {0.5, true}, {1, true}}, ode.Sample(3, 1, nil, at, before, when))
	assert.Equal(t, []point{{0, true}, {0.3, false}, {0.3, true}, {0.5, true}, {1, false}},
		ode.Sample(3, 1, []float64{0, 0.3, 1}, at, before, when), "an event at an end stands once, in place of the point there")
	assert.Equal(t, []point{{0, true}, {0.5, false}, {0.5, true}, {1, true}}, ode.Sample(3, 1, []float64{0.5}, at, before, when))
	assert.Empty(t, ode.Sample(0, 1, nil, at, before, when))
}
