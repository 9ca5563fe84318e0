package flight

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/drivetrain/internal/ode"
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

// A step in which everything crosses its mark twice forgets none of that: the piston's
// turning, looked for last, comes first.
func TestEveryCrossingInAStepIsSeen(t *testing.T) {
	s := Settings{Trace: true}
	f := released(someGun(), s)
	f.mode.pellet, f.mode.portOpen = sliding, true
	f.mode.follow(&f.gun)
	f.y[travel], f.y[speed], f.y[along], f.y[fast] = 0.04, 1e-3, 0.3, 5
	f.enter()
	f.above, f.rearward = true, true
	near, far := f.step.near, f.step.far
	far.y = near.y
	f.step.h = 1e-6
	// Through four values, at 0, early, 0.6 and 1: down, up, and down again.
	course := func(state int, early, low, high, end float64) {
		y0, y1 := near.y[state], end
		far.y[state] = y1
		// (y − y0 − s·r1)/(s·(1 − s)) = r2 + s·r3 at two places.
		rest := func(at, y float64) float64 { return (y - y0 - at*(y1-y0)) / (at * (1 - at)) }
		a, b := rest(early, low), rest(0.6, high)
		r3 := (b - a) / (0.6 - early)
		r2 := a - early*r3
		const d = ode.RodasD21*ode.RodasD32 - ode.RodasD22*ode.RodasD31
		f.step.k[0][state] = (r2*ode.RodasD32 - r3*ode.RodasD22) / d
		f.step.k[1][state] = (r3*ode.RodasD21 - r2*ode.RodasD31) / d
	}
	for i := range active {
		for k := range f.step.k {
			f.step.k[k][i] = 0
		}
	}
	course(travel, 0.2, -0.01, 0.05, -0.02) // port, clearance and stop
	course(speed, 1./64, -0.5, 2, -3)       // turns
	course(along, 0.2, 0.5, 0.2, 0.6)       // past the muzzle, back, past
	course(fast, 0.2, -2, 3, -4)            // stops
	const kinds = 1<<pelletMark | 1<<pelletStops | 1<<portEdge | 1<<pistonArrives | 1<<pistonClear | 1<<pistonTurns
	before := len(f.trace.Events)
	require.True(t, f.scan(kinds, true))
	require.Greater(t, len(f.trace.Events), before+1)
	assert.Equal(t, Turn, f.trace.Events[before].Kind)
	assert.Less(t, f.trace.Events[before].Time, 1e-6/64)
	for i := before + 1; i < len(f.trace.Events); i++ {
		assert.GreaterOrEqual(t, f.trace.Events[i].Time, f.trace.Events[i-1].Time)
	}
}
