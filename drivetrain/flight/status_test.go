package flight

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The state at the end names it: stuck is a pellet at rest behind a piston at rest, with
// too little pressure to move either again; with more the flight isn't settled.
func TestStatusOfAState(t *testing.T) {
	g := closed()
	g.hop, g.hopEnd, g.friction = 1, 1, 0.5
	hold := (g.hop + g.friction) / g.bore // [Pa] on the pellet
	end := func(p2 float64, change func(f *Flyer)) Status {
		f := seated(g, g.pressure, g.pressure+p2)
		f.mode.inHop = true
		f.mode.follow(g)
		change(f)
		return f.status()
	}
	as := func(*Flyer) {}
	assert.Equal(t, PelletStuck, end(0, as))
	assert.Equal(t, PelletStuck, end(0.999*hold, as))
	assert.Equal(t, Unsettled, end(1.001*hold, as))
	assert.Equal(t, Unsettled, end(0, func(f *Flyer) { f.mode.pellet = sliding }))
	assert.Equal(t, Done, end(0, func(f *Flyer) { f.mode.pellet = out }))
	assert.Equal(t, PistonHeld, end(0, func(f *Flyer) { f.mode.seated, f.y[travel] = false, 1e-3 }))
	assert.Equal(t, PelletStuck, end(0, func(f *Flyer) { f.mode.seated, f.y[travel] = false, 1e-9*g.stroke }), "it came to rest without touching the stop")
	assert.Equal(t, GivenUp, end(0, func(f *Flyer) { f.gaveUp = true }))
}
