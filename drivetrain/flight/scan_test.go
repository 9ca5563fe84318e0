package flight

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What is let go at the start of a mode and what is an event later are told apart by
// the same number, to the last float: else a pressure between the two would neither
// free a pellet nor lift a piston, ever.
func TestNothingFallsBetweenReleaseAndEvent(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	for range 2000 {
		g := *someGun()
		g.preload, g.friction = 0.1*rnd.Float64(), 5*rnd.Float64()
		f := Flyer{gun: g}
		f.shot.gun = &f.gun
		f.mode = mode{seated: true, pellet: held, inHop: rnd.IntN(2) == 0}
		f.mode.follow(&f.gun)
		f.arm()
		one := g.pressure*(1+moveSlack) + g.rate*g.preload/g.piston
		two := g.pressure*(1+moveSlack) + f.mode.brake/g.bore
		var b bend
		for i := range 9 {
			share := 1 + float64(i-4)*0x1p-52
			g.fill(b.y0[:], one*share, 293, two*share, 293)
			b.y1 = b.y0
			assert.Equal(t, f.spare1(b.y0[:]) < 0, f.value(pistonLifts, &b, 0) < 0)
			assert.Equal(t, f.spare2(b.y0[:]) < 0, f.value(pelletFreed, &b, 0) < 0)
			assert.False(t, math.IsNaN(f.spare1(b.y0[:])))
		}
	}
}
